"""The measures together: how many are low or changed, how unusual that is, and one distance over all of them.

Low scores are counted in N(0, R), R the correlations of z at one visit, at z_star < -41/30 (standard
score 79 or less). Reliable changes are counted in N(0, R_D), R_D the correlations of later minus earlier
z, below the 5 % point: an upper bound of the joint rule at any level of the person. Both are simulated
with one fixed seed, so the same question always gets the same answer, and only for the very measures
scored or compared. Chances are in 100 and not rounded.

The distance from the middle of the reference group is D^2 = z' R^-1 z. R, means and SDs come from n people,
so it is placed by F with k and n - k degrees of freedom, not by chi-square, which calls 11.6 % of healthy
people far at 5 % with n 30, k 4. It is for files and research only, never on the page.

References
----------
Crawford JR, Garthwaite PH, Gault CB (2007), Neuropsychology 21:419-430.
Hotelling H (1931), Annals of Mathematical Statistics 2:360-378.
Huizenga HM et al. (2007), Neuropsychologia 45:2534-2542 (one person against a normative sample).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import numpy as np

from norms.judge.change import Change
from norms.judge.standing import Standing
from norms.table.reasons import Refusal
from norms.table.scale import Floats
from norms.table.table import PRIMARY_MEASURES, Table

LOW_Z_STAR = -41 / 30
CHANGE_Z = -1.6448536269514722
DRAWS = 200_000
SEED = 20_260_112
SMALL_CORRELATION_N = 50
LEAST_EIGENVALUE = 1e-9


@dataclass(frozen=True)
class Profile:
    """Low scores. `chances_percent[k-1]` = in about how many of 100 people k or more are low;
    `chance_percent` is the entry for `n_low` (for 1 where none is low)."""

    measures: tuple[str, ...]
    n_scored: int
    n_low: int
    low: tuple[str, ...]
    chance_percent: float
    chances_percent: tuple[float, ...]
    n_correlation: int | None
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class ChangeProfile:
    """Reliable changes. `chances_percent[k-1]` = in at most how many of 100 unchanged people k or more
    are reliably poorer (and as many better); the two chances are the entries for the counts (at least 1)."""

    measures: tuple[str, ...]
    n_compared: int
    n_worse: int
    worse: tuple[str, ...]
    n_better: int
    better: tuple[str, ...]
    chance_worse_percent: float
    chance_better_percent: float
    chances_percent: tuple[float, ...]
    n_correlation: int | None
    warnings: tuple[str, ...]


class Correlations(NamedTuple):
    matrix: Floats
    n: int | None


def profile(table: Table, standings: Sequence[Standing]) -> Profile | Refusal:
    """Count low scores and say how common that many are, for the very measures given."""
    found = correlations_of(table, "visit", [(one.measure, one.row.device_class) for one in standings])
    if isinstance(found, Refusal):
        return found
    low = tuple(one.measure for one in standings if one.low)
    chances = chances_of_counts(found.matrix, LOW_Z_STAR)
    return Profile(
        measures=tuple(one.measure for one in standings), n_scored=len(standings), n_low=len(low), low=low,
        chance_percent=chances[max(len(low), 1) - 1], chances_percent=chances, n_correlation=found.n,
        warnings=_warnings(table, found))


def change_profile(table: Table, changes: Sequence[Change]) -> ChangeProfile | Refusal:
    """Count reliable changes and say how common that many are, for the very measures compared."""
    found = correlations_of(table, "change", [(one.measure, one.row_after.device_class) for one in changes])
    if isinstance(found, Refusal):
        return found
    worse, better = (tuple(one.measure for one in changes if one.reliable == word)
                     for word in ("worse", "better"))
    chances = chances_of_counts(found.matrix, CHANGE_Z)
    return ChangeProfile(
        measures=tuple(one.measure for one in changes), n_compared=len(changes), n_worse=len(worse),
        worse=worse, n_better=len(better), better=better,
        chance_worse_percent=chances[max(len(worse), 1) - 1],
        chance_better_percent=chances[max(len(better), 1) - 1],
        chances_percent=chances, n_correlation=found.n, warnings=_warnings(table, found))


def chances_of_counts(matrix: Floats, below: float) -> tuple[float, ...]:
    """In how many of 100 draws of N(0, matrix) at least 1, 2, ... of the parts lie below a limit.

    >>> one, two = chances_of_counts(np.eye(2), 0.0)
    >>> abs(one - 75) < 0.5, abs(two - 25) < 0.5
    (True, True)
    """
    correlated = np.linalg.cholesky(matrix) @ _draws(len(matrix))
    counts = (correlated < below).sum(axis=0)
    at_least = np.cumsum(np.bincount(counts, minlength=len(matrix) + 1)[::-1])[::-1]
    return tuple(float(100 * people / DRAWS) for people in at_least[1:])


@lru_cache(maxsize=4)
def _draws(parts: int) -> Floats:
    """The same standard normal draws (parts x DRAWS) every time."""
    drawn = np.random.default_rng(SEED).standard_normal((parts, DRAWS))
    drawn.flags.writeable = False
    return drawn


def correlations_of(table: Table, kind: str, asked: list[tuple[str, str]]) -> Correlations | Refusal:
    """The matrix of the measures asked, where that of all the table's primary ones is sound too."""
    if not asked:
        return Refusal("nothing_to_count")
    names = [name for name, _ in asked]
    known = {frozenset((one.measure_1, one.measure_2)): one for one in table.correlations
             if one.kind == kind and one.device_class == asked[0][1]}
    others = [name for name in PRIMARY_MEASURES if name in table.rows_of_measure and name not in names]
    matrix = np.eye(len(names + others))
    for (i, first), (j, second) in combinations(enumerate(names + others), 2):
        one = known.get(frozenset((first, second)))
        if one is None:
            return Refusal("correlation_missing", {"table": table.name, "kind": kind,
                                                   "measure_1": first, "measure_2": second})
        matrix[i, j] = matrix[j, i] = one.r
    smallest = float(np.linalg.eigvalsh(matrix)[0])
    if smallest <= LEAST_EIGENVALUE:
        return Refusal("correlation_not_positive_definite",
                       {"table": table.name, "kind": kind, "smallest": round(smallest, 4)})
    people = [known[frozenset(pair)].n for pair in combinations(names, 2)]
    return Correlations(matrix[:len(names), :len(names)], min(people, default=None))


