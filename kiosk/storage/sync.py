"""Synchronising a kiosk's store with the clinic's server: obey erasure orders, pull, then push.

The store works without the server; a call that is interrupted is continued by the next one. An advisory lock
lets one kiosk push at a time, so rows become visible in the order of their numbers and a pull misses none.

Nothing that travels is believed without proof (kiosk.storage.trust_list). Each row is pushed with the
signature of the kiosk that made it, and checked when pulled (kiosk.storage.row_checks); a row that does not
pass stays out and is named once, in the audit. The number kept as pulled is that of the last row that passed,
so that a forged number hides nothing. Rows of this kiosk that only the server has (after a restore) are taken
back. A person is erased here only by an order of an eraser, or again where this kiosk's own audit says so;
more persons in a day than the trust list allows wait for the site lead's word.

Queue: triggers write the key of each new row that this kiosk made to `outbox`, from the first call on, and
the key stays there until the server has the row. The number of the last row pulled and the trust list are
there too, under the names RECEIVED and TRUSTED.

Rows are never changed, so sending one again does no harm: the server keeps the first, and both hashes are
compared. Two different rows with one key are a conflict: the server's row stays, and a line in the audit says
so. A reference table's key is the hash of its content, so two kiosks that loaded the same one agree.

Decision storage-3.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import groupby
from typing import Final
from uuid import UUID

import sqlalchemy as sa
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from kiosk.base.errors import Refused
from kiosk.storage.column_types import Column, Row, UtcTime, hash_column
from kiosk.storage.erasure import TOMBSTONE, erase_person, rows_of_person
from kiosk.storage.row_checks import Entry, RowFault, fault_of, known_table
from kiosk.storage.rows import Ledger, Writing, engine_errors_refused
from kiosk.storage.rows_by_key import (
    MOST_KEYS,
    Conflict,
    insert_new,
    is_key,
    key_of,
    pushed_tables,
    put,
    table_named,
    with_keys,
)
from kiosk.storage.server import check_layout, erasure_order, received, trust_list
from kiosk.storage.tables import audit, outbox, person
from kiosk.storage.trust_list import (
    ErasureOrder,
    TrustList,
    fingerprint,
    kiosk_key,
    public_key,
    row_statement,
    signature,
)

LOCK: Final = 0x70757273
BATCH: Final = 400
CONFLICT: Final = "sync_conflict"
STAYS_OUT: Final = "sync_stays_out"
RECEIVED: Final = "received"
TRUSTED: Final = "trust_list"
MOST_NAMED: Final = 20  # rows that stay out and are named in one call; the others are only counted
LONGEST_NAME: Final = 80
DAY: Final = timedelta(days=1)
ELSEWHERE: Final = "erased_elsewhere"
KEY_SQL: Final = {"audit": "{row}kiosk_id || ':' || {row}seq", "reference_table": "{row}sha256"}
"""How the key of a row is written as text, where it is not its id."""


@dataclass(frozen=True)
class StaysOut:
    """A row of the server that was not taken, and why."""

    table: str
    key: str
    kiosk_id: str
    fault: RowFault


@dataclass
class Synced:
    """What one call did: rows pushed and pulled by table, persons erased, what stays out and what waits.

    waiting: persons of a mass order that waits for the site lead. stays_out: rows named for the first time;
    refused: how many were refused in all. clock_off: how far the server's clock is ahead of this kiosk's.
    """

    sent: Counter[str] = field(default_factory=Counter)
    taken: Counter[str] = field(default_factory=Counter)
    erased: int = 0
    waiting: int = 0
    refused: int = 0
    clock_off: timedelta = timedelta(0)
    conflicts: list[Conflict] = field(default_factory=list)
    stays_out: list[StaysOut] = field(default_factory=list)

    @property
    def pushed(self) -> int:
        """Rows sent."""
        return self.sent.total()

    @property
    def pulled(self) -> int:
        """Rows taken."""
        return self.taken.total()


def sync(ledger: Ledger, server: sa.Engine, *, batch: int = BATCH, erase_many: bool = False) -> Synced:
    """Obey orders, pull, then push, until nothing is left.

    erase_many: the site lead's word for a mass order. Refused: server_not_ours, sync_not_enrolled, and as
    open_server.
    """
    with engine_errors_refused(), server.connect() as connection:
        check_layout(connection)
        clock_off = _clock_off(connection, ledger)
    begin_queueing(ledger)
    trust = _enrolled(ledger, server)
    done = Synced(clock_off=clock_off)
    gone, waits = _obey_orders(ledger, server, trust, done, erase_many=erase_many)
    at: int | None = last_pulled(ledger)
    while at is not None:
        at = _pull(ledger, server, done, batch, at, trust, gone)
    _erase_again(ledger, done)
    held = _keys_of(ledger, waits)
    while _push(ledger, server, done, batch, held):
        pass
    return done


def _clock_off(connection: sa.Connection, ledger: Ledger) -> timedelta:
    """How far the server's clock is ahead; a server in this process has none of its own."""
    if connection.dialect.name != "postgresql":
        return timedelta(0)
    there = connection.execute(sa.select(sa.func.now(type_=UtcTime()))).scalar_one()
    return there - ledger.now()


