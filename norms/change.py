"""Whether a score has changed by more than chance and practice usually produce.

Everything is on z of the table (age taken out; below 0 = poorer). The expected value is that of the
regression of Crawford & Garthwaite; the limits are those of the joint rule: the lower of the two lower
and the higher of the two upper 90 % limits of that regression (t, n - 2) and of the difference
(SD of differences, t, n - 1). Reliable = outside these limits.
"""

from dataclasses import dataclass

from norms.lookup import ByHand, Sitting
from norms.reasons import Refusal
from norms.table import RetestRow, Row, Table


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
    raise NotImplementedError
