"""A CSV file with a described header: every broken cell, line and column becomes a fault.

UTF-8 (a byte order mark is taken off), commas, RFC 4180 quotes, LF or CRLF. Row 1 is the header.
"""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass

from norms.table.reasons import Fault
from norms.table.schema import REQUIRED_FILES, Cell, Column, CsvFile


@dataclass(frozen=True)
class CsvRow:
    """One row: its number in the file and its cells; a cell that broke its rule is None."""

    number: int
    cells: Mapping[str, Cell]
    whole: bool

    def text(self, column: str) -> str:
        return str(self.cells[column])

    def number_of(self, column: str) -> float:
        value = self.cells[column]
        if value is None or isinstance(value, str):
            raise TypeError(f"{column}, must be a number once the row is whole, {value}")
        return value

    def optional_number(self, column: str) -> float | None:
        return None if self.cells.get(column) is None else self.number_of(column)


def read_csv(described: CsvFile, data: bytes, faults: list[Fault]) -> list[CsvRow]:
    """Rows of a file; what is wrong is added to `faults`."""
    text = decode(described.name, data, faults)
    if text is None:
        return []
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as error:
        faults.append(Fault(described.name, None, None, f"must be plain CSV ({error})"))
        return []
    columns = _columns(described, lines[0] if lines else [], faults)
    if columns is None:
        return []
    if len(lines) < 2 and described.name in REQUIRED_FILES:
        faults.append(Fault(described.name, None, None, "must hold a row below its header"))
    rows = [_row(described.name, number, columns, line, faults)
            for number, line in enumerate(lines[1:], start=2)]
    found = [row for row in rows if row is not None]
    _unique(described, found, faults)
    return found


def decode(name: str, data: bytes, faults: list[Fault]) -> str | None:
    """Text of a file that must be UTF-8."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        faults.append(Fault(name, None, None, "must be UTF-8 text", f"byte {error.start}"))
        return None
    if "\0" in text:
        faults.append(Fault(name, None, None, "must be UTF-8 text, not binary",
                            f"character {text.index(chr(0))}"))
        return None
    return text


def _columns(described: CsvFile, header: list[str], faults: list[Fault]) -> tuple[Column, ...] | None:
    accepted = [described.columns]
    if described.optional:
        accepted.append(described.columns + described.optional)
    for columns in accepted:
        if header == [column.name for column in columns]:
            return columns
    faults.extend(_header_faults(described, header))
    return None


def _header_faults(described: CsvFile, header: list[str]) -> list[Fault]:
    if not header:
        return [Fault(described.name, 1, None, "must hold a header row")]
    needed = [column.name for column in described.columns]
    known = needed + [column.name for column in described.optional]
    wrong = [Fault(described.name, 1, name, "column is missing") for name in needed if name not in header]
    wrong += [Fault(described.name, 1, name, "column is not known") for name in header if name not in known]
    wrong += [Fault(described.name, 1, name, "column stands twice")
              for name in dict.fromkeys(header) if header.count(name) > 1]
    some = [column.name for column in described.optional if column.name in header]
    if some and len(some) < len(described.optional):
        wrong.append(Fault(described.name, 1, some[0], "percentile columns must be all there or none"))
    return wrong or [Fault(described.name, 1, None, "columns must stand in the order " + ", ".join(needed))]


def _row(name: str, number: int, columns: tuple[Column, ...], line: list[str],
         faults: list[Fault]) -> CsvRow | None:
    if len(line) != len(columns):
        faults.append(Fault(name, number, None, f"must have {len(columns)} cells", str(len(line))))
        return None
    cells: dict[str, Cell] = {}
    sound = True
    for column, text in zip(columns, line, strict=True):
        cells[column.name], rule = column.read(text)
        if rule is not None:
            faults.append(Fault(name, number, column.name, rule, text))
            sound = False
    return CsvRow(number, cells, sound)


def _unique(described: CsvFile, rows: list[CsvRow], faults: list[Fault]) -> None:
    first: dict[tuple[Cell, ...], int] = {}
    for row in rows:
        key = tuple(row.cells[name] for name in described.key)
        if key in first and row.whole:
            faults.append(Fault(described.name, row.number, ", ".join(described.key),
                                f"must be unique, stands in row {first[key]} too",
                                " ".join(map(str, key))))
        first.setdefault(key, row.number)