def trusted(ledger: Ledger) -> TrustList | None:
    """The trust list that this kiosk holds."""
    row = ledger.one(sa.select(outbox.c.row_key).where(outbox.c.table_name == TRUSTED))
    return None if row is None else TrustList.from_text(row["row_key"])


def trust(ledger: Ledger, new: TrustList, site_fingerprint: str | None = None) -> None:
    """Hold a list: the first under the site's fingerprint, later ones of the same site with a higher number.

    What stayed out before is looked at again. Refused: fingerprint_differs, trust_list_of_other_site,
    trust_list_older.
    """
    known, found = trusted(ledger), fingerprint(new.site)
    if site_fingerprint is not None and site_fingerprint.upper() != found:
        raise Refused("fingerprint_differs", {"found": found, "wanted": site_fingerprint})
    if site_fingerprint is None and (known is None or known.site != new.site):
        raise Refused("trust_list_of_other_site", {"found": found})
    if known is not None and known.site == new.site and known.number > new.number:
        raise Refused("trust_list_older", {"found": new.number, "known": known.number})
    if known == new:
        return
    begun = last_pulled(ledger) > 0
    with ledger.writing() as writing:
        _set_kept(writing, TRUSTED, new.as_text())
        writing.note_of("trust_list", "trust_list", str(new.number), new.signature[:64])
        if begun:
            _set_kept(writing, RECEIVED, "0")


def own_public_key(ledger: Ledger) -> str:
    """This kiosk's public key; Refused `sync_not_enrolled` for a store without keys."""
    if ledger.audit_key is None:
        raise Refused("sync_not_enrolled", {"kiosk": ledger.kiosk_id})
    return public_key(kiosk_key(ledger.audit_key, ledger.kiosk_id))


def sign_earlier(ledger: Ledger) -> None:
    """Queue every row of this kiosk again: those sent before there were signatures are signed."""
    ledger.allow("site_lead")
    begin_queueing(ledger)
    with ledger.writing() as writing:
        writing.connection.execute(outbox.delete().where(outbox.c.table_name.not_in([RECEIVED, TRUSTED])))
        for table in pushed_tables():
            writing.connection.exec_driver_sql(_fill(table.name), (ledger.kiosk_id,))


def _enrolled(ledger: Ledger, server: sa.Engine) -> TrustList:
    """The newest list of this site that this kiosk or the server holds; Refused `sync_not_enrolled`."""
    public, known = own_public_key(ledger), trusted(ledger)
    if known is None:
        raise Refused("sync_not_enrolled", {"kiosk": ledger.kiosk_id})
    with engine_errors_refused(), server.connect() as connection:
        texts = connection.scalars(sa.select(trust_list.c.content)).all()
    newest = max([known, *_lists_of(texts, known.site)], key=lambda one: one.number)
    if newest != known:
        trust(ledger, newest)
    if (ledger.kiosk_id, public) not in newest.kiosks:
        raise Refused("sync_not_enrolled", {"kiosk": ledger.kiosk_id})
    if newest.as_text() not in texts:
        with engine_errors_refused(), server.begin() as connection:
            row = {"signature": newest.signature, "content": newest.as_text()}
            connection.execute(insert_new(connection, trust_list), row)
    return newest


