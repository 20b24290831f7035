"""How many more people of what age a sample needs before a curve over age is good enough everywhere.

The number of people as whom a parabola over age is good at an age a is 1 / (x' (X'X)^-1 x), x = (1, u, u^2)
on the scaled age, whatever is measured: it hangs on the ages alone. People are added in the third of the ages
where they help the weakest age most, evenly over that third, until every age reaches 1.2 times what is asked:
in simulated samples whose SD rises by half over the ages, refits find 0.8 of what the form says at the ends.

Decision norms-5.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from norms.build.age_curve import Basis
from norms.table.scale import Floats

AT_A_TIME, MOST_TIMES = 5, 400
MARGIN = 1.2
_NEVER_SINGULAR = 1e-9


class RecruitmentNeed(NamedTuple):
    """People still needed of an age; `people` may be 0."""

    age_from: float
    age_to: float
    people: int


def parabola_effective_n(ages: Floats, low: float, high: float, at: Floats) -> Floats:
    """As how many people a parabola through people of these ages is good at the ages `at`.

    Evenly over the ages, 300 people are worth about 300 / 9 at both ends.

    >>> ages = np.linspace(20, 80, 300)
    >>> parabola_effective_n(ages, 20, 80, np.array([20.0, 50, 80])).round().tolist()
    [34.0, 133.0, 34.0]
    """
    return effective_n(Basis(low, high, 2), ages, at)


def effective_n(basis: Basis, ages: Floats, at: Floats) -> Floats:
    """As how many people a curve of this basis through people of these ages is good at the ages `at`."""
    return _effective_n(_information(basis, ages), basis.at(at))


def recruitment_needs(ages: Floats, low: float, high: float, wanted: float) -> tuple[RecruitmentNeed, ...]:
    """How many more people each third of the ages needs so that every age is as good as `wanted` people."""
    basis = Basis(low, high, 2)
    edges = np.linspace(low, high, 4)
    within = (np.arange(AT_A_TIME) + 0.5) / AT_A_TIME
    parts = [_information(basis, start + (end - start) * within) for start, end in pairwise(edges)]
    rows = basis.at(np.linspace(low, high, 61))
    information, added = _information(basis, ages), [0, 0, 0]
    while _effective_n(information, rows).min() < MARGIN * wanted and sum(added) < AT_A_TIME * MOST_TIMES:
        best = int(np.argmax([_effective_n(information + part, rows).min() for part in parts]))
        information, added[best] = information + parts[best], added[best] + AT_A_TIME
    return tuple(
        RecruitmentNeed(float(start), float(end), count)
        for start, end, count in zip(edges[:-1], edges[1:], added, strict=True)
    )


def total(more: Sequence[RecruitmentNeed]) -> int:
    return sum(one.people for one in more)


def _information(basis: Basis, ages: Floats) -> Floats:
    x = basis.at(ages)
    return np.asarray(x.T @ x)


def _effective_n(information: Floats, rows: Floats) -> Floats:
    inverse = np.linalg.inv(information + _NEVER_SINGULAR * np.eye(len(information)))
    return np.asarray(1 / ((rows @ inverse) * rows).sum(1))
