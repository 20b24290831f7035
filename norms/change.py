"""Whether a score has changed by more than chance and practice usually produce.

Everything is on z of the table (age taken out; below 0 = poorer). The expected value is that of the
regression of Crawford & Garthwaite; the limits are those of the joint rule: the lower of the two lower
and the higher of the two upper 90 % limits of that regression (t, n - 2) and of the difference
(SD of differences, t, n - 1). Reliable = outside these limits, so limits, number and word agree.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from norms.distributions import t_below
from norms.jointrule import difference, joint_limits, outside, regression, study_of
from norms.lookup import ByHand, Sitting, age_of, find_row, latency_missing, outside_scale, row_at
from norms.reasons import Refusal
from norms.table import Measure, RetestRow, Row, Table, performance_z, value_at

JUDGING_N = 20
SMALL_STUDY_N = 50
OWN_ROWS_FROM_DAYS = 2 * 365.25
FAR_FROM_STUDY_SD = 3.0


@dataclass(frozen=True)
class Occasion:
    """One of the two visits: the value (in the unit), who asked, and whether its trials suffice."""

    value: float
    asker: Sitting | ByHand
    enough_trials: bool = True
    visit: str | None = None


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
    row = find_row(table, measure, after.value, after.asker)
    if isinstance(row, Refusal):
        return row
    known = table.measure_by_name[measure]
    refusal = _comparable(known, before, after, days) or outside_scale(table, known, before.value)
    if refusal is not None:
        return refusal
    row_before = _earlier_row(table, row, before, days)
    if isinstance(row_before, Refusal):
        return row_before
    pair = _Pair(known, before, after, row_before, row, days, earlier_visits)
    study = _study(table, pair)
    return study if isinstance(study, Refusal) else _judged(table, pair, study)


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


def _comparable(measure: Measure, before: Occasion, after: Occasion, days: float) -> Refusal | None:
    if measure.better == "neither":
        return Refusal("no_direction", {"measure": measure.name})
    if days <= 0:
        return Refusal("later_before_earlier", {"days": days})
    if isinstance(before.asker, Sitting) and isinstance(after.asker, Sitting):
        for what in ("battery", "battery_version", "scoring_version", "input", "device_class"):
            first, second = getattr(before.asker, what), getattr(after.asker, what)
            if first != second:
                return Refusal("not_comparable", {"what": what.replace("_", " "), "before": first,
                                                  "after": second})
    return latency_missing(measure, before.asker)


def _earlier_row(table: Table, later: Row, before: Occasion, days: float) -> Row | Refusal:
    """Both visits by the row that fits the later one; two years apart or more, each by its own."""
    if days < OWN_ROWS_FROM_DAYS:
        return later
    years = age_of(before.asker).years
    own = row_at(table, later.measure, later.device_class, before.asker.sex, years)
    if table.age_method == "bands":
        return later if own == later else Refusal("age_band_between", {"days": days})
    rows = table.rows_of_measure[later.measure]
    return own or Refusal("age_outside", {
        "table": table.name, "measure": later.measure, "age_years": years,
        "age_from": min(row.age_from for row in rows), "age_to": max(row.age_to for row in rows)})


def _study(table: Table, pair: _Pair) -> RetestRow | Refusal:
    """The retest row of the person's sex, else of any; as many earlier visits, else the last studied."""
    here = [row for row in table.retest if row.measure == pair.measure.name
            and row.device_class == pair.row_after.device_class and row.earlier_visits <= pair.earlier_visits]
    of_sex = [row for row in here if row.sex == pair.after.asker.sex] or [r for r in here if r.sex == "any"]
    if not of_sex:
        return Refusal("no_retest_study", {"table": table.name, "measure": pair.measure.name})
    return _judging(table, pair, max(of_sex, key=lambda row: row.earlier_visits))


def _judging(table: Table, pair: _Pair, study: RetestRow) -> RetestRow | Refusal:
    z_before, z_after = pair.z(table)
    facts: dict[str, object] = {"measure": pair.measure.name, "z_before": z_before, "z_after": z_after}
    if study.n < JUDGING_N:
        return Refusal("study_too_small", {**facts, "n": study.n, "needed": JUDGING_N})
    if not (pair.before.enough_trials and pair.after.enough_trials):
        return Refusal("one_trial_only", facts)
    if study.days_min <= pair.days <= study.days_max:
        return study
    return Refusal("interval_outside_study", {**facts, "days": pair.days, "days_min": study.days_min,
                                              "days_max": study.days_max})


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
    asker = pair.after.asker
    stated = {"synthetic": table.status == "synthetic",
              "language_not_listed": isinstance(asker, Sitting) and asker.language not in table.languages,
              "small_n": pair.row_after.n_of_mean < table.warn_n,
              "small_study": row.n < SMALL_STUDY_N,
              "practice_beyond_study": row.earlier_visits < pair.earlier_visits,
              "far_from_study": abs(z_before - row.mean_1) > FAR_FROM_STUDY_SD * row.sd_1}
    return tuple(code for code, holds in stated.items() if holds)
