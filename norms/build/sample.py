"""The sample file from which a table is built: one line per person, visit and measure.

person            code of the person (no name)
visit             1, 2, ... in order of time
purpose           reference (the first such visit fills the age curves) or retest (with the visit before it it
                  makes a pair of the retest study); lines of any other purpose are left out and counted
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
scaled            the same on the measure's scale: mean of the block's trials; it must be what value gives
trial_variance    sample variance of the block's trials on the scale; empty for one trial
n_trials          trials behind the value
education_years   may be left out as a column; empty where not asked

A file of a million lines is read line by line into arrays; nothing of it stays as text.
"""

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import BinaryIO, NamedTuple

import numpy as np
import numpy.typing as npt

from norms.build.sample_lines import Columns, LineFaults, read_columns
from norms.build.sample_rules import left_out, line_faults, person_faults
from norms.table.datapackage import MOST
from norms.table.reasons import TableFaults
from norms.table.scale import LARGEST, Floats
from norms.table.schema import DEVICE_CLASS, Column, CsvFile

Progress = Callable[[str, int, int], None]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

SEXES = ("female", "male", "other", "not_asked")
SAMPLE = CsvFile(
    "sample",
    (
        Column("person", "string"),
        Column("visit", "integer", minimum=1, maximum=99),
        Column("purpose", "string", pattern="[a-z_]+"),
        Column("research_use", "string", enum=("yes", "no", "not_asked")),
        Column("age_years", "number", minimum=0, below=120),
        Column("sex", "string", enum=SEXES),
        Column("device_class", "string", pattern=DEVICE_CLASS),
        Column("input", "string", enum=("finger", "stylus", "mouse")),
        Column("day", "number", minimum=0, maximum=100_000),
        Column("earlier_visits", "integer", minimum=0, maximum=10_000),
        Column("battery", "string"),
        Column("battery_version", "integer", minimum=1, maximum=MOST),
        Column("scoring_version", "integer", minimum=1, maximum=MOST),
        Column("measure", "string", pattern=r"[a-z]+\.(preferred|other|both)\.[a-z][a-z0-9_]*"),
        Column("value", "number", minimum=-LARGEST, maximum=LARGEST),
        Column("scaled", "number", minimum=-LARGEST, maximum=LARGEST),
        Column("trial_variance", "number", required=False, minimum=0, maximum=LARGEST),
        Column("n_trials", "integer", minimum=1, maximum=10_000),
    ),
    ("person", "visit", "measure"),
    (Column("education_years", "number", required=False, minimum=0, maximum=40),),
)

ONE_OF_A_KIND = ("battery", "battery_version", "scoring_version", "input", "device_class")


class People(NamedTuple):
    """One measure's lines of the people behind a curve: which line each is, and what is known of them."""

    line: Ints
    age_years: Floats
    scaled: Floats
    value: Floats
    sex: Ints
    education_years: Floats

    def of(self, which: Bools) -> "People":
        return People(self.line[which], self.age_years[which], self.scaled[which], self.value[which],
                      self.sex[which], self.education_years[which])


@dataclass(frozen=True, eq=False)
class Sample:
    """The lines of a file that count, as arrays of shape (n_lines,); NaN = not known.

    row: the line's number in the file. person, measure and sex are places in `persons`, `measures`, SEXES.
    common: what all lines share.
    left_out: lines by the reason why they do not count. again: lines of purpose retest.
    """

    file: str
    row: Ints
    persons: tuple[str, ...]
    measures: tuple[str, ...]
    person: Ints
    visit: Ints
    measure: Ints
    again: Bools
    sex: Ints
    age_years: Floats
    day: Floats
    earlier_visits: Ints
    value: Floats
    scaled: Floats
    trial_variance: Floats
    n_trials: Ints
    education_years: Floats
    common: Mapping[str, str | int]
    left_out: Mapping[str, int]

    def lines_of(self, measure: str, again: bool | None = None) -> Ints:
        """Places of a measure's lines, of one purpose or of both."""
        place = self.measures.index(measure) if measure in self.measures else -1
        wanted = self.measure == place
        return np.flatnonzero(wanted if again is None else wanted & (self.again == again))

    def people(self, measure: str) -> People:
        """The reference people of a measure."""
        line = self.lines_of(measure, again=False)
        return People(line, self.age_years[line], self.scaled[line], self.value[line], self.sex[line],
                      self.education_years[line])


def read_sample(
    name: str, data: bytes | BinaryIO, device_class: str | None = None, progress: Progress | None = None
) -> Sample:
    """Read a sample file; raises TableFaults with all that is wrong.

    With a device class the lines of others are left out and counted; without, two of them are a fault.
    """
    faults = LineFaults(name)
    stream = io.BytesIO(data) if isinstance(data, bytes) else data
    columns = read_columns(SAMPLE, stream, faults, progress)
    if columns is None or faults.told():
        raise TableFaults(faults.told())
    counted, keep = left_out(columns, device_class)
    columns = columns.of(keep)
    line_faults(columns, ONE_OF_A_KIND, faults)
    person_faults(columns, faults)
    if faults.told():
        raise TableFaults(faults.told())
    return _sample(name, columns, counted)


def _sample(file: str, columns: Columns, counted: Mapping[str, int]) -> Sample:
    names, measure = columns.named("measure")
    persons, person = columns.named("person")
    purposes, purpose = columns.named("purpose")
    sexes, sex = columns.named("sex")
    return Sample(
        file,
        columns.row,
        persons,
        names,
        person,
        columns.whole("visit"),
        measure,
        np.array([one == "retest" for one in purposes])[purpose],
        np.array([SEXES.index(one) for one in sexes])[sex],
        columns.number("age_years"),
        columns.number("day"),
        columns.whole("earlier_visits"),
        columns.number("value"),
        columns.number("scaled"),
        columns.number("trial_variance"),
        columns.whole("n_trials"),
        columns.number("education_years"),
        {column: columns.first(column) for column in ONE_OF_A_KIND},
        counted,
    )