def _warnings(table: Table, found: Correlations) -> tuple[str, ...]:
    stated = {"synthetic": table.status == "synthetic",
              "small_correlation_n": found.n is not None and found.n < SMALL_CORRELATION_N}
    return tuple(code for code, holds in stated.items() if holds)


@dataclass(frozen=True)
class ProfileDistance:
    """Squared distance of k measures, its F, and in how many of 100 people it is as large or larger.

    `n` = the smallest number of people behind a correlation or a row of these measures.
    """

    measures: tuple[str, ...]
    squared_distance: float
    n: float
    f: float
    df_1: int
    df_2: float
    percent_as_far: float


def profile_distance(table: Table, standings: Sequence[Standing]) -> ProfileDistance | Refusal:
    """The distance of one person's standings, by the z of each measure (below 0 = poorer)."""
    found = correlations_of(table, "visit", [(one.measure, one.row.device_class) for one in standings])
    if isinstance(found, Refusal):
        return found
    k = len(standings)
    n = min([one.n_mean for one in standings] + ([] if found.n is None else [found.n]))
    if n <= k + 1:
        return Refusal("too_many_measures", {"measures": k, "n": n})
    z = np.array([one.z for one in standings])
    squared = float(z @ np.linalg.solve(found.matrix, z))
    f, percent = distance_f(squared, k, n)
    return ProfileDistance(tuple(one.measure for one in standings), squared, n, f, k, n - k, percent)


def distance_f(squared: float, k: int, n: float) -> tuple[float, float]:
    """F = D^2 n (n - k) / ((n + 1)(n - 1) k) with k, n - k degrees of freedom, and the share beyond, in 100.

    >>> f, percent = distance_f(9.0, 4, 50)
    >>> round(percent, 5)
    10.00572
    """
    from scipy.special import fdtrc
    f = squared * n * (n - k) / ((n + 1) * (n - 1) * k)
    return float(f), float(100 * fdtrc(k, n - k, f))
