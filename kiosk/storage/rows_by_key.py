"""Rows found and added by their keys as text, on a kiosk's store and on the server alike.

A row's key as text is its id in hexadecimal, `KIOSK:SEQ` for a line of the audit, and the hash of its content
for a reference table.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from kiosk.storage.column_types import Column, Row, hash_column
from kiosk.storage.tables import MUTABLE, metadata

MOST_KEYS: Final = 400  # SQLite limits how many values one statement may name


@dataclass(frozen=True)
class Conflict:
    """A key under which this kiosk and the server have different rows."""

    table: str
    key: str


def key_of(table: sa.Table, row: Row) -> str:
    """A row's key as text."""
    if table.name == "audit":
        return f"{row['kiosk_id']}:{row['seq']}"
    value = row[next(iter(table.primary_key.columns)).name]
    return value.hex if isinstance(value, UUID) else str(value)


def with_keys(connection: sa.Connection, table: sa.Table, keys: Sequence[str],
              columns: Sequence[Column] = ()) -> list[Row]:
    """The rows of these keys (all columns, or these), in order of their keys."""
    found: list[Row] = []
    for start in range(0, len(keys), MOST_KEYS):
        query = sa.select(*(columns or table.columns)).where(_among(table, keys[start:start + MOST_KEYS]))
        found += [dict(row) for row in connection.execute(query).mappings()]
    return found if columns else sorted(found, key=lambda row: _order(table, row))


def put(connection: sa.Connection, table: sa.Table, rows: Sequence[Row]) -> tuple[list[Row], list[Conflict]]:
    """Add the rows whose keys are new; returns those added, and the conflicts."""
    if not rows:
        return [], []
    keys = [key_of(table, row) for row in rows]
    before = _hashes(connection, table, keys)
    fresh = [row for row in rows if key_of(table, row) not in before]
    if fresh:
        connection.execute(insert_new(connection, table), fresh)
    own, after = _content_hash(table), _hashes(connection, table, keys)
    conflicts = [Conflict(table.name, key) for row, key in zip(rows, keys, strict=True)
                 if after.get(key) != row[own]]
    refused = {one.key for one in conflicts}
    return [row for row in fresh if key_of(table, row) not in refused], conflicts


def _hashes(connection: sa.Connection, table: sa.Table, keys: Sequence[str]) -> dict[str, str]:
    own = _content_hash(table)
    named = [*table.primary_key.columns, table.c[own]]
    return {key_of(table, row): row[own] for row in with_keys(connection, table, keys, named)}


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


def insert_new(connection: sa.Connection, table: sa.Table) -> sa.Insert:
    """An insert that leaves out rows whose keys are there already."""
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


def is_key(table: str, key: str) -> bool:
    """Whether this text can be the key of a row of this table."""
    if table == "reference_table":
        return True
    if table == "audit":
        number = key.rpartition(":")[2]
        return number.isascii() and number.isdecimal() and len(number) < 19
    return re.fullmatch("[0-9a-f]{32}", key) is not None