def _lists_of(texts: Iterable[str], site: str) -> Iterator[TrustList]:
    for text in texts:
        try:
            found = TrustList.from_text(text)
        except Refused:
            continue
        if found.site == site:
            yield found


def _obey_orders(ledger: Ledger, server: sa.Engine, trust: TrustList, done: Synced, *,
                 erase_many: bool) -> tuple[set[str], Sequence[UUID]]:
    """Erase whom an eraser ordered to be erased.

    Returns everyone of whom nothing is taken, and those whose order waits: nothing of theirs is sent.
    """
    with engine_errors_refused(), server.connect() as connection:
        rows = connection.execute(sa.select(erasure_order)).mappings().all()
    found = (ErasureOrder(**row) for row in rows)
    ordered = {one.person_id for one in found if trust.orders(one)}
    with ledger.writing() as writing:
        here = sorted((one for one in ordered if writing.exists(person, one)), key=str)
    lately = sa.select(audit.c.seq).where(
        audit.c.kiosk_id == ledger.kiosk_id, audit.c.action == TOMBSTONE + ELSEWHERE,
        audit.c.made_at > ledger.now() - DAY)
    many = here and len(here) + len(ledger.all(lately)) > trust.most_erased
    waits = here if many and not erase_many else []
    for person_id in () if waits else here:
        erase_person(ledger, person_id, ELSEWHERE)
        done.erased += 1
    done.waiting = len(waits)
    return {str(one) for one in ordered} | _erased_here(ledger), waits


def _keys_of(ledger: Ledger, people: Sequence[UUID]) -> set[tuple[str, str]]:
    """(table, key) of every row of these persons."""
    with ledger.reading() as connection:
        return {(table.name, row.id.hex) for person_id in people
                for table, of_person in rows_of_person(person_id)
                for row in connection.execute(sa.select(table.c.id).where(of_person))}


def _erase_again(ledger: Ledger, done: Synced) -> None:
    """Erase persons of whom this kiosk's own audit, come back from the server, says that they were erased."""
    for text in sorted(_erased_here(ledger)):
        with ledger.writing() as writing:
            present = writing.exists(person, UUID(text))
        if present:
            erase_person(ledger, UUID(text), ELSEWHERE)
            done.erased += 1


def waiting(ledger: Ledger) -> int:
    """How many rows the server does not have yet."""
    query = sa.select(sa.func.count().label("n")).select_from(outbox).where(
        outbox.c.table_name.not_in([RECEIVED, TRUSTED]))
    row = ledger.one(query)
    return 0 if row is None else int(row["n"])


def _push(ledger: Ledger, server: sa.Engine, done: Synced, batch: int, held: set[tuple[str, str]]) -> bool:
    queued = _queued(ledger, batch, held)
    if not queued:
        return False
    found: list[Conflict] = []
    with engine_errors_refused(), server.begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(LOCK)))
        for table, keys in _by_table(queued):
            rows = _own(ledger, table, keys)
            added, conflicts = put(connection, table, rows)
            found += conflicts
            done.sent[table.name] += len(added)
            _number(connection, ledger, table, rows)
    done.conflicts += found
    _unqueue(ledger, queued, found)
    return True


def _queued(ledger: Ledger, batch: int, held: set[tuple[str, str]]) -> list[Row]:
    """The next rows to send: table after table, parents first; without those held back."""
    found: list[Row] = []
    names = {row["table_name"] for row in ledger.all(sa.select(outbox.c.table_name).distinct())}
    for table in (one for one in pushed_tables() if one.name in names):
        query = sa.select(outbox.c.id, outbox.c.table_name, outbox.c.row_key)
        of_table = query.where(outbox.c.table_name == table.name).order_by(outbox.c.made_at, outbox.c.row_key)
        left = batch - len(found)
        rows = ledger.all(of_table if held else of_table.limit(left))
        found += [row for row in rows if (table.name, row["row_key"]) not in held][:left]
        if len(found) >= batch:
            break
    return found


def _by_table(queued: list[Row]) -> Iterator[tuple[sa.Table, list[str]]]:
    for name, rows in groupby(queued, lambda row: row["table_name"]):
        yield table_named(name), [row["row_key"] for row in rows]


