"""Rows between a kiosk's store and the server: sent once, compared by hash, taken in the order received.

A row is never changed, so sending it again does no harm: the server keeps the first and both hashes are
compared. Two different rows under one key are a conflict: the server's stays, and it is told. The key of a
reference table is the hash of its content, so two kiosks that loaded the same one hold the same.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from kiosk.storage.column_types import hash_column
from kiosk.storage.rows import Row
from kiosk.storage.tables import metadata

MOST_KEYS: Final = 400  # engines limit how many values one statement may name


@dataclass(frozen=True)
class Conflict:
    """The same key with other content here and there."""

    table: str
    key: str


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
    """Add the rows that are not there; give back those added, and the conflicts."""
    if not rows:
        return [], []
    keys = [key_of(table, row) for row in rows]
    before = _hashes(connection, table, keys)
    fresh = [row for row in rows if key_of(table, row) not in before]
    if fresh:
        connection.execute(_insert(connection, table), fresh)
    own, after = _told_apart_by(table), _hashes(connection, table, keys)
    conflicts = [Conflict(table.name, key) for row, key in zip(rows, keys, strict=True)
                 if after.get(key) != row[own]]
    refused = {one.key for one in conflicts}
    return [row for row in fresh if key_of(table, row) not in refused], conflicts


def _hashes(connection: sa.Connection, table: sa.Table, keys: Sequence[str]) -> dict[str, str]:
    named = [*table.primary_key.columns, table.c[_told_apart_by(table)]]
    found: dict[str, str] = {}
    for start in range(0, len(keys), MOST_KEYS):
        query = sa.select(*named).where(_among(table, keys[start:start + MOST_KEYS]))
        for row in connection.execute(query).mappings():
            found[key_of(table, dict(row))] = row[_told_apart_by(table)]
    return found


def _told_apart_by(table: sa.Table) -> str:
    return "sha256" if table.name == "reference_table" else hash_column(table)


def _among(table: sa.Table, keys: Iterable[str]) -> sa.ColumnElement[bool]:
    if table.name == "audit":
        split = [key.rpartition(":") for key in keys]
        kiosks = {kiosk for kiosk, _, _ in split}
        return sa.or_(*(sa.and_(table.c.kiosk_id == kiosk, table.c.seq.in_(
            [int(seq) for name, _, seq in split if name == kiosk])) for kiosk in kiosks))
    column = next(iter(table.primary_key.columns))
    values: list[Any] = [UUID(key) for key in keys] if isinstance(column.type, sa.Uuid) else list(keys)
    return column.in_(values)


def _insert(connection: sa.Connection, table: sa.Table) -> Any:
    dialect: Any = postgresql if connection.dialect.name == "postgresql" else sqlite
    return dialect.insert(table).on_conflict_do_nothing()


def _order(table: sa.Table, row: Row) -> Any:
    if table.name == "audit":
        return row["kiosk_id"], row["seq"]
    return row["made_at"], key_of(table, row)


def table_named(name: str) -> sa.Table:
    """A table of the store."""
    return metadata.tables[name]
