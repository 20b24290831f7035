"""Whether a score has changed by more than chance and practice usually produce.

Everything is on z of the table (age taken out; below 0 = poorer). The expected value is that of the
regression of Crawford & Garthwaite; the limits are those of the joint rule: the lower of the two lower
and the higher of the two upper 90 % limits of that regression (t, n - 2) and of the difference
(SD of differences, t, n - 1). Reliable = outside these limits, so limits, number and word agree.
"""

from dataclasses import dataclass
from typing import NamedTuple

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
from norms.judge.joint_rule import CLASSICAL, difference, joint_limits, outside, regression, study_of
from norms.judge.lookup import Sitting, find_row, outside_scale, statement_for
from norms.table.distributions import t_below
from norms.table.reasons import Refusal
from norms.table.table import Measure, RetestRow, Row, Table, performance_z, value_at

SMALL_STUDY_N = 50
FAR_FROM_STUDY_SD = 3.0


@dataclass(frozen=True)
class Change:
    """A judged change. Limits on z: outside = reliable; `limits_value` in the unit, lower number first.

    `reliable`: worse, better, none, or further_ahead (a lag that became shorter and ended ahead of the
    disc: never called better, never counted). `percent_more_extreme`: of unchanged people with this first
    value, how many in 100 lie further from the expected value on the same side.
    """

    measure: str
    unit: str
    earlier_visit: str | None
    value_before: float
    value_after: float
    z_before: float
    z_after: float
    expected: float
    expected_value: float
    limits: tuple[float, float]
    limits_value: tuple[float, float]
    prediction_sd: float
    t_regression: float
    df_regression: int
    difference_sd: float
    t_difference: float
    df_difference: int
    reliable: str
    percent_more_extreme: float
    days: float
    earlier_visits: int
    study: RetestRow
    row_before: Row
    row_after: Row
    warnings: tuple[str, ...]


def change(table: Table, measure: str, before: Occasion, after: Occasion, days: float,
           earlier_visits: int = 0) -> Change | Refusal:
    """Judge a change; `earlier_visits` = visits of the person before the first of the two."""
    row = find_row(table, measure, after.value, after.context)
    if isinstance(row, Refusal):
        return row
    known = table.measure_by_name[measure]
    refusal = comparable(table, known, before, after, days) or outside_scale(table, known, before.value)
    if refusal is not None:
        return refusal
    row_before = earlier_row(table, row, before, days)
    if isinstance(row_before, Refusal):
        return row_before
    pair = _Pair(known, before, after, row_before, row, days, earlier_visits)
    study = study_row(table, row, after.context.sex, earlier_visits)
    if isinstance(study, Refusal):
        return study
    return _not_judged(table, pair, study) or _judged(table, pair, study)


def classical_indices(found: Change) -> dict[str, float]:
    """The classical indices of the same two z, for comparison: each is read as a normal deviate."""
    study = study_of(found.study)
    return {name: float(index(found.z_before, found.z_after, study)) for name, index in CLASSICAL.items()}


class _Pair(NamedTuple):
    measure: Measure
    before: Occasion
    after: Occasion
    row_before: Row
    row_after: Row
    days: float
    earlier_visits: int

    def z(self, table: Table) -> tuple[float, float]:
        return (float(performance_z(table, self.measure, self.row_before, self.before.value)),
                float(performance_z(table, self.measure, self.row_after, self.after.value)))


def _not_judged(table: Table, pair: _Pair, study: RetestRow) -> Refusal | None:
    """Why a difference is shown without judgement; the two z go with the reason."""
    before = beyond_columns(table, pair.row_before, pair.before.value)
    refusal = (before or beyond_columns(table, pair.row_after, pair.after.value) or too_small(study)
               or trials_missing(pair.measure.name, pair.before, pair.after)
               or outside_study(study, pair.days))
    if refusal is None:
        return None
    z_before, z_after = pair.z(table)
    return Refusal(refusal.code, {**refusal.values, "z_before": z_before, "z_after": z_after})


def _judged(table: Table, pair: _Pair, row: RetestRow) -> Change:
    study, (z_before, z_after) = study_of(row), pair.z(table)
    limits = joint_limits(z_before, study, bracket=row.earlier_visits < pair.earlier_visits)
    low, high = float(limits.lower), float(limits.upper)
    expected, prediction_sd = (float(part) for part in regression(z_before, study))
    centre, difference_sd = (float(part) for part in difference(z_before, study))
    ends = value_at(table, pair.measure, pair.row_after, np.array([low, high, expected]))
    t = (z_after - expected) / prediction_sd
    return Change(
        measure=pair.measure.name, unit=pair.measure.unit, earlier_visit=pair.before.visit,
        value_before=pair.before.value, value_after=pair.after.value, z_before=z_before, z_after=z_after,
        expected=expected, expected_value=float(ends[2]), limits=(low, high),
        limits_value=(float(ends[:2].min()), float(ends[:2].max())), prediction_sd=prediction_sd,
        t_regression=t, df_regression=row.n - 2, difference_sd=difference_sd,
        t_difference=(z_after - centre) / difference_sd, df_difference=row.n - 1,
        reliable=_reliable(pair, int(outside(z_after, limits))), percent_more_extreme=_beyond(t, row.n - 2),
        days=pair.days, earlier_visits=pair.earlier_visits, study=row, row_before=pair.row_before,
        row_after=pair.row_after, warnings=_warnings(table, pair, row, z_before))


def _reliable(pair: _Pair, side: int) -> str:
    word = {-1: "worse", 0: "none", 1: "better"}[side]
    ahead = pair.measure.score == "lag" and pair.after.value < 0
    return "further_ahead" if ahead and word == "better" else word


def _beyond(t: float, df: int) -> float:
    return float(100 * t_below(-abs(t), df))


def _warnings(table: Table, pair: _Pair, row: RetestRow, z_before: float) -> tuple[str, ...]:
    context = pair.after.context
    stated = {"synthetic": table.status == "synthetic",
              "language_not_listed": isinstance(context, Sitting) and context.language not in table.languages,
              "small_n": pair.row_after.n_of_mean < table.warn_n,
              "small_study": row.n < SMALL_STUDY_N,
              "carried_over": any(statement_for(table, row.measure, one.context) is not None
                                  for one in (pair.before, pair.after)),
              "practice_beyond_study": row.earlier_visits < pair.earlier_visits,
              "far_from_study": abs(z_before - row.mean_1) > FAR_FROM_STUDY_SD * row.sd_1}
    return tuple(code for code, holds in stated.items() if holds)
