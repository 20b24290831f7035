"""Synchronising a kiosk's store with the clinic's server: pull what other kiosks sent, then push.

The store works without the server; a call that is interrupted is continued by the next one. An advisory lock
lets one kiosk push at a time, so rows become visible in the order of their numbers and a pull misses none. A
person erased on another kiosk is erased here, and nothing of theirs is sent again.

Queue: triggers write the key of each new row that this kiosk made to `outbox`, from the first call on, and
the key stays there until the server has the row. The number of the last row pulled is there too, under the
name RECEIVED.

Rows are never changed, so sending one again does no harm: the server keeps the first, and both hashes are
compared. Two different rows with one key are a conflict: the server's row stays, and a line in the audit says
so. A reference table's key is the hash of its content, so two kiosks that loaded the same one agree.

Decision storage-3.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Final
from uuid import UUID

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from kiosk.base.errors import Refused
from kiosk.storage.column_types import Row, hash_column
from kiosk.storage.erasure import TOMBSTONE, erase_person
from kiosk.storage.rows import Ledger, Writing, engine_errors_refused
from kiosk.storage.server import check_layout, received
from kiosk.storage.tables import MUTABLE, audit, metadata, outbox, person

LOCK: Final = 0x70757273
BATCH: Final = 400
MOST_KEYS: Final = 400  # SQLite limits how many values one statement may name
CONFLICT: Final = "sync_conflict"
RECEIVED: Final = "received"
KEY_SQL: Final = {"audit": "{row}kiosk_id || ':' || {row}seq", "reference_table": "{row}sha256"}
"""How the key of a row is written as text, where it is not its id."""


@dataclass(frozen=True)
class Conflict:
    """A key under which this kiosk and the server have different rows."""

    table: str
    key: str


@dataclass
class Synced:
    """What one call did: rows pushed and pulled, and persons erased because another kiosk erased them."""

    pushed: int = 0
    pulled: int = 0
    erased: int = 0
    conflicts: list[Conflict] = field(default_factory=list)


def sync(ledger: Ledger, server: sa.Engine, *, batch: int = BATCH) -> Synced:
    """Pull, then push, until nothing is left. Refused: server_not_ours, and as open_server."""
    with engine_errors_refused(), server.connect() as connection:
        check_layout(connection)
    begin_queueing(ledger)
    done = Synced()
    while _pull(ledger, server, done, batch):
        pass
    while _push(ledger, server, done, batch):
        pass
    return done


def waiting(ledger: Ledger) -> int:
    """How many rows the server does not have yet."""
    query = sa.select(sa.func.count().label("n")).select_from(outbox).where(outbox.c.table_name != RECEIVED)
    row = ledger.one(query)
    return 0 if row is None else int(row["n"])


def _push(ledger: Ledger, server: sa.Engine, done: Synced, batch: int) -> bool:
    queued = _queued(ledger, batch)
    if not queued:
        return False
    found: list[Conflict] = []
    with engine_errors_refused(), server.begin() as connection:
        connection.execute(sa.select(sa.func.pg_advisory_xact_lock(LOCK)))
        for table, keys in _by_table(queued):
            added, conflicts = put(connection, table, _own(ledger, table, keys))
            found += conflicts
            done.pushed += len(added)
            _number(connection, ledger, table, added)
    done.conflicts += found
    _unqueue(ledger, queued, found)
    return True


def _queued(ledger: Ledger, batch: int) -> list[Row]:
    """The next rows to send: table after table, parents first."""
    found: list[Row] = []
    for table in pushed_tables():
        query = sa.select(outbox.c.id, outbox.c.table_name, outbox.c.row_key)
        of_table = query.where(outbox.c.table_name == table.name).order_by(outbox.c.made_at, outbox.c.row_key)
        found += ledger.all(of_table.limit(batch - len(found)))
        if len(found) >= batch:
            break
    return found


def _by_table(queued: list[Row]) -> Iterator[tuple[sa.Table, list[str]]]:
    for name, rows in groupby(queued, lambda row: row["table_name"]):
        yield table_named(name), [row["row_key"] for row in rows]


def _own(ledger: Ledger, table: sa.Table, keys: list[str]) -> list[Row]:
    with ledger.reading() as connection:
        return with_keys(connection, table, keys)


def _number(connection: sa.Connection, ledger: Ledger, table: sa.Table, added: list[Row]) -> None:
    if added:
        connection.execute(received.insert(), [
            {"table_name": table.name, "row_key": key_of(table, row), "kiosk_id": row["kiosk_id"],
             "sha256": row[hash_column(table)], "received_at": ledger.now()} for row in added])


def _unqueue(ledger: Ledger, queued: list[Row], conflicts: list[Conflict]) -> None:
    """Remove pushed rows from the queue, once the server has committed, and note conflicts in the audit."""
    with ledger.writing() as writing:
        _note_conflicts(writing, conflicts)
        writing.connection.execute(outbox.delete().where(outbox.c.id.in_([row["id"] for row in queued])))


def _note_conflicts(writing: Writing, conflicts: list[Conflict]) -> None:
    for conflict in conflicts:
        writing.note_of(CONFLICT, conflict.table, conflict.key)


def _pull(ledger: Ledger, server: sa.Engine, done: Synced, batch: int) -> bool:
    with ledger.writing() as writing:
        since = last_pulled(writing)
    numbered, rows = _received(server, since, batch)
    if not numbered:
        return False
    gone = _erased_here(ledger)
    with ledger.writing() as writing:
        for name, group in groupby(rows, lambda one: one[0]):
            table, others = table_named(name), [row for _, row in group if row["kiosk_id"] != ledger.kiosk_id]
            wanted = [row for row in others if not gone or _stays(writing.connection, table, row, gone)]
            added, conflicts = put(writing.connection, table, wanted)
            done.pulled += len(added)
            done.conflicts += conflicts
            _note_conflicts(writing, conflicts)
        set_last_pulled(writing, numbered[-1]["rx_seq"])
    for _, row in rows:
        done.erased += _erase_too(ledger, row)
    return True


def _received(server: sa.Engine, since: int, batch: int) -> tuple[list[Row], list[tuple[str, Row]]]:
    """The next entries of `received`, and (table name, row) for those whose row still exists; same order."""
    with engine_errors_refused(), server.connect() as connection:
        query = sa.select(received).where(received.c.rx_seq > since).order_by(received.c.rx_seq).limit(batch)
        numbered: list[Row] = [dict(row) for row in connection.execute(query).mappings()]
        found: dict[tuple[str, str], Row] = {}
        for name in {row["table_name"] for row in numbered}:
            keys = [row["row_key"] for row in numbered if row["table_name"] == name]
            table = table_named(name)
            found |= {(name, key_of(table, row)): row for row in with_keys(connection, table, keys)}
    places = [(row["table_name"], row["row_key"]) for row in numbered]
    return numbered, [(name, found[name, key]) for name, key in places if (name, key) in found]


def _stays(connection: sa.Connection, table: sa.Table, row: Row, gone: set[str]) -> bool:
    """Whether a row belongs to nobody erased here: not the person, nor a row that refers to a missing one."""
    if table.name == person.name and str(row["id"]) in gone:
        return False
    referred = [(key.column, row[key.parent.name]) for key in table.foreign_keys
                if row[key.parent.name] is not None]
    return all(connection.execute(sa.select(column).where(column == value)).first() is not None
               for column, value in referred)


def _erased_here(ledger: Ledger) -> set[str]:
    query = sa.select(audit.c.object_id).where(audit.c.action.startswith(TOMBSTONE))
    return {row["object_id"] for row in ledger.all(query)}


def _erase_too(ledger: Ledger, row: Row) -> int:
    """Erase the person of a tombstone in another kiosk's audit; returns how many persons were erased."""
    if not str(row.get("action")).startswith(TOMBSTONE):
        return 0
    if row["kiosk_id"] == ledger.kiosk_id:
        return 0
    try:
        erase_person(ledger, UUID(row["object_id"]), "erased_elsewhere")
    except Refused as refusal:
        if refusal.code != "unknown_person":
            raise
        return 0
    return 1


