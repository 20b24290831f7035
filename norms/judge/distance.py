"""How far all measures together lie from the middle of the reference group: one squared distance.

D^2 = z' R^-1 z with R the correlations of z at one visit. R, means and SDs come from n people, so the
distance is placed by F with k and n - k degrees of freedom, not by chi-square, which calls 11.6 % of healthy
people far at 5 % with n 30, k 4. For files and research only, never on the page.

References
----------
Hotelling H (1931), Annals of Mathematical Statistics 2:360-378.
Huizenga HM et al. (2007), Neuropsychologia 45:2534-2542 (one person against a normative sample).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from norms.judge.profile import correlations_of
from norms.judge.standing import Standing
from norms.table.reasons import Refusal
from norms.table.table import Table


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
