"""The sample file from which a table is built: one line per person, visit and measure.

person            code of the person (no name)
visit             1 or 2
purpose           reference (one visit, fills the age bands) or retest (two visits, the retest study);
                  lines of any other purpose are left out and counted
research_use      yes, no or not_asked; only yes is used
age_years         age at this visit, with decimals
sex               female, male, other or not_asked
device_class      panel kind
input             finger, stylus or mouse
day               days since the person's first visit (0 at visit 1)
earlier_visits    earlier visits of the person before this one
battery, battery_version, scoring_version
measure           BLOCK.HAND.SCORE
value             in the measure's unit
scaled            the same on the measure's scale: mean of the block's trials
trial_variance    sample variance of the block's trials on the scale; empty for one trial
n_trials          trials behind the value
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from norms.csvread import CsvRow, read_csv
from norms.reasons import Fault, TableFaults
from norms.tableschema import Column, CsvFile

SAMPLE = CsvFile("sample", (
    Column("person", "string"),
    Column("visit", "integer", minimum=1, maximum=2),
    Column("purpose", "string", pattern="[a-z_]+"),
    Column("research_use", "string", enum=("yes", "no", "not_asked")),
    Column("age_years", "number", minimum=0, below=120),
    Column("sex", "string", enum=("female", "male", "other", "not_asked")),
    Column("device_class", "string", pattern="[a-z0-9_]+"),
    Column("input", "string", enum=("finger", "stylus", "mouse")),
    Column("day", "number", minimum=0),
    Column("earlier_visits", "integer", minimum=0),
    Column("battery", "string"),
    Column("battery_version", "integer", minimum=1),
    Column("scoring_version", "integer", minimum=1),
    Column("measure", "string", pattern=r"[a-z]+\.(preferred|other|both)\.[a-z][a-z0-9_]*"),
    Column("value", "number"),
    Column("scaled", "number"),
    Column("trial_variance", "number", required=False, minimum=0),
    Column("n_trials", "integer", minimum=1),
), ("person", "visit", "measure"))

ONE_OF_A_KIND = ("battery", "battery_version", "scoring_version", "input", "device_class")


@dataclass(frozen=True)
class Line:
    """One person's value of one measure at one visit; `number` is its row in the file."""

    number: int
    person: str
    visit: int
    purpose: str
    age_years: float
    day: float
    earlier_visits: int
    measure: str
    value: float
    scaled: float
    trial_variance: float | None
    n_trials: int


@dataclass(frozen=True)
class Sample:
    """The lines that count, what they have in common, and how many lines were left out for what."""

    lines: tuple[Line, ...]
    common: dict[str, str | int]
    left_out: dict[str, int]


def read_sample(name: str, data: bytes) -> Sample:
    """Read a sample file; raises TableFaults with all that is wrong."""
    faults: list[Fault] = []
    rows = read_csv(SAMPLE, data, faults)
    if not faults:
        rows, left_out = _used(rows)
        faults += _mixed(rows)
    if not faults and not rows:
        faults.append(Fault(name, None, None,
                            "holds no line of purpose reference or retest with research use"))
    if faults:
        raise TableFaults([Fault(name, one.row, one.column, one.rule, one.value) for one in faults])
    common = {column: _plain(rows[0], column) for column in ONE_OF_A_KIND}
    return Sample(tuple(map(_line, rows)), common, left_out)


def _used(rows: list[CsvRow]) -> tuple[list[CsvRow], dict[str, int]]:
    reasons: dict[str, Callable[[CsvRow], bool]] = {
        "research use not agreed": lambda row: row.text("research_use") != "yes",
        "purpose neither reference nor retest":
            lambda row: row.text("purpose") not in ("reference", "retest"),
        "second visit of a reference person":
            lambda row: row.text("purpose") == "reference" and row.cells["visit"] == 2,
    }
    left_out: dict[str, int] = {}
    used = []
    for row in rows:
        reason = next((why for why, holds in reasons.items() if holds(row)), None)
        if reason is None:
            used.append(row)
        else:
            left_out[reason] = left_out.get(reason, 0) + 1
    return used, left_out


def _mixed(rows: Iterable[CsvRow]) -> list[Fault]:
    """One table is for one battery, version, input and device class."""
    faults, first = [], next(iter(rows), None)
    for column in ONE_OF_A_KIND if first is not None else ():
        other = next((row for row in rows if first and row.cells[column] != first.cells[column]), None)
        if other is not None and first is not None:
            faults.append(Fault("sample", other.number, column,
                                f"must be {first.text(column)} as in row {first.number}", other.text(column)))
    return faults


def _plain(row: CsvRow, column: str) -> str | int:
    value = row.cells[column]
    return value if isinstance(value, int) else row.text(column)


def _line(row: CsvRow) -> Line:
    return Line(row.number, row.text("person"), int(row.number_of("visit")), row.text("purpose"),
                row.number_of("age_years"), row.number_of("day"), int(row.number_of("earlier_visits")),
                row.text("measure"), row.number_of("value"), row.number_of("scaled"),
                row.optional_number("trial_variance"), int(row.number_of("n_trials")))
