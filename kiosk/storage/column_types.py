"""Column types of the store, and the canonical form of a row, over which its sha256 is computed.

Canonical JSON: UTF-8, sorted keys, no spaces, no NaN. In a row's canonical form a UUID is its 36 characters,
a moment is 'YYYY-MM-DDTHH:MM:SS.ffffffZ', bytes are their sha256 in hexadecimal; Double is always a float.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.canonical_json import canonical_json

Column = sa.Column[Any]
Row = Mapping[str, Any]
"""One row by column name, its values as the driver takes and gives them."""
Query = sa.Select[Any]
"""A query for rows of any columns."""
UTC_TEXT = "%Y-%m-%dT%H:%M:%S.%fZ"


class UtcTime(sa.types.TypeDecorator[datetime]):
    """A moment in UTC: timestamptz on PostgreSQL, text of fixed width in SQLite. A naive one is refused."""

    impl = sa.String(27)
    cache_ok = True

    def load_dialect_impl(self, dialect: sa.Dialect) -> sa.types.TypeEngine[Any]:
        """Timestamp with time zone on PostgreSQL, text elsewhere."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(sa.TIMESTAMP(timezone=True))
        return dialect.type_descriptor(sa.String(27))

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> datetime | str | None:
        """To the engine; ValueError for a moment without a time zone."""
        if value is None:
            return None
        return value.astimezone(UTC) if dialect.name == "postgresql" else utc_text(value)

    def process_result_value(self, value: datetime | str | None, dialect: sa.Dialect) -> datetime | None:
        """From the engine, always in UTC."""
        if value is None:
            return None
        return value.astimezone(UTC) if isinstance(value, datetime) else datetime.fromisoformat(value)


def utc_text(moment: datetime) -> str:
    """A moment in UTC as fixed-width text.

    >>> from datetime import timedelta, timezone
    >>> utc_text(datetime(2026, 11, 25, 10, 42, tzinfo=timezone(timedelta(hours=1))))
    '2026-11-25T09:42:00.000000Z'
    """
    if moment.utcoffset() is None:
        raise ValueError(f"moment must have a time zone, got {moment.isoformat()}")
    return moment.astimezone(UTC).strftime(UTC_TEXT)


def coerced(table: sa.Table, row: Row) -> Row:
    """The row as it will be read back: every column of the table (missing ones None), Double as float.

    ValueError for a column that the table does not have.
    """
    unknown = set(row) - set(table.columns.keys())
    if unknown:
        raise ValueError(f"{table.name} must have only its own columns, got {', '.join(sorted(unknown))}")
    return {column.name: _coerced(column, row.get(column.name)) for column in table.columns}


def row_sha256(table: sa.Table, row: Row) -> str:
    """The sha256 (hexadecimal) over the canonical JSON of all columns but the hash itself."""
    own = hash_column(table)
    return sha256(canonical_row({name: row[name] for name in row if name != own}).encode()).hexdigest()


def canonical_row(row: Row) -> str:
    """A row as canonical JSON."""
    return canonical_json({name: _plain(value) for name, value in row.items()})


def hash_column(table: sa.Table) -> str:
    """The column with a row's hash. A reference table has two: its `sha256` is its key."""
    return "row_sha256" if "row_sha256" in table.columns else "sha256"


def _coerced(column: Column, value: Any) -> object:
    if value is None:
        return None
    if isinstance(column.type, sa.Double):
        return float(value)
    if isinstance(column.type, sa.Boolean):
        return bool(value)
    return int(value) if isinstance(column.type, sa.Integer) else value


def _plain(value: object) -> object:
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime):
        return utc_text(value)
    return sha256(value).hexdigest() if isinstance(value, bytes) else value
