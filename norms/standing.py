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
from typing import Any

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
    row = find_row(table, measure, value, asker)
    if isinstance(row, Refusal):
        return row
    known, years = table.measure_by_name[measure], age_of(asker).years
    neighbours = _neighbours(table, known, row, value, years)
    warnings = (*_warnings(table, row, asker, enough_trials), *_at_an_end(known, value),
                *(["near_band_edge"] if neighbours else []))
    return Standing(**_place(table, known, row, value), unit=known.unit, n=row.n, age_years=years,
                    row=row, neighbours=neighbours, warnings=warnings)


def howell_t(z: npt.ArrayLike, n_mean: npt.ArrayLike) -> Floats:
    """t = z / sqrt(1 + 1/n), with n - 1 (or df_sd) degrees of freedom (Crawford & Howell 1998).

    >>> round(float(howell_t(-2, 15)), 3)
    -1.936
    """
    return np.asarray(z, float) / np.sqrt(1 + 1 / np.asarray(n_mean, float))


def star(z: npt.ArrayLike, n_mean: npt.ArrayLike, df_sd: npt.ArrayLike) -> Floats:
    """z_star: the normal deviate of the percentile that t gives; both tails to full precision.

    >>> round(float(star(-2, 50, 49)), 4)
    -1.9325
    """
    from scipy.special import ndtri, stdtr
    t = howell_t(z, n_mean)
    return np.copysign(ndtri(stdtr(df_sd, -np.abs(t))), t)


def percentile_of(z_star: npt.ArrayLike) -> Floats:
    """100 Phi(z_star)."""
    from scipy.special import ndtr
    return np.asarray(100 * ndtr(z_star))


def z_interval(z: npt.ArrayLike, n_mean: npt.ArrayLike, df_sd: npt.ArrayLike) -> tuple[Floats, Floats]:
    """95 % interval of z: d / sqrt(n) with P(nct(df, d) <= z sqrt(n)) = .975, .025.

    Crawford & Garthwaite (2002). It holds the error of the reference sample only.

    >>> low, high = z_interval(-2, 50, 49)
    >>> round(float(low), 3), round(float(high), 3)
    (-2.479, -1.514)
    """
    from scipy.special import nctdtrinc
    root = np.sqrt(np.asarray(n_mean, float))
    t = np.asarray(z, float) * root
    return nctdtrinc(df_sd, 0.975, t) / root, nctdtrinc(df_sd, 0.025, t) / root


def standard_score(z_star: float) -> int:
    """100 + 15 z_star, rounded half away from zero.

    >>> standard_score(-41 / 30), standard_score(-0.7)
    (80, 90)
    """
    exact = round(100 + 15 * z_star, 9)
    return floor(exact + 0.5) if exact >= 0 else -floor(0.5 - exact)


def label_row(score: int) -> LabelRow:
    """The row of the uniform labels in which a standard score lies."""
    return next(row for row in LABEL_ROWS if row.score_from <= score <= row.score_to)


def label_of(measure: Measure, score: int, further_ahead: bool = False) -> str | None:
    """Published label; none for a lag further ahead than most; measures that are not normal stop at
    the middle; a measure without a better direction has none."""
    if further_ahead or measure.better == "neither":
        return None
    if measure.score in SCORES_NOT_NORMAL and score >= 90:
        return NOT_NORMAL_LABEL
    return label_row(score).label


def printed_percentile(found: Standing) -> PrintedPercentile:
    """Whole percentile inside the label's range; below 1 and above 99 one decimal; then <0.1, >99.9."""
    row = label_row(found.standard_score)
    return _printed(found.percentile, row.percentile_from, row.percentile_to)


def printed_bound(percentile: float) -> PrintedPercentile:
    """The same for an end of an interval, which has no label to stay inside."""
    return _printed(percentile, 0, 100)


def _printed(percentile: float, lowest: int, highest: int) -> PrintedPercentile:
    tenths = floor(10 * percentile + 0.5) / 10
    if tenths < 0.1:
        return PrintedPercentile("<", 0.1, 1)
    if tenths > 99.9:
        return PrintedPercentile(">", 99.9, 1)
    if tenths < 1 or tenths > 99:
        return PrintedPercentile("", tenths, 1)
    return PrintedPercentile("", float(min(max(floor(percentile + 0.5), lowest), highest)), 0)


def _place(table: Table, measure: Measure, row: Row, value: float) -> dict[str, Any]:
    n_mean, df_sd = row.n_of_mean, row.df_of_sd
    z = float(performance_z(table, measure, row, value))
    z_star = float(star(z, n_mean, df_sd))
    low, high = (float(end) for end in z_interval(z, n_mean, df_sd))
    score = standard_score(z_star)
    ahead = measure.score == "lag" and value < 0 and z_star >= FURTHER_AHEAD_Z
    return {"measure": measure.name, "value": value, "scaled": float(scaled_value(table, measure, value)),
            "z": z, "t_n": float(howell_t(z, n_mean)), "percentile": float(percentile_of(z_star)),
            "interval_95": (float(percentile_of(low)), float(percentile_of(high))),
            "z_star": z_star, "z_interval_95": (low, high), "standard_score": score,
            "label": label_of(measure, score, ahead), "further_ahead": ahead,
            "usual_range": usual_range(table, measure, row), "n_mean": n_mean, "df_sd": df_sd}


def usual_range(table: Table, measure: Measure, row: Row) -> tuple[float, float]:
    """The values between percentile 10 and 90 of the row: mean -+ t(.90, df_sd) sd sqrt(1 + 1/n_mean)."""
    from scipy.special import stdtrit
    reach = float(stdtrit(row.df_of_sd, 0.90)) * np.sqrt(1 + 1 / row.n_of_mean)
    ends = value_at(table, measure, row, np.array([-reach, reach]))
    return float(ends.min()), float(ends.max())


def _neighbours(table: Table, measure: Measure, row: Row, value: float,
                years: float) -> tuple[Neighbour, ...]:
    if table.age_method != "bands":
        return ()
    near = (row.age_to - row.age_from) / 10
    beside = [other for other in table.rows_of_measure[measure.name]
              if (other.sex, other.device_class) == (row.sex, row.device_class)
              and ((other.age_to == row.age_from and years - row.age_from < near)
                   or (other.age_from == row.age_to and row.age_to - years <= near))]
    return tuple(_neighbour(table, measure, other, value) for other in beside)


def _neighbour(table: Table, measure: Measure, row: Row, value: float) -> Neighbour:
    place = _place(table, measure, row, value)
    return Neighbour(row.age_from, row.age_to, row.n, place["percentile"], place["standard_score"],
                     place["label"])


def _warnings(table: Table, row: Row, asker: Sitting | ByHand, enough_trials: bool) -> tuple[str, ...]:
    language = asker.language if isinstance(asker, Sitting) else None
    stated = {"synthetic": table.status == "synthetic", "small_n": row.n_of_mean < table.warn_n,
              "language_not_listed": language is not None and language not in table.languages,
              "one_trial_only": not enough_trials}
    return tuple(code for code, holds in stated.items() if holds)


def _at_an_end(measure: Measure, value: float) -> tuple[str, ...]:
    if measure.scale != "logit":
        return ()
    return {0.0: ("lowest_value",), measure.whole: ("highest_value",)}.get(value, ())
