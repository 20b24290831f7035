"""A reference table in memory: measures, rows by age, retest study, correlations, where it comes from.

Everything is frozen. `mean` and `sd` stand on the measure's scale (M and S for lms); ages are years,
rows half-open [age_from, age_to). z is in the direction of performance: below 0 = poorer; a measure
whose `better` is neither keeps the plain sign. The numbers of retest rows are on that z.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from norms.table.percentiles import value_of_z, z_of_value
from norms.table.scale import Floats, from_scale, lms_value, lms_z, to_scale

if TYPE_CHECKING:
    from norms.table.bridging_statement import Statement

PRIMARY_MEASURES = (
    "steady.preferred.scatter", "brisk.preferred.scatter", "circles.preferred.lag",
    "wander.preferred.delay", "wander.preferred.scatter", "steady.other.scatter",
)
STATED = ("population", "country", "setting", "sampling", "exclusions")
STATED_OF_RETEST = ("people", "interval", "blinding")
NOT_STATED = "not stated"
AS_NOT_STATED = (NOT_STATED, "unknown", "not known", "n/a", "-", "?")
FOLLOW_LOOKS = 20.0
LOOK_S = 0.5


@dataclass(frozen=True)
class Measure:
    """What a measure is; `trial_sd` = pooled SD between trials of one block, on the scale, or None."""

    name: str
    unit: str
    better: str
    scale: str
    decimals: int
    trial_sd: float | None = None

    @property
    def block(self) -> str:
        return self.name.split(".")[0]

    @property
    def score(self) -> str:
        return self.name.split(".")[-1]

    @property
    def sign(self) -> int:
        """+1, or -1 where lower is better."""
        return -1 if self.better == "lower" else 1

    @property
    def whole(self) -> float:
        return 100.0 if self.unit == "%" else 1.0


@dataclass(frozen=True)
class Row:
    """One age row. `n_mean` and `df_sd` say as how many people it is good (None for bands: n, n - 1)."""

    measure: str
    sex: str
    device_class: str
    age_from: float
    age_to: float
    n: int
    n_mean: float | None
    df_sd: float | None
    lms_l: float | None
    mean: float
    sd: float
    percentiles: tuple[float, ...] | None = None

    @property
    def n_of_mean(self) -> float:
        return float(self.n) if self.n_mean is None else self.n_mean

    @property
    def df_of_sd(self) -> float:
        return self.n - 1.0 if self.df_sd is None else self.df_sd

    @property
    def levels(self) -> tuple[float, ...]:
        """The percentile columns of a row that has them."""
        if self.percentiles is None:
            raise ValueError(f"percentile columns, required where a measure uses them, {self.measure}")
        return self.percentiles

    def covers(self, age_years: float) -> bool:
        return self.age_from <= age_years < self.age_to


@dataclass(frozen=True)
class RetestRow:
    """A retest study of one measure, on z of this very table; days between the visits of a pair."""

    measure: str
    sex: str
    device_class: str
    n: int
    r: float
    mean_1: float
    sd_1: float
    mean_2: float
    sd_2: float
    days_min: float
    days_median: float
    days_max: float
    earlier_visits: int


@dataclass(frozen=True)
class Correlation:
    """Correlation of two measures: z at one `visit`, or the `change` from first to second visit."""

    kind: str
    measure_1: str
    measure_2: str
    device_class: str
    n: int
    r: float


@dataclass(frozen=True, eq=False)
class Table:
    """A reference table; `sha256` is that of its datapackage.json, which holds those of its files."""

    sha256: str
    name: str
    title: str
    version: str
    status: str
    battery: str
    battery_version: int
    scoring_version: int
    comparison_version: int
    window_s: Mapping[str, float]
    input: str
    tested_from: str
    tested_to: str
    expires: date | None
    languages: tuple[str, ...]
    age_method: str
    floor_n: int
    warn_n: int
    measures_use: Mapping[str, str]
    about: Mapping[str, object]
    measures: tuple[Measure, ...]
    rows: tuple[Row, ...]
    retest: tuple[RetestRow, ...] = ()
    correlations: tuple[Correlation, ...] = field(default=())
    carried_over: tuple["Statement", ...] = field(default=())

    @cached_property
    def measure_by_name(self) -> Mapping[str, Measure]:
        return {measure.name: measure for measure in self.measures}

    @cached_property
    def rows_of_measure(self) -> Mapping[str, tuple[Row, ...]]:
        rows: dict[str, tuple[Row, ...]] = {}
        for row in self.rows:
            rows[row.measure] = (*rows.get(row.measure, ()), row)
        return rows

    @cached_property
    def not_stated(self) -> tuple[str, ...]:
        """What a table does not say: who was tested, and how its retest study was made.

        `retest_people`: known to be stable between the visits; `retest_interval`: why so long apart;
        `retest_blinding`: whether staff knew the first score. Simulated people have no design to state.
        """
        untold = tuple(name for name in STATED if _untold(self.about.get(name)))
        if not self.retest or self.status == "synthetic":
            return untold
        design = self.about.get("retest_design")
        said = design if isinstance(design, dict) else {}
        return untold + tuple(f"retest_{name}" for name in STATED_OF_RETEST if _untold(said.get(name)))

    def by_percentiles(self, measure: str) -> bool:
        """Whether a measure is read by its percentile columns, not by mean and SD."""
        return self.measures_use.get(measure) == "percentiles"

    def looks(self, measure: Measure) -> float:
        """N of the logit: window / 0.5 s, or 20 for follow; 1 where the scale needs none."""
        return looks_of(measure, self.window_s)


def looks_of(measure: Measure, window_s: Mapping[str, float]) -> float:
    """N of the logit from the length of each block's window (s); KeyError where a block has none."""
    if measure.scale != "logit":
        return 1.0
    return FOLLOW_LOOKS if measure.score == "follow" else window_s[measure.block] / LOOK_S


def _untold(said: object) -> bool:
    return not isinstance(said, str) or said.strip().lower() in (*AS_NOT_STATED, "")


def scaled_value(table: Table, measure: Measure, value: npt.ArrayLike) -> Floats:
    """Value in the unit -> on the scale; NaN outside the scale."""
    return to_scale(value, measure.scale, table.looks(measure), measure.whole)


def unscaled_value(table: Table, measure: Measure, scaled: npt.ArrayLike) -> Floats:
    """On the scale -> value in the unit."""
    return from_scale(scaled, measure.scale, table.looks(measure), measure.whole)


def performance_z(table: Table, measure: Measure, row: Row, value: npt.ArrayLike) -> Floats:
    """z of a value by a row, below 0 = poorer; by percentile columns that of the percentile."""
    if table.by_percentiles(measure.name):
        return measure.sign * z_of_value(row.levels, scaled_value(table, measure, value))
    if measure.scale == "lms":
        return measure.sign * lms_z(value, _l(row), row.mean, row.sd)
    return measure.sign * (scaled_value(table, measure, value) - row.mean) / row.sd


def value_at(table: Table, measure: Measure, row: Row, z: npt.ArrayLike) -> Floats:
    """Value in the unit at a performance z of a row."""
    plain = measure.sign * np.asarray(z, float)
    if table.by_percentiles(measure.name):
        return value_of_z(row.levels, plain)
    if measure.scale == "lms":
        return lms_value(plain, _l(row), row.mean, row.sd)
    return unscaled_value(table, measure, row.mean + row.sd * plain)


def _l(row: Row) -> float:
    if row.lms_l is None:
        raise ValueError(f"l, required for a measure on the lms scale, {row.measure}")
    return row.lms_l
