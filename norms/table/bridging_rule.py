"""The rule of a bridging study: the same people on two panels or inputs, and what its numbers carry over.

z is that of the table for both values of a person, so that a difference is one of the panels; half of the
people begin on each, or practice would pass for a difference between panels.

A table may be carried over where the two panels agree and two things are shown to be smaller than a margin:
the bias, and the ratio of the SDs. Earlier visits may be carried over too where the differences between the
panels are shown to be at most a margin wider than those of two visits on one panel. What is only not seen
to differ is not carried over.

Margins: a bias of .3 SD, not known of, calls 12 in 100 unchanged people poorer in place of 5 (r .8), and 14
in 100 healthy people low in place of 9. SDs that differ by 15 in 100 call 12 in 100 healthy people low in
place of 9; differences between visits 15 in 100 wider call 8 in 100 unchanged people poorer in place of 5.

References
----------
Schuirmann DJ (1987), Journal of Pharmacokinetics and Biopharmaceutics 15:657-680 (two one-sided tests).
Pitman EJG (1939), Biometrika 31:9-12; Morgan WA (1939), Biometrika 31:13-19 (SDs of pairs: sums and
differences are uncorrelated where they are equal, and so with one multiplied by the ratio under test).
COSMIN (2010 and later): reliability of .70 or more for a group. Decisions norms-14, norms-15.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from norms.table.distributions import f_below, f_point, t_below, t_point

MARGIN_Z, LEVEL = 0.3, 0.05
MARGIN_RATIO = 1.15  # of two SDs
LEAST_PEOPLE, LEAST_ICC = 20, 0.70
LEAST_SHARE_FIRST = 0.40
AGAINST = ("too_few_people", "order_not_balanced", "not_equivalent", "agreement_too_low",
           "spread_not_equivalent")
AGAINST_VISITS = ("no_retest_study", "differences_not_shown_narrow")


@dataclass(frozen=True)
class Equivalence:
    """Two one-sided tests of a mean difference against -margin and +margin; `p` is the larger of the two."""

    n: int
    bias: float
    sd: float
    margin: float
    p_above_lower: float
    p_below_upper: float
    interval_90: tuple[float, float]

    @property
    def p(self) -> float:
        return max(self.p_above_lower, self.p_below_upper)

    @property
    def shown(self) -> bool:
        return self.p < LEVEL


@dataclass(frozen=True)
class RatioEquivalence:
    """Two one-sided tests of a ratio of SDs against 1 / margin and margin; `p` is the larger of the two."""

    ratio: float
    margin: float
    p_above_lower: float
    p_below_upper: float
    interval_90: tuple[float, float]

    @property
    def p(self) -> float:
        return max(self.p_above_lower, self.p_below_upper)

    @property
    def shown(self) -> bool:
        return self.p < LEVEL


@dataclass(frozen=True)
class NoWider:
    """One-sided test that one SD is less than margin times another, of other people.

    `upper_95`: the ratio is below it with 95 % confidence.
    """

    ratio: float
    margin: float
    p: float
    upper_95: float

    @property
    def shown(self) -> bool:
        return self.p < LEVEL


@dataclass(frozen=True)
class Study:
    """Numbers of one measure from which everything is judged. z of the table; `retest_sd`, `retest_n`: SD of
    differences and number of pairs of the table's retest study, None where there is none to judge by."""

    n: int
    first_on_table: int
    bias: float
    sd_of_differences: float
    sd_table: float
    sd_other: float
    r: float
    icc_2_1: float
    retest_sd: float | None
    retest_n: int | None = None


@dataclass(frozen=True)
class Bridge:
    """What a study carries over: the table, and earlier visits; and what stands against either."""

    study: Study
    equivalence: Equivalence
    spread: RatioEquivalence
    differences: NoWider | None
    against: tuple[str, ...]
    against_visits: tuple[str, ...]

    @property
    def table(self) -> bool:
        return not self.against

    @property
    def visits(self) -> bool:
        return not self.against and not self.against_visits


