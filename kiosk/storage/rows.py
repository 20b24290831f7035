"""Reading and writing rows: each write is one transaction, with a hash in the row and a line in the audit.

A `Ledger` holds the engine, the clock, the source of ids, the kiosk's id and the account at work. Rows are
given as mappings by column name; id, made_at, made_by, kiosk_id and the hash are filled in here. With an
audit key the lines of the audit form a chain (kiosk.storage.audit_chain); a store in memory has no key, and
its `mac` stays empty. Decision storage-11.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.audit_chain import EPOCH_LINES, NEW_EPOCH, Anchor, last_line, line_mac
from kiosk.storage.column_types import Query, Row, UtcTime, coerced, hash_column, row_sha256
from kiosk.storage.engine import READING, refusal_code

VERSIONS_OF: Final = {
    "person_details": "person_id", "staff_details": "staff_id", "device_latency": "device_id",
    "score_set": "visit_id", "findings": "visit_id", "amendment": "target_id"}
"""Tables whose newest row counts, and the column that says of what it is a version."""


@dataclass(frozen=True)
class Ledger:
    """One store, used by one account. roles: what the account may do; None where there are no accounts."""

    engine: sa.Engine
    now: Callable[[], datetime]
    new_id: Callable[[], UUID]
    kiosk_id: str
    made_by: UUID | None = None
    audit_key: bytes | None = field(default=None, repr=False)
    roles: frozenset[str] | None = None

    def allow(self, role: str) -> None:
        """Refused `role_not_held` where the account at work does not have this role."""
        if self.roles is not None and role not in self.roles:
            raise Refused("role_not_held", {"role": role})

    @contextmanager
    def writing(self) -> Iterator["Writing"]:
        """One transaction: committed to disk when the block ends, rolled back where it raises.

        Refused: store_read_only, store_full, store_busy, store_damaged, already_kept or refers_to_unknown
        (with the engine's message as `found`).
        """
        with engine_errors_refused(), self.engine.begin() as connection:
            yield Writing(self, connection, self.now())

    def all(self, query: Query) -> list[Row]:
        """The rows of a query, by column name."""
        return self.each(query)[0]

    def each(self, *queries: Query, **values: object) -> list[list[Row]]:
        """The rows of several queries in one read transaction; `values`: their bind parameters by name."""
        with engine_errors_refused(), self.reading() as connection:
            results = [connection.execute(query, values) for query in queries]
            return [[dict(zip(one.keys(), row, strict=True)) for row in one.all()] for one in results]

    def one(self, query: Query) -> Row | None:
        """The first row of a query, None where there is none."""
        with engine_errors_refused(), self.reading() as connection:
            row = connection.execute(query.limit(1)).mappings().first()
        return None if row is None else dict(row)

    def reading(self) -> sa.Connection:
        """A connection that only reads and takes no write lock."""
        return self.engine.connect().execution_options(**{READING: True})


@dataclass(frozen=True)
class Writing:
    """One transaction in progress; all its rows have the same made_at."""

    ledger: Ledger
    connection: sa.Connection
    at: datetime

    def add(self, table: sa.Table, row: Row) -> Row:
        """Insert one row; returns it with what was filled in."""
        filled = self._filled(table, {"made_at": self._after_earlier(table, row), **row})
        self.connection.execute(table.insert(), filled)
        return filled

    def _after_earlier(self, table: sa.Table, row: Row) -> datetime:
        """This transaction's time, or the first moment after the newest row of which this is a new version.

        A hybrid logical clock for each thing that has versions: a clock that was set back, here or where the
        earlier version was made, does not make the later one count as the earlier.
        """
        name = VERSIONS_OF.get(table.name)
        if name is None:
            return self.at
        query = sa.select(sa.func.max(table.c.made_at, type_=UtcTime())).where(table.c[name] == row[name])
        newest = self.connection.scalar(query)
        return self.at if newest is None or newest <= self.at else newest + timedelta(microseconds=1)

    def begin_epoch(self) -> int:
        """Go on with the audit after a restore, under numbers that the lost lines cannot have had.

        The first line says from which line it goes on; its number is returned.
        """
        head = self.audit_head()
        skipped = int.from_bytes(self.ledger.new_id().bytes[-2:], "big")
        first = (head.seq // EPOCH_LINES + 1 + skipped) * EPOCH_LINES
        self._note(first, head, NEW_EPOCH, "audit", str(head.seq))
        return first

    def note(self, action: str, table: sa.Table, row: Row) -> None:
        """A line in the audit: what was done (`action`) to which row."""
        self.note_of(action, table.name, str(row.get("id", row.get("sha256"))), row[hash_column(table)])

    def note_of(self, action: str, kind: str, object_id: str, object_sha256: str = "") -> None:
        """A line in the audit about something that need not be a row (a backup, an erased person)."""
        head = self.audit_head()
        self._note(head.seq + 1, head, action, kind, object_id, object_sha256)

    def _note(self, seq: int, head: Anchor, action: str, kind: str, object_id: str,
              object_sha256: str = "") -> None:
        line = {"seq": seq, "staff_id": self.ledger.made_by, "action": action, "object_kind": kind,
                "object_id": object_id, "object_sha256": object_sha256, "previous_mac": head.mac, "mac": "",
                "made_at": self.at, "made_by": self.ledger.made_by, "kiosk_id": self.ledger.kiosk_id}
        key = self.ledger.audit_key
        self.add(tables.audit, line if key is None else line | {"mac": line_mac(key, line)})

    def audit_head(self) -> Anchor:
        """The last line of this kiosk's audit; (0, "") before the first."""
        row = self.connection.execute(last_line(self.ledger.kiosk_id)).first()
        return Anchor(0, "") if row is None else Anchor(row.seq, row.mac)

    def exists(self, table: sa.Table, key: UUID | str) -> bool:
        """Whether a row with this primary key is there."""
        column = next(iter(table.primary_key.columns))
        return self.connection.scalar(sa.select(column).where(column == key)) is not None

    def _filled(self, table: sa.Table, row: Row) -> Row:
        made: dict[str, object] = {
            "made_at": self.at, "made_by": self.ledger.made_by, "kiosk_id": self.ledger.kiosk_id}
        if "id" in table.columns and "id" not in row:
            made["id"] = self.ledger.new_id()
        filled = coerced(table, {**made, **row})
        return {**filled, hash_column(table): row_sha256(table, filled)}


def in_order(table: sa.Table, *where: sa.ColumnElement[bool]) -> Query:
    """Rows in the order they were made; the ids of one kiosk grow with time."""
    return sa.select(table).where(*where).order_by(table.c.made_at, table.c.id)


def latest(table: sa.Table, *where: sa.ColumnElement[bool]) -> Query:
    """Rows with the newest first."""
    return sa.select(table).where(*where).order_by(table.c.made_at.desc(), table.c.id.desc())


@contextmanager
def engine_errors_refused() -> Iterator[None]:
    """What the database engine raises becomes Refused with a code of the kiosk."""
    try:
        yield
    except sa.exc.IntegrityError as fault:
        raise Refused(_integrity_code(str(fault.orig)), {"found": str(fault.orig)}) from fault
    except sa.exc.DatabaseError as fault:
        raise Refused(refusal_code(str(fault.orig)), {"found": str(fault.orig)}) from fault


def _integrity_code(message: str) -> str:
    if message.startswith("immutable"):
        return "immutable"
    return "refers_to_unknown" if "foreign key" in message.lower() else "already_kept"
