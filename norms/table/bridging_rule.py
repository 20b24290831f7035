"""Bridging study: the same people on two panels or inputs, and what may be carried from one to the other.

z is that of the table for both values of a person, so that a difference is one of the panels; half of the
people begin on each, or practice would pass for a difference between panels. A table may be carried over
where the bias is shown to be smaller than a margin, the two agree, and their SDs do not differ; earlier
visits too, where the two panels differ no more than two visits on one panel do.

The margin is .3 SD: a shift of that size, not known of, calls 12 in 100 unchanged people poorer in place of 5
(r .8), and 14 in 100 healthy people low in place of 9.

References
----------
Schuirmann DJ (1987), Journal of Pharmacokinetics and Biopharmaceutics 15:657-680 (two one-sided tests).
Phillips KF (1990), the same 18:137-144 (power). Pitman EJG (1939), Biometrika 31:9-12; Morgan WA (1939),
Biometrika 31:13-19 (equal SDs of pairs). COSMIN (2010 and later): reliability of .70 or more for a group.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from norms.table.distributions import t_below, t_point

MARGIN_Z, LEVEL = 0.3, 0.05
LEAST_PEOPLE, LEAST_ICC, SPREAD_LEVEL = 20, 0.70, 0.05
LEAST_SHARE_FIRST = 0.40
AGAINST = ("too_few_people", "order_not_balanced", "not_equivalent", "agreement_too_low", "spread_differs")
AGAINST_VISITS = ("no_retest_study", "differs_more_than_a_retest")


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
class Study:
    """Numbers of one measure from which everything is judged. z of the table; `retest_sd`: SD of differences
    of the table's retest study, None where there is none to judge by."""

    n: int
    first_on_table: int
    bias: float
    sd_of_differences: float
    sd_table: float
    sd_other: float
    r: float
    icc_2_1: float
    retest_sd: float | None


@dataclass(frozen=True)
class Bridge:
    """What a study carries over: the table, and earlier visits; and what stands against either."""

    study: Study
    equivalence: Equivalence
    p_same_sd: float
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


def p_of_same_sd(n: int, sd_1: float, sd_2: float, r: float) -> float:
    """Two-sided p of equal SDs in pairs: the correlation of sums with differences (Pitman, Morgan 1939).

    >>> round(p_of_same_sd(40, 1.0, 1.3, 0.8), 4)
    0.0096
    """
    f = (sd_1 / sd_2) ** 2
    t = abs(f - 1) * (n - 2) ** 0.5 / (2 * (f * (1 - r**2)) ** 0.5)
    return float(2 * t_below(-t, n - 2))


def bridge(study: Study, margin: float = MARGIN_Z) -> Bridge:
    """Judge a study by its numbers."""
    tests = two_one_sided(study.n, study.bias, study.sd_of_differences, margin)
    p_spread = p_of_same_sd(study.n, study.sd_table, study.sd_other, study.r)
    share = study.first_on_table / study.n
    balanced = LEAST_SHARE_FIRST <= share <= 1 - LEAST_SHARE_FIRST
    stands = (study.n < LEAST_PEOPLE, not balanced, not tests.shown, not study.icc_2_1 >= LEAST_ICC,
              p_spread < SPREAD_LEVEL)
    stands_visits = (study.retest_sd is None,
                     study.retest_sd is not None and study.sd_of_differences > study.retest_sd)
    return Bridge(study, tests, p_spread, _named(AGAINST, stands), _named(AGAINST_VISITS, stands_visits))


def _named(codes: Sequence[str], stands: Sequence[bool]) -> tuple[str, ...]:
    return tuple(code for code, holds in zip(codes, stands, strict=True) if holds)