def two_one_sided(n: int, bias: float, sd: float, margin: float = MARGIN_Z) -> Equivalence:
    """Equivalence from the mean and SD of n differences (Schuirmann 1987).

    t = (bias + margin) / (SD / sqrt n) and (bias - margin) / (SD / sqrt n), n - 1 degrees of freedom.

    >>> found = two_one_sided(25, 0.1, 0.5)
    >>> [round(end, 4) for end in found.interval_90], round(found.p, 4), found.shown
    ([-0.0711, 0.2711], 0.0285, True)
    """
    se = sd / n**0.5
    reach = float(t_point(1 - LEVEL, n - 1)) * se
    return Equivalence(n, bias, sd, margin, float(t_below(-(bias + margin) / se, n - 1)),
                       float(t_below((bias - margin) / se, n - 1)), (bias - reach, bias + reach))


def sd_ratio_equivalence(n: int, ratio: float, r: float, margin: float = MARGIN_RATIO) -> RatioEquivalence:
    """Equivalence of the SDs of n pairs of correlation r, whose sample SDs stand in a ratio.

    With F = (ratio / theta)^2, t = (F - 1) sqrt(n - 2) / (2 sqrt(F (1 - r^2))) has n - 2 degrees of freedom
    where the true ratio is theta (Pitman, Morgan 1939); theta is 1 / margin and margin. The interval holds
    every theta that neither test refuses.

    >>> found = sd_ratio_equivalence(100, 1.0, 0.9)
    >>> [round(end, 4) for end in found.interval_90], round(found.p, 4), found.shown
    ([0.9296, 1.0758], 0.001, True)
    """
    t = float(t_point(1 - LEVEL, n - 2))
    k = 1 + 2 * (1 - r**2) * t**2 / (n - 2)
    reach = (k + (k**2 - 1) ** 0.5) ** 0.5
    return RatioEquivalence(
        ratio, margin, float(t_below(-_pitman_morgan(n, ratio * margin, r), n - 2)),
        float(t_below(_pitman_morgan(n, ratio / margin, r), n - 2)), (ratio / reach, ratio * reach))


def _pitman_morgan(n: int, ratio: float, r: float) -> float:
    f = ratio**2
    return float((f - 1) * (n - 2) ** 0.5 / (2 * (f * (1 - r**2)) ** 0.5))


def no_wider(sd: float, n: int, other_sd: float, other_n: int, margin: float = MARGIN_RATIO) -> NoWider:
    """Whether an SD of n is less than margin times that of other people: F = (sd / (margin other))^2.

    >>> found = no_wider(0.5, 60, 0.6, 100)
    >>> round(found.ratio, 4), round(found.p, 4), round(found.upper_95, 4)
    (0.8333, 0.004, 1.0158)
    """
    ratio = sd / other_sd
    upper = ratio / float(f_point(LEVEL, n - 1, other_n - 1)) ** 0.5
    return NoWider(ratio, margin, float(f_below((ratio / margin) ** 2, n - 1, other_n - 1)), upper)


def bridge(study: Study, margin: float = MARGIN_Z) -> Bridge:
    """Judge a study by its numbers."""
    tests = two_one_sided(study.n, study.bias, study.sd_of_differences, margin)
    spread = sd_ratio_equivalence(study.n, study.sd_other / study.sd_table, study.r)
    differences = None
    if study.retest_sd is not None and study.retest_n is not None:
        differences = no_wider(study.sd_of_differences, study.n, study.retest_sd, study.retest_n)
    share = study.first_on_table / study.n
    balanced = LEAST_SHARE_FIRST <= share <= 1 - LEAST_SHARE_FIRST
    stands = (study.n < LEAST_PEOPLE, not balanced, not tests.shown, not study.icc_2_1 >= LEAST_ICC,
              not spread.shown)
    stands_visits = (differences is None, differences is not None and not differences.shown)
    return Bridge(study, tests, spread, differences, _named(AGAINST, stands),
                  _named(AGAINST_VISITS, stands_visits))


def _named(codes: Sequence[str], stands: Sequence[bool]) -> tuple[str, ...]:
    return tuple(code for code, holds in zip(codes, stands, strict=True) if holds)
