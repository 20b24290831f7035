"""Column types of the store and the canonical form of a row, from which its sha256 is taken.

Canonical JSON: UTF-8, sorted keys, no spaces, no NaN. In a row's canonical form a UUID is its 36 characters,
a moment is 'YYYY-MM-DDTHH:MM:SS.ffffffZ', bytes are their sha256 in hexadecimal; Double is always a float.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

import sqlalchemy as sa

from kiosk.visits.canonical import canonical_json

UTC_TEXT = "%Y-%m-%dT%H:%M:%S.%fZ"


class UtcTime(sa.types.TypeDecorator[datetime]):
    """A moment: text in UTC where the engine keeps no time zones, timestamptz elsewhere. Naive is refused."""

    impl = sa.String(27)
    cache_ok = True

    def load_dialect_impl(self, dialect: sa.Dialect) -> sa.types.TypeEngine[Any]:
        """Timestamp with time zone on PostgreSQL, text elsewhere."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(sa.TIMESTAMP(timezone=True))
        return dialect.type_descriptor(sa.String(27))

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> Any:
        """To the engine; ValueError for a moment without a time zone."""
        if value is None:
            return None
        return value.astimezone(UTC) if dialect.name == "postgresql" else utc_text(value)

    def process_result_value(self, value: Any, dialect: sa.Dialect) -> datetime | None:
        """From the engine, always in UTC."""
        if value is None or isinstance(value, datetime):
            return value if value is None else value.astimezone(UTC)
        return datetime.fromisoformat(value)


def utc_text(moment: datetime) -> str:
    """A moment in UTC as fixed-width text.

    >>> from datetime import timedelta, timezone
    >>> utc_text(datetime(2026, 11, 25, 10, 42, tzinfo=timezone(timedelta(hours=1))))
    '2026-11-25T09:42:00.000000Z'
    """
    if moment.utcoffset() is None:
        raise ValueError(f"moment must have a time zone, got {moment.isoformat()}")
    return moment.astimezone(UTC).strftime(UTC_TEXT)


def coerced(table: sa.Table, row: Mapping[str, Any]) -> dict[str, Any]:
    """The row as it will be read back: every column of the table, Double as float, bytes as bytes."""
    unknown = set(row) - set(table.columns.keys())
    if unknown:
        raise ValueError(f"{table.name} must have only its own columns, got {', '.join(sorted(unknown))}")
    return {column.name: _coerced(column, row.get(column.name)) for column in table.columns}


def row_sha256(table: sa.Table, row: Mapping[str, Any]) -> str:
    """The sha256 over the canonical JSON of all columns but the hash itself."""
    own = hash_column(table)
    return sha256(canonical_row({name: row[name] for name in row if name != own}).encode()).hexdigest()


def canonical_row(row: Mapping[str, Any]) -> str:
    """A row as canonical JSON."""
    return canonical_json({name: _plain(value) for name, value in row.items()})


def hash_column(table: sa.Table) -> str:
    """Where a table keeps its rows' hash; a reference table's own sha256 is its key."""
    return "row_sha256" if "row_sha256" in table.columns else "sha256"


def _coerced(column: sa.Column[Any], value: Any) -> Any:
    if value is None:
        return None
    if isinstance(column.type, sa.Double):
        return float(value)
    if isinstance(column.type, sa.Boolean):
        return bool(value)
    return int(value) if isinstance(column.type, sa.Integer) else value


def _plain(value: Any) -> Any:
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime):
        return utc_text(value)
    return sha256(value).hexdigest() if isinstance(value, bytes) else value
