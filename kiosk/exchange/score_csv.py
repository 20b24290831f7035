"""Scores of recordings as one tidy CSV: a row a trial and score.

file, block, hand, side, trial, attempt, form   which recording, of what
score, value, unit, se, reason                  one score (ids and units of the scoring catalogue); where it
                                                is not scored value and se are empty and reason says why
valid, reasons, cautions                        of the trial: yes or no, codes joined by a space
latency_ms                                      what was taken off; empty where the device's is not known
UTF-8, comma, header row, shortest decimals that give the number back.
"""

import csv
from collections.abc import Iterable, Mapping
from typing import Final, TextIO

COLUMNS: Final = ("file", "block", "hand", "side", "trial", "attempt", "form", "score", "value", "unit", "se",
                  "reason", "valid", "reasons", "cautions", "latency_ms")
Cell = str | int | float | None


def write_header(out: TextIO) -> None:
    """The header row."""
    csv.writer(out, lineterminator="\n").writerow(COLUMNS)


def write_rows(rows: Iterable[Mapping[str, Cell]], out: TextIO) -> None:
    """One row a score; None leaves its cell empty."""
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        writer.writerow([_cell(row[column]) for column in COLUMNS])


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else str(value)
