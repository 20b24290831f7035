"""Reads the lines of a sample file into columns of numbers; text becomes places in a list of what occurs.

What is wrong is gathered by kind: one fault names column, rule, the first rows where it stands and how many
lines break it, so that a file with a million faults can still be told in a few sentences.
"""

import csv
import io
from array import array
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from norms.table.reasons import Fault
from norms.table.scale import Floats
from norms.table.schema import Cell, Column, CsvFile

TOLD_EVERY = 50_000
MOST_ROWS_TOLD = 5
Cells = npt.NDArray[np.int64] | npt.NDArray[np.float64]


class LineFaults:
    """Faults of a file by column and rule."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._found: dict[tuple[str | None, str], tuple[list[int | None], object, int]] = {}

    def add(
        self, row: int | None, column: str | None, rule: str, value: object = None, lines: int = 1
    ) -> None:
        rows, first, count = self._found.get((column, rule), ([], value, 0))
        if len(rows) < MOST_ROWS_TOLD:
            rows.append(row)
        self._found[column, rule] = rows, first, count + lines

    def told(self) -> list[Fault]:
        """One fault a column and rule."""
        return [
            Fault(self._name, rows[0], column, rule + _counted(rows, count), value)
            for (column, rule), (rows, value, count) in self._found.items()
        ]


def _counted(rows: list[int | None], count: int) -> str:
    if count == 1:
        return ""
    named = ", ".join(str(row) for row in rows if row is not None)
    more = f" and {count - len(rows)} more" if count > len(rows) else ""
    return f" ({count} lines" + (f": rows {named}{more})" if len(rows) > 1 else ")")


@dataclass(frozen=True)
class Columns:
    """Columns of a file by name: numbers (NaN = empty), or places in its texts; `row` of the file."""

    row: npt.NDArray[np.int64]
    cells: Mapping[str, Cells]
    texts: Mapping[str, tuple[str, ...]]

    def of(self, which: npt.NDArray[np.bool_]) -> "Columns":
        """The lines that are wanted."""
        if which.all():
            return self
        cells = {name: of_name[which] for name, of_name in self.cells.items()}
        return Columns(self.row[which], cells, self.texts)

    def number(self, name: str) -> Floats:
        """A column of numbers; all NaN where the file has none such."""
        return np.asarray(self.cells[name]) if name in self.cells else np.full(len(self.row), np.nan)

    def whole(self, name: str) -> npt.NDArray[np.int64]:
        return np.asarray(self.cells[name]).astype(np.int64)

    def named(self, name: str) -> tuple[tuple[str, ...], npt.NDArray[np.int64]]:
        """The texts that occur, in the order of the alphabet, and the place of each line's."""
        texts, places = self.texts[name], np.asarray(self.cells[name])
        used = sorted(np.unique(places).tolist(), key=lambda place: texts[place])
        again = np.zeros(max(len(texts), 1), np.int64)
        again[used] = np.arange(len(used))
        return tuple(texts[place] for place in used), again[places]

    def first(self, name: str) -> str | int:
        """What stands in the first line."""
        cell = self.cells[name][0]
        return self.texts[name][int(cell)] if name in self.texts else int(cell)


@dataclass
class _Reader:
    """Reads one column's cells: what was read before is looked up where few different texts occur."""

    column: Column
    cells: "array[float]" = field(init=False)
    known: dict[str, tuple[float, str | None]] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.cells = array("q" if self.column.type == "string" else "d")

    def add(self, text: str) -> str | None:
        """Keep the cell; the rule it breaks, or None."""
        found = self.known.get(text)
        if found is None:
            found = self._read(text)
            if self.column.type != "number":
                self.known[text] = found
        self.cells.append(found[0] if self.column.type != "string" else int(found[0]))
        return found[1]

    def _read(self, text: str) -> tuple[float, str | None]:
        cell, rule = self.column.read(text)
        if self.column.type == "string":
            self.texts.append(text)
            return len(self.texts) - 1, rule
        return _as_number(cell), rule


def _as_number(cell: Cell) -> float:
    return float(cell) if isinstance(cell, (int, float)) else float("nan")


def read_columns(
    described: CsvFile, stream: BinaryIO, faults: LineFaults, progress: Callable[[str, int, int], None] | None
) -> Columns | None:
    """Every line of the file; None where its text or its header cannot be read."""
    text = io.TextIOWrapper(stream, "utf-8-sig", newline="")
    try:
        lines = csv.reader(text, strict=True)
        columns = _header(described, next(lines, []), faults)
        return None if columns is None else _lines(columns, lines, faults, progress)
    except UnicodeDecodeError as error:
        faults.add(None, None, "must be UTF-8 text", f"byte {error.start}")
    except csv.Error as error:
        faults.add(None, None, f"must be plain CSV ({error})")
    finally:
        text.detach()
    return None


def _header(described: CsvFile, header: list[str], faults: LineFaults) -> tuple[Column, ...] | None:
    for columns in (described.columns, described.columns + described.optional):
        if header == [column.name for column in columns]:
            return columns
    needed = [column.name for column in described.columns]
    known = needed + [column.name for column in described.optional]
    wrong: list[tuple[str | None, str]] = [
        (name, "column is missing") for name in needed if name not in header
    ]
    wrong += [(name, "column is not known") for name in header if name not in known]
    for name, rule in wrong or [(None, "columns must stand in the order " + ", ".join(known))]:
        faults.add(1, name, rule)
    return None


def _lines(columns: tuple[Column, ...], lines: Iterator[list[str]], faults: LineFaults,
           progress: Callable[[str, int, int], None] | None) -> Columns:
    readers = [_Reader(column) for column in columns]
    adders = [(reader.add, reader.column.name) for reader in readers]
    rows = array("q")
    for number, line in enumerate(lines, start=2):
        if len(line) != len(columns):
            faults.add(number, None, f"must have {len(columns)} cells", len(line))
            continue
        rows.append(number)
        for (add, name), text in zip(adders, line, strict=True):
            rule = add(text)
            if rule is not None:
                faults.add(number, name, rule, text)
        if progress is not None and number % TOLD_EVERY == 0:
            progress("lines read", number, 0)
    return Columns(
        np.array(rows, np.int64),
        {reader.column.name: np.array(reader.cells) for reader in readers},
        {reader.column.name: tuple(reader.texts) for reader in readers if reader.column.type == "string"},
    )
