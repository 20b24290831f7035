"""Planning before anybody is tested: how many people of which ages, and how many retest pairs, are enough.

A curve over age is planned as a parabola with a straight log SD. The number of people as whom it is good at
an age is 1 / (x' (X'X)^-1 x) for its mean (x = 1, u, u^2) and for its SD (x = 1, u), u the scaled age,
whatever is measured. Evenly over the ages N people are worth about N / 9 at both ends; with a third each
about the youngest, the middle and the oldest age they are worth nearly N / 3 at every age, which no other
plan surpasses, but nobody then checks that the curve is a parabola between the groups.

The chance that a change is seen is that of the joint rule in a healthy person, averaged over the first
score, with the study's estimates taken as the truth; in drawn studies it is about 1 in 100 more with 50
pairs, 2 more with 20.

References
----------
Kiefer J, Wolfowitz J (1960), Canadian Journal of Mathematics 12:363-366 (no plan of a curve of p
coefficients has every age worth more than N / p).
Crawford JR, Garthwaite PH (2002), Neuropsychologia 40:1196-1208 (interval of a percentile).
"""

from dataclasses import dataclass

import numpy as np

from norms.build.age_curve import Basis
from norms.build.chart import Chart
from norms.build.recruiting import effective_n
from norms.judge.joint_rule import Study, joint_limits
from norms.judge.single_case import percentile_of, z_interval
from norms.table.distributions import normal_below
from norms.table.scale import Floats

EVEN, THREE_GROUPS = "even", "three_groups"
DESIGNS = (EVEN, THREE_GROUPS)
GROUP_WIDTH_YEARS = 4.0
LOW_Z = -1.6448536269514722  # percentile 5
CHANGES_SD = (0.5, 1.0, 1.5)
NODES = 61


@dataclass(frozen=True)
class Precision:
    """What a sample makes of each age (years).

    n_mean, df_sd: people it is worth for mean and SD; low, high: 95 % interval of a score at percentile 5.
    """

    design: str
    people: int
    ages: Floats
    n_mean: Floats
    df_sd: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class ChangePower:
    """Of 100 healthy people: how many unchanged ones are called reliably poorer, and how many after a change
    toward poorer of each size in `changes_sd`."""

    pairs: int
    r: float
    unchanged: float
    changes_sd: tuple[float, ...]
    seen: tuple[float, ...]


def planned_ages(people: int, low: float, high: float, design: str) -> Floats:
    """The ages of a plan: evenly from low to high, or in three groups that are 4 years wide."""
    if design == EVEN:
        return np.asarray(low + (high - low) * (np.arange(people) + 0.5) / people)
    width = min(GROUP_WIDTH_YEARS, (high - low) / 6)
    starts = (low, (low + high - width) / 2, high - width)
    counts = [people // 3 + (place < people % 3) for place in (1, 0, 2)]  # the odd ones: middle, youngest
    return np.concatenate([start + width * (np.arange(n) + 0.5) / n
                           for start, n in zip(starts, counts, strict=True) if n])


def precision(ages: Floats, low: float, high: float, design: str) -> Precision:
    """What people of these ages make of every age from low to high."""
    at = np.linspace(low, high, NODES)
    n_mean = np.minimum(effective_n(Basis(low, high, 2), ages, at), len(ages))
    df_sd = np.clip(effective_n(Basis(low, high, 1), ages, at), 1.0, len(ages) - 1)
    ends = [percentile_of(end) for end in z_interval(LOW_Z, n_mean, df_sd)]
    return Precision(design, len(ages), at, n_mean, df_sd, *ends)


def people_needed_everywhere(wanted: float, design: str) -> int:
    """The fewest people (to the next 5) with whom every age is worth so many.

    >>> people_needed_everywhere(30, "even"), people_needed_everywhere(30, "three_groups")
    (275, 115)
    """
    most = 50 * int(wanted)
    return next(n for n in range(15, most, 5)
                if precision(planned_ages(n, 20, 80, design), 20, 80, design).n_mean.min() >= wanted)


def change_power(pairs: int, r: float) -> ChangePower:
    """How often the joint rule calls a healthy person reliably poorer, after each change.

    >>> found = change_power(50, 0.8)
    >>> round(found.unchanged, 1), [round(one, 1) for one in found.seen]
    (3.2, [15.0, 41.3, 72.4])
    """
    node, weight = np.polynomial.hermite_e.hermegauss(NODES)
    limits = joint_limits(node, Study(pairs, r, 0.0, 1.0, 0.0, 1.0))
    spread = (1 - r**2) ** 0.5

    def called(change: float) -> float:
        return float(100 * normal_below((limits.lower - r * node + change) / spread) @ weight / weight.sum())

    return ChangePower(pairs, r, called(0.0), CHANGES_SD, tuple(called(one) for one in CHANGES_SD))


def plan_picture(plans: list[Precision]) -> str:
    """The 95 % interval of a score at percentile 5 over age, as SVG text: one pair of lines a design."""
    dashes = {EVEN: "", THREE_GROUPS: "6 4"}
    highest = max(float(one.high.max()) for one in plans)
    first = plans[0]
    chart = Chart(f"{first.people} people: what percentile 5 may truly be (95 %)", "age in years",
                  "percentile", (float(first.ages[0]), float(first.ages[-1])), (0.0, 1.05 * highest))
    for one in plans:
        for values, end in ((one.high, "upper"), (one.low, "lower")):
            points = [(float(x), float(y)) for x, y in zip(one.ages, values, strict=True)]
            chart.line(points, dashes[one.design])
            chart.words_right(float(values[-1]), f"{end}, {one.design.replace('_', ' ')}")
    return chart.svg()
