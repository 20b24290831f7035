"""A kiosk and its server: pull what other kiosks sent, then push what waits here.

The store works without the server; a call that breaks off is taken up where it stopped. One advisory lock
lets one kiosk push at a time, so rows become visible in the order of their numbers and a pull misses none. A
person erased elsewhere is erased here, and nothing of theirs is sent again.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, Final
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage.column_types import hash_column
from kiosk.storage.erasure import TOMBSTONE, erase_person
from kiosk.storage.exchange_rows import Conflict, key_of, put, table_named, with_keys
from kiosk.storage.outbox import RECEIVED, begin_queueing, place, pushed_tables, set_place
from kiosk.storage.rows import Ledger, Row, Writing, in_our_words
from kiosk.storage.server import check_layout
from kiosk.storage.server_schema import received
from kiosk.storage.tables import audit, outbox, person

LOCK: Final = 0x70757273
BATCH: Final = 400
CONFLICT: Final = "sync_conflict"


@dataclass
class Synced:
    """What one call did: rows sent and taken, persons erased because another kiosk erased them."""

    pushed: int = 0
    pulled: int = 0
    erased: int = 0
    conflicts: list[Conflict] = field(default_factory=list)


def sync(ledger: Ledger, server: sa.Engine, *, batch: int = BATCH) -> Synced:
    """Pull, then push, until nothing is left. Refused: server_not_ours, and as open_server."""
    with in_our_words(), server.connect() as connection:
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
    with in_our_words(), server.begin() as connection:
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
    """Only once the server has committed; conflicts stand in the audit, whatever happens to this answer."""
    with ledger.writing() as writing:
        _tell(writing, conflicts)
        writing.connection.execute(outbox.delete().where(outbox.c.id.in_([row["id"] for row in queued])))


def _tell(writing: Writing, conflicts: list[Conflict]) -> None:
    for conflict in conflicts:
        writing.note_of(CONFLICT, conflict.table, conflict.key)


def _pull(ledger: Ledger, server: sa.Engine, done: Synced, batch: int) -> bool:
    with ledger.writing() as writing:
        since = place(writing)
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
            _tell(writing, conflicts)
        set_place(writing, numbered[-1]["rx_seq"])
    for _, row in rows:
        done.erased += _erase_too(ledger, row)
    return True


def _received(server: sa.Engine, since: int, batch: int) -> tuple[list[Row], list[tuple[str, Row]]]:
    """The next numbers, and the rows behind them that still exist, in that order."""
    with in_our_words(), server.connect() as connection:
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
    """Whether a row is of nobody erased here: neither theirs nor referring to one left out."""
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
    """Erase a person whose tombstone came with a row of another kiosk's audit."""
    action: Any = row.get("action")
    if not isinstance(action, str) or not action.startswith(TOMBSTONE):
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
