"""What is checked of a row from the server before it is written here: whose it is, its hash, its values.

A row that does not pass stays out and is named; the rows after it are taken. Checked are: the table, the
signature of a kiosk on the site's trust list, the hash over the row's content, and the values.
"""

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum
from typing import Final, get_args

import sqlalchemy as sa

from kiosk.pursuit.battery import Form
from kiosk.pursuit.trial import Outcome
from kiosk.storage.column_types import Row, hash_column, row_sha256
from kiosk.storage.tables import MUTABLE, metadata
from kiosk.storage.trust_list import TrustList, row_statement
from kiosk.visits.person import Sex, ToolHand
from kiosk.visits.staff_archive import Action
from kiosk.visits.visit import Purpose

LONGEST_TEXT: Final = 8_000_000
LARGEST_BYTES: Final = 64_000_000
BIRTH: Final = re.compile(r"\d{4}(-\d\d(-\d\d)?)?")
CHOICES: Final[Mapping[tuple[str, str], frozenset[str]]] = {
    ("person_details", "sex"): frozenset(get_args(Sex)),
    ("person_details", "tool_hand"): frozenset(get_args(ToolHand)),
    ("visit", "purpose"): frozenset(get_args(Purpose)),
    ("visit", "form"): frozenset(get_args(Form)),
    ("visit", "preferred_hand"): frozenset({"right", "left"}),
    ("trial", "outcome"): frozenset(get_args(Outcome)),
    ("amendment", "action"): frozenset(get_args(Action)),
}
JSON_COLUMNS: Final = frozenset({
    ("visit", "intake"), ("visit", "software"), ("trial", "plan"), ("findings", "content"),
    ("trial_validity", "reasons"), ("trial_validity", "cautions")})


class RowFault(Enum):
    """Why a row stays out."""

    UNKNOWN_TABLE = "table"
    NOT_SIGNED = "signature"
    OTHER_CONTENT = "hash"
    BAD_VALUE = "value"


@dataclass(frozen=True)
class Entry:
    """One line of the server's list of rows; kiosk_id, sha256 and signature are those of who made the row."""

    number: int
    table: str
    key: str
    kiosk_id: str
    sha256: str
    signature: str


def known_table(name: str) -> bool:
    """Whether rows of a table of this name travel."""
    return name in metadata.tables and name not in MUTABLE


def fault_of(entry: Entry, table: sa.Table, row: Row, trust: TrustList) -> RowFault | None:
    """The first fault of a row, None where it may be written."""
    statement = row_statement(entry.table, entry.key, entry.kiosk_id, entry.sha256)
    if row["kiosk_id"] != entry.kiosk_id or not trust.knows(entry.kiosk_id, statement, entry.signature):
        return RowFault.NOT_SIGNED
    if row[hash_column(table)] != entry.sha256 or not _same_hash(table, row, entry.sha256):
        return RowFault.OTHER_CONTENT
    return None if all(_fits(table, name, value) for name, value in row.items()) else RowFault.BAD_VALUE


def _same_hash(table: sa.Table, row: Row, wanted: str) -> bool:
    try:
        return row_sha256(table, row) == wanted
    except (ValueError, TypeError):  # NaN, which no canonical JSON has
        return False


def _fits(table: sa.Table, name: str, value: object) -> bool:
    if value is None:
        return bool(table.c[name].nullable)
    match value:
        case float():
            return math.isfinite(value)
        case bytes():
            return len(value) <= LARGEST_BYTES
        case str():
            return len(value) <= LONGEST_TEXT and _text_fits(table.name, name, value)
        case datetime():
            return value.utcoffset() is not None
    return True


def _text_fits(table: str, name: str, value: str) -> bool:
    place = (table, name)
    if place in CHOICES and value not in CHOICES[place]:
        return False
    if name == "birth_date":
        return _is_birth_date(value)
    return _is_json(value) if place in JSON_COLUMNS else True


def _is_birth_date(text: str) -> bool:
    if not BIRTH.fullmatch(text):
        return False
    try:
        date.fromisoformat(text + "-01-01"[len(text) - 4:] if len(text) < 10 else text)
    except ValueError:
        return False
    return True


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True