def key_of(table: sa.Table, row: Row) -> str:
    """A row's key as text."""
    if table.name == "audit":
        return f"{row['kiosk_id']}:{row['seq']}"
    value = row[next(iter(table.primary_key.columns)).name]
    return value.hex if isinstance(value, UUID) else str(value)


def with_keys(connection: sa.Connection, table: sa.Table, keys: Sequence[str]) -> list[Row]:
    """The rows of these keys, in order of their keys."""
    found: list[Row] = []
    for start in range(0, len(keys), MOST_KEYS):
        query = sa.select(table).where(_among(table, keys[start:start + MOST_KEYS]))
        found += [dict(row) for row in connection.execute(query).mappings()]
    return sorted(found, key=lambda row: _order(table, row))


def put(connection: sa.Connection, table: sa.Table, rows: Sequence[Row]) -> tuple[list[Row], list[Conflict]]:
    """Add the rows whose keys are new; returns those added, and the conflicts."""
    if not rows:
        return [], []
    keys = [key_of(table, row) for row in rows]
    before = _hashes(connection, table, keys)
    fresh = [row for row in rows if key_of(table, row) not in before]
    if fresh:
        connection.execute(_insert(connection, table), fresh)
    own, after = _content_hash(table), _hashes(connection, table, keys)
    conflicts = [Conflict(table.name, key) for row, key in zip(rows, keys, strict=True)
                 if after.get(key) != row[own]]
    refused = {one.key for one in conflicts}
    return [row for row in fresh if key_of(table, row) not in refused], conflicts


