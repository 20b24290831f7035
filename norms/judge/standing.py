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
from typing import NamedTuple

import numpy as np

from norms.judge.labels import (
    LOW_STANDARD_SCORE,
    PrintedPercentile,
    label_of,
    printed_in_label,
    standard_score,
)
from norms.judge.lookup import ByHand, Sitting, age_of, find_row, statement_for
from norms.judge.single_case import FURTHEST_Z, howell_t, percentile_of, t_score, z_interval, z_star_of
from norms.table import percentiles
from norms.table.distributions import normal_point, t_point
from norms.table.reasons import Refusal
from norms.table.table import Measure, Row, Table, performance_z, scaled_value, value_at

FURTHER_AHEAD_Z = 1.30
TENTH_Z = 1.2815515655446004


@dataclass(frozen=True)
class Neighbour:
    """What the next age band would answer, for an age within a tenth of its band of the edge."""

    age_from: float
    age_to: float
    n: int
    percentile: float
    standard_score: int
    label: str | None
    beyond: int = 0


@dataclass(frozen=True)
class Standing:
    """Where a score falls. `t_n` is the t of Crawford & Howell; `label` None = no label is given.

    `further_ahead`: a lag ahead of the disc and further so than most, which is not called high.
    `usual_range`: 80 of 100 people of the row, in the unit, lower number first.
    By percentile columns `z` and `t_n` are z_star, and `beyond` is -1 below percentile 2, +1 above 98, where
    `percentile` and z_star are those ends and an end of the intervals is open.
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
    by_percentiles: bool = False
    beyond: int = 0

    @property
    def low(self) -> bool:
        return self.standard_score <= LOW_STANDARD_SCORE

    @property
    def t_score(self) -> float:
        """50 + 10 z_star, not rounded; below 50 = poorer. `t_n` is a test statistic, not this."""
        return float(t_score(self.z_star))


def standing(table: Table, measure: str, value: float, context: Sitting | ByHand,
             enough_trials: bool = True) -> Standing | Refusal:
    """Standing of a value (in the unit) for a visit or a number by hand, or why there is none."""
    row = find_row(table, measure, value, context)
    if isinstance(row, Refusal):
        return row
    known, years = table.measure_by_name[measure], age_of(context).years
    neighbours = _neighbours(table, known, row, value, years)
    warnings = (*_warnings(table, row, context, enough_trials), *_at_an_end(known, value),
                *(["near_band_edge"] if neighbours else []))
    place = _place(table, known, row, value)
    return Standing(
        measure=measure, unit=known.unit, value=value, scaled=float(scaled_value(table, known, value)),
        z=place.z, t_n=place.t_n, percentile=place.percentile, interval_95=place.interval,
        z_star=place.z_star, z_interval_95=place.z_interval, standard_score=place.score,
        label=place.label(table, known, value), further_ahead=place.further_ahead(known, value),
        usual_range=usual_range(table, known, row), n=row.n, n_mean=row.n_of_mean, df_sd=row.df_of_sd,
        age_years=years, row=row, neighbours=neighbours, warnings=warnings,
        by_percentiles=table.by_percentiles(measure), beyond=place.beyond)


def printed_percentile(found: Standing | Neighbour) -> PrintedPercentile:
    """Whole percentile inside the label's range; below 1 and above 99 one decimal; then <0.1, >99.9;
    beyond percentile columns <2 and >98."""
    if found.beyond:
        return PrintedPercentile("<", 2.0, 0) if found.beyond < 0 else PrintedPercentile(">", 98.0, 0)
    return printed_in_label(found.percentile, found.standard_score)


class _Place(NamedTuple):
    """The fields of a standing that follow from the value and its row alone; `interval` in percentiles."""

    z: float
    t_n: float
    z_star: float
    percentile: float
    z_interval: tuple[float, float]
    interval: tuple[float, float]
    beyond: int = 0

    @property
    def score(self) -> int:
        return standard_score(self.z_star)

    def further_ahead(self, measure: Measure, value: float) -> bool:
        return measure.score == "lag" and value < 0 and self.z_star >= FURTHER_AHEAD_Z

    def label(self, table: Table, measure: Measure, value: float) -> str | None:
        return label_of(measure, self.score, self.further_ahead(measure, value),
                        table.by_percentiles(measure.name))


def _place(table: Table, measure: Measure, row: Row, value: float) -> _Place:
    return (_by_percentiles if table.by_percentiles(measure.name) else _by_scale)(table, measure, row, value)


def _by_scale(table: Table, measure: Measure, row: Row, value: float) -> _Place:
    n_mean, df_sd = row.n_of_mean, row.df_of_sd
    z = float(performance_z(table, measure, row, value))
    star = float(z_star_of(z, n_mean, df_sd))
    low, high = (float(end) for end in z_interval(z, n_mean, df_sd))
    return _Place(z, float(howell_t(z, n_mean)), star, float(percentile_of(star)), (low, high),
                  (float(percentile_of(low)), float(percentile_of(high))))


def _by_percentiles(table: Table, measure: Measure, row: Row, value: float) -> _Place:
    """z_star is that of the interpolated percentile, its interval Jeffreys' for the row's n."""
    star = float(performance_z(table, measure, row, value))
    percentile = float(percentile_of(star))
    beyond = measure.sign * percentiles.beyond(row.levels, value)
    low, high = percentiles.jeffreys(percentile / 100, row.n_of_mean)
    ends = (0.0 if beyond < 0 else 100 * low, 100.0 if beyond > 0 else 100 * high)
    z_low, z_high = (float(np.clip(normal_point(end / 100), -FURTHEST_Z, FURTHEST_Z)) for end in ends)
    return _Place(star, star, star, percentile, (z_low, z_high), ends, beyond)


def usual_range(table: Table, measure: Measure, row: Row) -> tuple[float, float]:
    """The values between percentile 10 and 90 of the row: mean -+ t(.90, df_sd) sd sqrt(1 + 1/n_mean)."""
    reach = (TENTH_Z if table.by_percentiles(measure.name)
             else t_point(0.90, row.df_of_sd) * np.sqrt(1 + 1 / row.n_of_mean))
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
    return Neighbour(row.age_from, row.age_to, row.n, place.percentile, place.score,
                     place.label(table, measure, value), place.beyond)


def _warnings(table: Table, row: Row, context: Sitting | ByHand, enough_trials: bool) -> tuple[str, ...]:
    language = context.language if isinstance(context, Sitting) else None
    stated = {"synthetic": table.status == "synthetic", "small_n": row.n_of_mean < table.warn_n,
              "language_not_listed": language is not None and language not in table.languages,
              "one_trial_only": not enough_trials,
              "carried_over": statement_for(table, row.measure, context) is not None}
    return tuple(code for code, holds in stated.items() if holds)


def _at_an_end(measure: Measure, value: float) -> tuple[str, ...]:
    if measure.scale != "logit" and measure.unit != "%":
        return ()
    return {0.0: ("lowest_value",), measure.whole: ("highest_value",)}.get(value, ())