def _own(ledger: Ledger, table: sa.Table, keys: list[str]) -> list[Row]:
    with ledger.reading() as connection:
        return with_keys(connection, table, keys)


def _number(connection: sa.Connection, ledger: Ledger, table: sa.Table, rows: list[Row]) -> None:
    """Enter the rows that the server now has, signed, in its list of rows received."""
    own = hash_column(table)
    there = {key_of(table, row): row[own] for row in with_keys(
        connection, table, [key_of(table, row) for row in rows], [*table.primary_key.columns, table.c[own]])}
    keys = {one: kiosk_key(ledger.audit_key or b"", one) for one in {row["kiosk_id"] for row in rows}}
    entries = [_entry(ledger, table, row, keys[row["kiosk_id"]]) for row in rows
               if there.get(key_of(table, row)) == row[own]]
    if entries:
        connection.execute(insert_new(connection, received), entries)


def _entry(ledger: Ledger, table: sa.Table, row: Row, key: Ed25519PrivateKey) -> Row:
    statement = row_statement(table.name, key_of(table, row), row["kiosk_id"], row[hash_column(table)])
    return {"table_name": table.name, "row_key": key_of(table, row), "kiosk_id": row["kiosk_id"],
            "sha256": row[hash_column(table)], "received_at": ledger.now(),
            "signature": signature(key, statement)}


def _unqueue(ledger: Ledger, queued: list[Row], conflicts: list[Conflict]) -> None:
    """Remove pushed rows from the queue, once the server has committed, and note conflicts in the audit."""
    with ledger.writing() as writing:
        _note_conflicts(writing, conflicts)
        writing.connection.execute(outbox.delete().where(outbox.c.id.in_([row["id"] for row in queued])))


def _note_conflicts(writing: Writing, conflicts: list[Conflict]) -> None:
    for conflict in conflicts:
        writing.note_of(CONFLICT, conflict.table, conflict.key)


def _pull(ledger: Ledger, server: sa.Engine, done: Synced, batch: int, since: int, trust: TrustList,
          gone: set[str]) -> int | None:
    """Take the next rows; the number of the last of them, None where there are none."""
    entries, rows = _received(server, since, batch)
    if not entries:
        return None
    before = passed = last_pulled(ledger)
    with ledger.writing() as writing:
        for name, group in groupby(entries, lambda one: one.table):
            of_table = list(group)
            faults = {one: _fault(one, rows, trust) for one in of_table}
            sound = [one for one in of_table if faults[one] is None and (name, one.key) in rows]
            _take(writing, done, name, [rows[name, one.key] for one in sound], gone)
            passed = max([passed, *(one.number for one in sound)])
            _tell(writing, done, [(one, fault) for one, fault in faults.items() if fault is not None])
        if passed != before:
            _set_kept(writing, RECEIVED, str(passed))
    return entries[-1].number


def _fault(entry: Entry, rows: dict[tuple[str, str], Row], trust: TrustList) -> RowFault | None:
    if not known_table(entry.table):
        return RowFault.UNKNOWN_TABLE
    row = rows.get((entry.table, entry.key))
    return None if row is None else fault_of(entry, table_named(entry.table), row, trust)


def _take(writing: Writing, done: Synced, name: str, rows: Sequence[Row], gone: set[str]) -> None:
    """Write the rows of one table that refer to rows which are here, or to others among them."""
    if not rows:
        return
    table = table_named(name)
    wanted = _of_those_here(writing.connection, table, rows, gone)
    added, conflicts = put(writing.connection, table, wanted)
    done.taken[name] += len(added)
    new = [one for one in conflicts if _is_new(writing, CONFLICT, one.table, one.key)]
    done.conflicts += new
    _note_conflicts(writing, new)


def _tell(writing: Writing, done: Synced, faults: Sequence[tuple[Entry, RowFault]]) -> None:
    """Name the rows that stay out, each once, in the audit."""
    done.refused += len(faults)
    for entry, fault in faults:
        name, key = _printable(entry.table), _printable(entry.key)
        if len(done.stays_out) < MOST_NAMED and _is_new(writing, STAYS_OUT, name, key):
            writing.note_of(STAYS_OUT, name, key)
            done.stays_out.append(StaysOut(name, key, _printable(entry.kiosk_id), fault))