def _hashes(connection: sa.Connection, table: sa.Table, keys: Sequence[str]) -> dict[str, str]:
    named = [*table.primary_key.columns, table.c[_content_hash(table)]]
    found: dict[str, str] = {}
    for start in range(0, len(keys), MOST_KEYS):
        query = sa.select(*named).where(_among(table, keys[start:start + MOST_KEYS]))
        for row in connection.execute(query).mappings():
            found[key_of(table, dict(row))] = row[_content_hash(table)]
    return found


def _content_hash(table: sa.Table) -> str:
    """The column by which two rows with one key are compared."""
    return "sha256" if table.name == "reference_table" else hash_column(table)


def _among(table: sa.Table, keys: Iterable[str]) -> sa.ColumnElement[bool]:
    if table.name == "audit":
        split = [key.rpartition(":") for key in keys]
        kiosks = {kiosk for kiosk, _, _ in split}
        return sa.or_(*(sa.and_(table.c.kiosk_id == kiosk, table.c.seq.in_(
            [int(seq) for name, _, seq in split if name == kiosk])) for kiosk in kiosks))
    column = next(iter(table.primary_key.columns))
    return column.in_([UUID(key) for key in keys] if isinstance(column.type, sa.Uuid) else list(keys))


def _insert(connection: sa.Connection, table: sa.Table) -> sa.Insert:
    if connection.dialect.name == "postgresql":
        return postgresql.insert(table).on_conflict_do_nothing()
    return sqlite.insert(table).on_conflict_do_nothing()


def _order(table: sa.Table, row: Row) -> tuple[object, ...]:
    return (row["kiosk_id"], row["seq"]) if table.name == "audit" else (row["made_at"], key_of(table, row))


def table_named(name: str) -> sa.Table:
    """The table of this name."""
    return metadata.tables[name]


def pushed_tables() -> Iterator[sa.Table]:
    """Every immutable table, those referred to first."""
    return (table for table in metadata.sorted_tables if table.name not in MUTABLE)


def begin_queueing(ledger: Ledger) -> None:
    """Queue everything kept so far and, by triggers, every row from now on; once is enough."""
    with ledger.writing() as writing:
        begun = sa.select(outbox.c.id).where(outbox.c.table_name == RECEIVED)
        if writing.connection.execute(begun).first() is not None:
            return
        set_last_pulled(writing, 0)
        for table in pushed_tables():
            writing.connection.exec_driver_sql(_fill(table.name), (ledger.kiosk_id,))
            writing.connection.exec_driver_sql(_trigger(table.name, ledger.kiosk_id))


def last_pulled(writing: Writing) -> int:
    """The number of the last row pulled; 0 before the first."""
    row = writing.connection.execute(sa.select(outbox).where(outbox.c.table_name == RECEIVED)).first()
    return 0 if row is None else int(row.row_key)


def set_last_pulled(writing: Writing, rx_seq: int) -> None:
    """Keep the number of the last row pulled."""
    writing.connection.execute(outbox.delete().where(outbox.c.table_name == RECEIVED))
    writing.add(outbox, {"table_name": RECEIVED, "row_key": str(rx_seq), "tries": 0})


def _key(table: str, row: str) -> str:
    """SQL for a row's key as text; SQLite keeps a UUID as 32 hexadecimal digits."""
    return KEY_SQL.get(table, "{row}id").format(row=row)


def _new(columns: str, source: str) -> str:
    return (f"INSERT INTO outbox (id, table_name, row_key, tries, made_at, kiosk_id, sha256) "
            f"SELECT lower(hex(randomblob(16))), {columns}, 0, {source}")


def _fill(table: str) -> str:
    return _new(f"'{table}', {_key(table, '')}", f"made_at, kiosk_id, '' FROM {table} WHERE kiosk_id = ?")


def _trigger(table: str, kiosk_id: str) -> str:
    own = kiosk_id.replace("'", "''")
    made = _new(f"'{table}', {_key(table, 'NEW.')}", "NEW.made_at, NEW.kiosk_id, ''")
    return (f"CREATE TRIGGER queue_{table} AFTER INSERT ON {table} WHEN NEW.kiosk_id = '{own}' "
            f"BEGIN {made}; END")
