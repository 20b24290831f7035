"""Two visits of one person: whether they may be compared, by which rows, and by which retest study.

Both visits are read by the row that fits the later one; two years apart or more, each by its own row of a
smoothed or continuous table, and not at all across two bands. The study is that of the person's sex, else of
any, with as many earlier visits, else the last studied. Decision norms-17.
"""

from dataclasses import dataclass

from norms.judge.lookup import ByHand, Sitting, age_of, at_home, bridged_to, latency_missing, row_at, too_few
from norms.table.percentiles import beyond
from norms.table.reasons import Refusal
from norms.table.table import Measure, RetestRow, Row, Table

JUDGING_N = 20
SEPARATE_ROWS_FROM_DAYS = 2 * 365.25
SAME_AT_BOTH = ("battery", "battery_version", "scoring_version")
SAME_OR_BRIDGED = ("input", "device_class")


@dataclass(frozen=True)
class Occasion:
    """One of the visits: the value (in the unit), who asked, and whether its trials suffice."""

    value: float
    context: Sitting | ByHand
    enough_trials: bool = True
    visit: str | None = None


def comparable(table: Table, measure: Measure, before: Occasion, after: Occasion,
               days: float) -> Refusal | None:
    """Why two visits are not compared, whatever their values."""
    if measure.better == "neither":
        return Refusal("no_direction", {"measure": measure.name})
    if days <= 0:
        return Refusal("later_before_earlier", {"days": days})
    panels = [bridged_to(table, measure.name, one.context) for one in (before, after)]
    bridged = None not in panels and panels[0] == panels[1]
    refusal = _differing(before, after, SAME_AT_BOTH if bridged else SAME_AT_BOTH + SAME_OR_BRIDGED)
    return refusal or _not_bridged(table, measure, after) or latency_missing(measure, before.context)


def _differing(before: Occasion, after: Occasion, named: tuple[str, ...]) -> Refusal | None:
    """Refusal of visits that differ in what must be the same."""
    if not (isinstance(before.context, Sitting) and isinstance(after.context, Sitting)):
        return None
    for what in named:
        first, second = getattr(before.context, what), getattr(after.context, what)
        if first != second:
            return Refusal("not_comparable", {"what": what.replace("_", " "), "before": first,
                                              "after": second})
    return None


def _not_bridged(table: Table, measure: Measure, after: Occasion) -> Refusal | None:
    """Refusal of visits on a panel to which the table, but no change, is carried over."""
    if at_home(table, measure.name, after.context) or bridged_to(table, measure.name, after.context):
        return None
    return Refusal("change_not_bridged", {"measure": measure.name, "visit_has": after.context.device_class})


def earlier_row(table: Table, later: Row, before: Occasion, days: float) -> Row | Refusal:
    """The row by which the earlier visit is read."""
    if days < SEPARATE_ROWS_FROM_DAYS:
        return later
    years = age_of(before.context).years
    own = row_at(table, later.measure, later.device_class, before.context.sex, years)
    if table.age_method == "bands":
        return later if own == later else Refusal("age_band_between", {"days": days})
    if own is not None:
        return too_few(table, later.measure, own) or own
    rows = table.rows_of_measure[later.measure]
    return Refusal("age_outside", {
        "table": table.name, "measure": later.measure, "age_years": years,
        "age_from": min(row.age_from for row in rows), "age_to": max(row.age_to for row in rows)})


def study_row(table: Table, later: Row, sex: str, earlier_visits: int) -> RetestRow | Refusal:
    """The retest study of this row's measure and device class for a person."""
    here = [row for row in table.retest if row.measure == later.measure
            and row.device_class == later.device_class and row.earlier_visits <= earlier_visits]
    of_sex = [row for row in here if row.sex == sex] or [row for row in here if row.sex == "any"]
    if not of_sex:
        return Refusal("no_retest_study", {"table": table.name, "measure": later.measure})
    return max(of_sex, key=lambda row: row.earlier_visits)


def too_small(study: RetestRow) -> Refusal | None:
    """Refusal of a study that is too small to judge by."""
    if study.n >= JUDGING_N:
        return None
    return Refusal("study_too_small", {"measure": study.measure, "n": study.n, "needed": JUDGING_N})


def outside_study(study: RetestRow, days: float) -> Refusal | None:
    """Refusal of an interval that nobody studied."""
    if study.days_min <= days <= study.days_max:
        return None
    return Refusal("interval_outside_study", {"measure": study.measure, "days": days,
                                              "days_min": study.days_min, "days_max": study.days_max})


def trials_missing(measure: str, *occasions: Occasion) -> Refusal | None:
    """Refusal where a value rests on one valid trial and two are the norm."""
    if all(one.enough_trials for one in occasions):
        return None
    return Refusal("one_trial_only", {"measure": measure})


def beyond_columns(table: Table, row: Row, *values: float) -> Refusal | None:
    """Refusal of values outside percentile columns, whose size is not known."""
    if not table.by_percentiles(row.measure) or not any(beyond(row.levels, value) for value in values):
        return None
    return Refusal("beyond_percentiles", {"measure": row.measure})
