"""Where one score falls in its reference group.

z (below 0 = poorer) is placed by the t of Crawford & Howell with the interval of Crawford & Garthwaite;
z_star is the normal deviate of that percentile, exactly standard normal over tables and people. The
standard score 100 + 15 z_star, rounded half away from zero, decides the label; the printed whole
percentile stays inside the label's published range. Percentiles run 0-100 and are not rounded here.

References
----------
Crawford JR, Howell DC (1998), The Clinical Neuropsychologist 12:482-486.
Crawford JR, Garthwaite PH (2002), Neuropsychologia 40:1196-1208.
Guilmette TJ et al. (2020), The Clinical Neuropsychologist 34:437-453, doi 10.1080/13854046.2020.1722244.
"""

from dataclasses import dataclass
from math import floor

import numpy as np
import numpy.typing as npt

from norms.lookup import ByHand, Sitting, age_of, find_row
from norms.reasons import Refusal
from norms.scale import Floats
from norms.table import Measure, Row, Table, performance_z, scaled_value, value_at

LOW_STANDARD_SCORE = 79
FURTHER_AHEAD_Z = 1.30
SCORES_NOT_NORMAL = ("time_on_target", "follow")


@dataclass(frozen=True)
class LabelRow:
    """One row of the uniform labels: standard scores and whole percentiles from, to (inclusive)."""

    label: str
    score_from: float
    score_to: float
    percentile_from: int
    percentile_to: int


LABEL_ROWS = (
    LabelRow("Exceptionally low", float("-inf"), 69, 0, 1),
    LabelRow("Below average", 70, 79, 2, 8),
    LabelRow("Low average", 80, 89, 9, 24),
    LabelRow("Average", 90, 109, 25, 74),
    LabelRow("High average", 110, 119, 75, 90),
    LabelRow("Above average", 120, 129, 91, 97),
    LabelRow("Exceptionally high", 130, float("inf"), 98, 100),
)
NOT_NORMAL_LABEL = "Within normal limits"
LABELS = (*(row.label for row in LABEL_ROWS), NOT_NORMAL_LABEL)


@dataclass(frozen=True)
class Neighbour:
    """What the next age band would answer, for an age within a tenth of its band of the edge."""

    age_from: float
    age_to: float
    n: int
    percentile: float
    standard_score: int
    label: str | None


@dataclass(frozen=True)
class Standing:
    """Where a score falls. `t_n` is the t of Crawford & Howell; `label` None = no label is given.

    `further_ahead`: a lag ahead of the disc and further so than most, which is not called high.
    `usual_range`: 80 of 100 people of the row, in the unit, lower number first.
    """

    measure: str
    unit: str
    value: float
    scaled: float
    z: float
    t_n: float
    percentile: float
    interval_95: tuple[float, float]
    z_star: float
    z_interval_95: tuple[float, float]
    standard_score: int
    label: str | None
    further_ahead: bool
    usual_range: tuple[float, float]
    n: int
    n_mean: float
    df_sd: float
    age_years: float
    row: Row
    neighbours: tuple[Neighbour, ...]
    warnings: tuple[str, ...]

    @property
    def low(self) -> bool:
        return self.standard_score <= LOW_STANDARD_SCORE


@dataclass(frozen=True)
class PrintedPercentile:
    """A percentile as printed: `sign` is "", "<" or ">", `number` has `decimals` places."""

    sign: str
    number: float
    decimals: int


def standing(table: Table, measure: str, value: float, asker: Sitting | ByHand,
             enough_trials: bool = True) -> Standing | Refusal:
    """Standing of a value (in the unit) for a visit or a number by hand, or why there is none."""
    raise NotImplementedError


def printed_percentile(found: Standing) -> PrintedPercentile:
    """Whole percentile inside the label's range; below 1 and above 99 one decimal; then <0.1, >99.9."""
    raise NotImplementedError


def printed_bound(percentile: float) -> PrintedPercentile:
    """The same for an end of an interval, which has no label to stay inside."""
    raise NotImplementedError