def _printable(text: str) -> str:
    """The beginning of a text that anybody may have written, without control characters."""
    return "".join(one if one.isprintable() else "?" for one in text[:LONGEST_NAME])


def _is_new(writing: Writing, action: str, kind: str, key: str) -> bool:
    told = sa.select(audit.c.seq).where(
        audit.c.kiosk_id == writing.ledger.kiosk_id, audit.c.action == action, audit.c.object_kind == kind,
        audit.c.object_id == key)
    return writing.connection.execute(told.limit(1)).first() is None


def _received(server: sa.Engine, since: int, batch: int) -> tuple[list[Entry], dict[tuple[str, str], Row]]:
    """The next entries of `received`, and those of their rows that still exist, by table and key."""
    with engine_errors_refused(), server.connect() as connection:
        query = sa.select(received).where(received.c.rx_seq > since).order_by(received.c.rx_seq).limit(batch)
        entries = [Entry(row["rx_seq"], row["table_name"], row["row_key"], row["kiosk_id"], row["sha256"],
                         row["signature"]) for row in connection.execute(query).mappings()]
        found: dict[tuple[str, str], Row] = {}
        for name in {one.table for one in entries if known_table(one.table)}:
            keys = [one.key for one in entries if one.table == name and is_key(name, one.key)]
            table = table_named(name)
            found |= {(name, key_of(table, row)): row for row in with_keys(connection, table, keys)}
    return entries, found


def _of_those_here(connection: sa.Connection, table: sa.Table, rows: Sequence[Row],
                   gone: set[str]) -> list[Row]:
    """The rows that belong to nobody erased: not the person, nor a row that refers to a missing one."""
    kept = [row for row in rows if table.name != person.name or str(row["id"]) not in gone]
    referred = {key.parent.name: (key.column, _present(
        connection, key.column, {row[key.parent.name] for row in kept})) for key in table.foreign_keys}
    wanted: list[Row] = []
    for row in kept:
        if all(row[name] is None or row[name] in present for name, (_, present) in referred.items()):
            wanted.append(row)
            for column, present in referred.values():
                if column.table is table:
                    present.add(row[column.name])
    return wanted


def _present(connection: sa.Connection, column: Column, values: set[object]) -> set[object]:
    """Which of these values the column has."""
    asked = [one for one in values if one is not None]
    return {row[0] for start in range(0, len(asked), MOST_KEYS) for row in connection.execute(
        sa.select(column).where(column.in_(asked[start:start + MOST_KEYS])))}


def _erased_here(ledger: Ledger) -> set[str]:
    """The ids of whom this kiosk erased, by its own audit; lines of other kiosks erase nobody."""
    query = sa.select(audit.c.object_id).where(
        audit.c.kiosk_id == ledger.kiosk_id, audit.c.action.startswith(TOMBSTONE))
    return {row["object_id"] for row in ledger.all(query)}


def begin_queueing(ledger: Ledger) -> None:
    """Queue everything kept so far and, by triggers, every row from now on; once is enough."""
    with ledger.writing() as writing:
        begun = sa.select(outbox.c.id).where(outbox.c.table_name == RECEIVED)
        if writing.connection.execute(begun).first() is not None:
            return
        _set_kept(writing, RECEIVED, "0")
        for table in pushed_tables():
            writing.connection.exec_driver_sql(_fill(table.name), (ledger.kiosk_id,))
            writing.connection.exec_driver_sql(_trigger(table.name, ledger.kiosk_id))


def last_pulled(ledger: Ledger) -> int:
    """The number of the last row pulled that passed; 0 before the first."""
    row = ledger.one(sa.select(outbox.c.row_key).where(outbox.c.table_name == RECEIVED))
    return 0 if row is None else int(row["row_key"])


def _set_kept(writing: Writing, name: str, value: str) -> None:
    writing.connection.execute(outbox.delete().where(outbox.c.table_name == name))
    writing.add(outbox, {"table_name": name, "row_key": value, "tries": 0})


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
