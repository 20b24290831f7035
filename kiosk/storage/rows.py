"""Rows in and out: every write is one transaction that leaves its hash and its line in the audit.

A Ledger knows the engine, the clock, the source of ids, the kiosk and who is at work. Rows go in as mappings
by column name; id, made_at, made_by, kiosk_id and the hash are filled in here. With an audit key the lines of
the audit form a chain (kiosk.storage.audit_chain); in memory there is none, and `mac` is empty.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.audit_chain import Anchor, last_line, line_mac
from kiosk.storage.column_types import coerced, hash_column, row_sha256
from kiosk.storage.database_errors import obstacle
from kiosk.storage.engine import READING

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Ledger:
    """Where rows are written and read. roles: of the account at work; None where there are no accounts."""

    engine: sa.Engine
    now: Callable[[], datetime]
    new_id: Callable[[], UUID]
    kiosk_id: str
    made_by: UUID | None = None
    audit_key: bytes | None = field(default=None, repr=False)
    roles: frozenset[str] | None = None

    def allow(self, role: str) -> None:
        """Refused `role_not_held` where the account at work may not."""
        if self.roles is not None and role not in self.roles:
            raise Refused("role_not_held", {"role": role})

    @contextmanager
    def writing(self) -> Iterator["Writing"]:
        """One transaction; on the disk when the block is left, or nothing of it at all.

        Refused: store_read_only, store_full, store_busy, store_damaged, already_kept or refers_to_unknown
        (with what the engine said).
        """
        with in_our_words(), self.engine.begin() as connection:
            yield Writing(self, connection, self.now())

    def all(self, query: sa.Select[Any]) -> list[Row]:
        """The rows of a query, by column name."""
        return self.each(query)[0]

    def each(self, *queries: sa.Select[Any], **values: Any) -> list[list[Row]]:
        """The rows of several queries, all of one moment; `values` by the names of their bind parameters."""
        with in_our_words(), self.reading() as connection:
            return [_by_name(connection.execute(query, values)) for query in queries]

    def one(self, query: sa.Select[Any]) -> Row | None:
        """The first row of a query."""
        with in_our_words(), self.reading() as connection:
            row = connection.execute(query.limit(1)).mappings().first()
        return None if row is None else dict(row)

    def reading(self) -> sa.Connection:
        """A connection that only reads and takes no write lock."""
        return self.engine.connect().execution_options(**{READING: True})


@dataclass(frozen=True)
class Writing:
    """One transaction in progress; all its rows bear the same moment."""

    ledger: Ledger
    connection: sa.Connection
    at: datetime

    def add(self, table: sa.Table, row: Row) -> Row:
        """Insert one row and give it back as it was written."""
        filled = self._filled(table, row)
        self.connection.execute(table.insert(), filled)
        return filled

    def note(self, action: str, table: sa.Table, row: Row) -> None:
        """A line in the audit: what was done to which row."""
        self.note_of(action, table.name, str(row.get("id", row.get("sha256"))), row[hash_column(table)])

    def note_of(self, action: str, kind: str, object_id: str, object_sha256: str = "") -> None:
        """A line in the audit about something that may be no row (a backup, a person erased)."""
        head = self.audit_head()
        line = {"seq": head.seq + 1, "staff_id": self.ledger.made_by, "action": action, "object_kind": kind,
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

    def _filled(self, table: sa.Table, row: Row) -> dict[str, Any]:
        made = {"made_at": self.at, "made_by": self.ledger.made_by, "kiosk_id": self.ledger.kiosk_id}
        if "id" in table.columns and "id" not in row:
            made["id"] = self.ledger.new_id()
        filled = coerced(table, {**made, **row})
        return filled | {hash_column(table): row_sha256(table, filled)}


def _by_name(found: sa.CursorResult[Any]) -> list[Row]:
    names = tuple(found.keys())
    return [dict(zip(names, row, strict=True)) for row in found.all()]


def in_order(table: sa.Table, *where: sa.ColumnElement[bool]) -> sa.Select[Any]:
    """Rows in the order they were made; ids of one kiosk grow with time."""
    return sa.select(table).where(*where).order_by(table.c.made_at, table.c.id)


def latest(table: sa.Table, *where: sa.ColumnElement[bool]) -> sa.Select[Any]:
    """The newest row first."""
    return sa.select(table).where(*where).order_by(table.c.made_at.desc(), table.c.id.desc())


@contextmanager
def in_our_words() -> Iterator[None]:
    """What the engine says becomes Refused with a code of ours."""
    try:
        yield
    except sa.exc.IntegrityError as fault:
        raise Refused(_broken_rule(str(fault.orig)), {"found": str(fault.orig)}) from fault
    except sa.exc.DatabaseError as fault:
        raise Refused(obstacle(str(fault.orig)), {"found": str(fault.orig)}) from fault


def _broken_rule(message: str) -> str:
    if message.startswith("immutable"):
        return "immutable"
    return "refers_to_unknown" if "foreign key" in message.lower() else "already_kept"
