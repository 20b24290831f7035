"""A trial's samples as CSV: written so that they read back exactly, and read with every fault named.

Columns t_s (seconds since the disc set off), x_mm, y_mm (y up, origin at the field's centre), contact (1 on
the glass, 0 lifted). UTF-8, comma, header row, decimal point, shortest decimals that give the number back.
Reading also takes a byte order mark, CRLF, the columns in any order and empty lines. Rows count lines of the
file from 1, the header.

Rules of a fault: cannot_be_read, is_empty, must_be_utf8_text, must_have_the_columns_of_a_recording (none of
them is there: another kind of file), column_missing, column_unknown, column_twice,
must_have_as_many_fields_as_the_header, must_be_a_number, must_be_finite, must_be_within_a_million,
must_be_0_or_1, must_be_comma_separated, must_not_run_backwards, must_have_two_samples.
"""

import csv
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator
from io import StringIO
from math import isfinite
from pathlib import Path
from typing import Final, TextIO

import numpy as np

from kiosk.base.errors import Fault, FaultyFile
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.trial import TrialPlan

COLUMNS: Final = ("t_s", "x_mm", "y_mm", "contact")
FARTHEST: Final = 1e6
FEWEST_SAMPLES: Final = 2
LONGEST_SHOWN: Final = 60

Row = tuple[int, dict[str, str]]


def write_samples(samples: Samples, out: TextIO) -> None:
    """All samples, one a row."""
    rows = zip(samples.t_s.tolist(), samples.x_mm.tolist(), samples.y_mm.tolist(),
               samples.contact.astype(int).tolist(), strict=True)
    _write(COLUMNS, rows, out)


def write_target(plan: TrialPlan, rate_hz: float, out: TextIO) -> None:
    """Where the disc is at t = k / rate, from 0 to the end of the run-on."""
    t_s = np.arange(int(plan.end_s * rate_hz + 1e-9) + 1) / rate_hz
    x_mm, y_mm = plan.position(t_s)
    _write(COLUMNS[:3], zip(t_s.tolist(), x_mm.tolist(), y_mm.tolist(), strict=True), out)


def _write(columns: Iterable[str], rows: Iterable[tuple[float, ...]], out: TextIO) -> None:
    out.write(",".join(columns) + "\n")
    out.writelines(",".join(map(repr, row)) + "\n" for row in rows)


def read_samples(path: Path) -> Samples:
    """The samples of a recording; FaultyFile with all its faults."""
    file = path.name
    lines = list(_lines(_text(path), file))
    header, rows = _header(lines, file), lines[1:]
    faults, named = _named(header, rows, file)
    numbers = {column: _numbers(column, named, file, faults) for column in COLUMNS}
    faults += _backwards(named, numbers["t_s"], file)
    if len(rows) < FEWEST_SAMPLES:
        faults.append(Fault(file, None, None, "must_have_two_samples", str(len(rows))))
    if faults:
        raise FaultyFile(sorted(faults, key=lambda fault: fault.row or 0))
    t_s, x_mm, y_mm = (np.array(numbers[column]) for column in COLUMNS[:3])
    return Samples(t_s, x_mm, y_mm, np.array(numbers["contact"], dtype=np.bool_))


def _text(path: Path) -> str:
    try:
        content = path.read_bytes()
    except OSError as fault:
        raise _faulty(path.name, "cannot_be_read", fault.strerror) from fault
    if not content.removeprefix(BOM_UTF8).strip():
        raise _faulty(path.name, "is_empty", f"{len(content)} bytes")
    if b"\0" in content:
        raise _faulty(path.name, "must_be_utf8_text", f"byte 0 at {content.index(0)}")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        place = f"byte {content[fault.start]} at {fault.start}"
        raise _faulty(path.name, "must_be_utf8_text", place) from fault


def _faulty(file: str, rule: str, value: str | None) -> FaultyFile:
    return FaultyFile([Fault(file, None, None, rule, value)])


def _lines(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Each line that is not empty, with its number."""
    reader = csv.reader(StringIO(text, newline=""), strict=True)
    try:
        for fields in reader:
            if fields:
                yield reader.line_num, [field.strip() for field in fields]
    except csv.Error as fault:
        wrong = Fault(file, reader.line_num, None, "must_be_comma_separated", str(fault))
        raise FaultyFile([wrong]) from fault


def _header(lines: list[tuple[int, list[str]]], file: str) -> list[str]:
    header = lines[0][1]
    if not set(header) & set(COLUMNS):
        found = _shown(",".join(header))
        raise FaultyFile([Fault(file, lines[0][0], None, "must_have_the_columns_of_a_recording", found)])
    faults = [Fault(file, 1, column, "column_missing", _shown(",".join(header)))
              for column in COLUMNS if column not in header]
    faults += [Fault(file, 1, name, "column_unknown", _shown(name)) for name in header if name not in COLUMNS]
    faults += [Fault(file, 1, name, "column_twice", name) for name in COLUMNS if header.count(name) > 1]
    if faults:
        raise FaultyFile(faults)
    return header


def _shown(text: str) -> str | None:
    """What was found, short and printable; None for nothing."""
    plain = "".join(one if one.isprintable() else "�" for one in text)
    return (plain if len(plain) <= LONGEST_SHOWN else plain[:LONGEST_SHOWN] + "…") or None


def _named(header: list[str], lines: list[tuple[int, list[str]]], file: str) -> tuple[list[Fault], list[Row]]:
    """Faults of rows with too few or too many fields, and the other rows by column."""
    rule, wanted = "must_have_as_many_fields_as_the_header", len(header)
    odd = [(row, len(fields)) for row, fields in lines if len(fields) != wanted]
    even = [(row, dict(zip(header, fields, strict=True))) for row, fields in lines if len(fields) == wanted]
    return [Fault(file, row, None, rule, str(count)) for row, count in odd], even


def _numbers(column: str, rows: list[Row], file: str, faults: list[Fault]) -> list[float]:
    """The column's numbers, NaN where a fault was added."""
    return [_number(row, column, fields[column], file, faults) for row, fields in rows]


def _number(row: int, column: str, text: str, file: str, faults: list[Fault]) -> float:
    try:
        number = float(text) if "_" not in text else None
    except ValueError:
        number = None
    rule = _broken_rule(column, number)
    if rule is not None:
        faults.append(Fault(file, row, column, rule, _shown(text)))
    return number if rule is None and number is not None else np.nan


def _broken_rule(column: str, number: float | None) -> str | None:
    if number is None:
        return "must_be_a_number"
    if not isfinite(number):
        return "must_be_finite"
    if column == "contact":
        return None if number in (0.0, 1.0) else "must_be_0_or_1"
    return None if abs(number) <= FARTHEST else "must_be_within_a_million"


def _backwards(rows: list[Row], t_s: list[float], file: str) -> list[Fault]:
    """Each time that lies before the one above it (NaN, faulty itself, compares with nothing)."""
    return [
        Fault(file, row, "t_s", "must_not_run_backwards", fields["t_s"])
        for (row, fields), now_s, before_s in zip(rows[1:], t_s[1:], t_s, strict=False) if now_s < before_s
    ]
