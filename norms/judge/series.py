"""Three or more visits of one person: each against the mean of all before it, and the slope of all.

Limits are those of the joint rule, widened so that all comparisons of the chart together raise a false
alarm in 10 of 100 unchanged people at most, whether all visits correlate alike or less the further apart. A
visit outside them is marked in the chart; the word reliable belongs to the chosen pair alone
(norms/judge/change.py). The limits of earlier visits are taken anew each time: what was printed is never
judged again.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from norms.judge.comparability import (
    Occasion,
    beyond_columns,
    comparable,
    earlier_row,
    outside_study,
    study_row,
    too_small,
    trials_missing,
)
from norms.judge.joint_rule import outside, study_of
from norms.judge.lookup import find_row, outside_scale
from norms.judge.series_rule import comparison_limits, compound_symmetry, slope, widened_level
from norms.table.distributions import t_point
from norms.table.reasons import Refusal
from norms.table.table import Measure, RetestRow, Row, Table, performance_z, value_at

LEAST_VISITS = 3
LEAST_FOR_SLOPE = 4
DAYS_IN_A_YEAR = 365.25
SMALL_STUDY_N = 50
SIDES = {-1: "below", 0: "inside", 1: "above"}


@dataclass(frozen=True)
class Comparison:
    """One visit against the mean of the `n_before` visits before it; z and limits by this visit's row.

    `side`: below the limits (poorer), inside, above (better). `limits_value`: in the unit, lower first.
    """

    visit: str | None
    days: float
    z: float
    mean_before: float
    n_before: int
    expected: float
    expected_value: float
    limits: tuple[float, float]
    limits_value: tuple[float, float]
    side: str
    row: Row


@dataclass(frozen=True)
class Slope:
    """Straight line through all visits, practice gain taken off: z a year, below 0 = getting poorer.

    `se` is the larger of those under compound symmetry and AR(1).
    """

    z_per_year: float
    se: float
    interval_95: tuple[float, float]
    visits: int


@dataclass(frozen=True)
class Series:
    """The visits of one measure. `comparisons` has one entry a visit after the first, a refusal where that
    visit is not judged; `n_comparisons` of them are, each at `level`. `slope` is None below four visits and
    where the visits have no row in common."""

    measure: str
    unit: str
    n_comparisons: int
    level: float
    comparisons: tuple[Comparison | Refusal, ...]
    slope: Slope | None
    study: RetestRow
    earlier_visits: int
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class _VisitsSoFar:
    """The visits up to and with one of them, with the z of each by the rows that fit that one."""

    table: Table
    occasions: Sequence[Occasion]
    days: Sequence[float]
    row: Row
    z: tuple[float, ...]


def series(table: Table, measure: str, occasions: Sequence[Occasion], days: Sequence[float],
           earlier_visits: int = 0) -> Series | Refusal:
    """Judge a series; `days` of each visit since the first, rising; `earlier_visits` before the first."""
    if len(occasions) < LEAST_VISITS:
        return Refusal("too_few_visits", {"measure": measure, "visits": len(occasions),
                                          "needed": LEAST_VISITS})
    last = find_row(table, measure, occasions[-1].value, occasions[-1].context)
    if isinstance(last, Refusal):
        return last
    refusal = _not_one_kind(table, measure, occasions, days)
    study = study_row(table, last, occasions[-1].context.sex, earlier_visits)
    if isinstance(study, Refusal):
        return refusal or study
    return refusal or too_small(study) or _judged(table, occasions, days, study, earlier_visits)


def _not_one_kind(table: Table, measure: str, occasions: Sequence[Occasion],
                  days: Sequence[float]) -> Refusal | None:
    known, last = table.measure_by_name[measure], occasions[-1]
    steps = np.diff(np.asarray(days, float))
    for before, step in zip(occasions[:-1], steps, strict=True):
        refusal = _unlike(table, known, before, last, float(step))
        if refusal is not None:
            return refusal
    return None


def _unlike(table: Table, known: Measure, before: Occasion, last: Occasion, step: float) -> Refusal | None:
    return comparable(table, known, before, last, step) or outside_scale(table, known, before.value)


def _judged(table: Table, occasions: Sequence[Occasion], days: Sequence[float], study: RetestRow,
            earlier_visits: int) -> Series:
    runs = [_run(table, study, occasions[:count], days[:count]) for count in range(2, len(occasions) + 1)]
    judged = sum(isinstance(run, _VisitsSoFar) for run in runs)
    level = widened_level(max(judged, 1))
    bracket = study.earlier_visits < earlier_visits
    measure = table.measure_by_name[study.measure]
    return Series(
        measure=measure.name, unit=measure.unit, n_comparisons=judged, level=level,
        comparisons=tuple(_comparison(run, study, level, bracket) if isinstance(run, _VisitsSoFar) else run
                          for run in runs),
        slope=_slope(table, study, occasions, days), study=study, earlier_visits=earlier_visits,
        warnings=_warnings(table, study, bracket))


def _run(table: Table, study: RetestRow, occasions: Sequence[Occasion],
         days: Sequence[float]) -> _VisitsSoFar | Refusal:
    """The visits as the last of them reads them, or why that visit is not judged."""
    refusal = (outside_study(study, days[-1] - days[-2]) or trials_missing(study.measure, *occasions))
    return refusal or _read(table, study.measure, occasions, days)


def _read(table: Table, measure: str, occasions: Sequence[Occasion],
          days: Sequence[float]) -> _VisitsSoFar | Refusal:
    row = find_row(table, measure, occasions[-1].value, occasions[-1].context)
    if isinstance(row, Refusal):
        return row
    z = []
    for occasion, day in zip(occasions, days, strict=True):
        own = row if day == days[-1] else earlier_row(table, row, occasion, days[-1] - day)
        if isinstance(own, Refusal):
            return own
        unknown = beyond_columns(table, own, occasion.value)
        if unknown is not None:
            return unknown
        z.append(float(performance_z(table, table.measure_by_name[measure], own, occasion.value)))
    return _VisitsSoFar(table, occasions, days, row, tuple(z))


def _comparison(run: _VisitsSoFar, study: RetestRow, level: float, bracket: bool) -> Comparison:
    before, now = np.array(run.z[:-1]), run.z[-1]
    limits = comparison_limits(before, study_of(study), level, bracket)
    low, high, expected = float(limits.lower), float(limits.upper), float(limits.expected)
    measure = run.table.measure_by_name[study.measure]
    ends = value_at(run.table, measure, run.row, np.array([low, high, expected]))
    return Comparison(
        visit=run.occasions[-1].visit, days=run.days[-1], z=now, mean_before=float(before.mean()),
        n_before=len(before), expected=expected, expected_value=float(ends[2]), limits=(low, high),
        limits_value=(float(ends[:2].min()), float(ends[:2].max())), side=SIDES[int(outside(now, limits))],
        row=run.row)


def _slope(table: Table, study: RetestRow, occasions: Sequence[Occasion],
           days: Sequence[float]) -> Slope | None:
    run = _read(table, study.measure, occasions, days)
    if len(occasions) < LEAST_FOR_SLOPE or isinstance(run, Refusal):
        return None
    gain = np.where(np.arange(len(days)) > 0, study.mean_2 - study.mean_1, 0.0)
    _, r, difference_variance = compound_symmetry(study_of(study))
    years, sem = np.asarray(days) / DAYS_IN_A_YEAR, np.sqrt(difference_variance / 2)
    found, se = (float(part) for part in slope(years, run.z - gain, sem, r))
    reach = float(t_point(0.975, study.n - 1)) * se
    return Slope(found, se, (found - reach, found + reach), len(days))


def _warnings(table: Table, study: RetestRow, bracket: bool) -> tuple[str, ...]:
    stated = {"synthetic": table.status == "synthetic", "small_study": study.n < SMALL_STUDY_N,
              "practice_beyond_study": bracket, "practice_carried": True}
    return tuple(code for code, holds in stated.items() if holds)
