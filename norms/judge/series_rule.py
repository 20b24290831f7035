"""Several visits of one person: each against the mean of all before it, as plain formulas on arrays.

One retest study gives the correlation of two visits next to each other; how visits further apart correlate,
it cannot say. The limits hold under both of the usual assumptions, compound symmetry (any two visits
correlate alike) and first-order autoregression, AR(1) (r^k for visits k apart): each limit is the wider of
the two. They agree where there is one earlier visit. Widening each comparison to the level .90^(1/K) keeps
the whole chart of K comparisons at 90 %: under compound symmetry they are independent, and otherwise
two-sided limits of correlated normal numbers hold together at least as often (Sidak 1967).

z: scores on z of the table, visits along the last axis, the first visit first; the study's practice gain is
taken off every visit after the first. A `Study` holds the retest sample (scalars or arrays, elementwise
with the other axes).

References
----------
Sidak Z (1967), Journal of the American Statistical Association 62:626-633.
Crawford JR, Garthwaite PH (2006), Neuropsychology 20:259-271 (error of prediction).
Diggle PJ et al. (2002), Analysis of Longitudinal Data, 2nd edition, chapter 4 (both correlation structures).
"""

from collections.abc import Sequence
from enum import Enum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.judge.joint_rule import LEVEL, Limits, Study
from norms.table.distributions import t_point
from norms.table.scale import Floats


class CompoundSymmetry(NamedTuple):
    """A study read as compound symmetry: one variance, one correlation, and the variance of a difference."""

    variance: Floats
    r: Floats
    difference_variance: Floats


def widened_level(comparisons: int, level: float = LEVEL) -> float:
    """The level of each of K comparisons that keeps all K together at `level`.

    >>> [round(100 * (1 - widened_level(k)), 2) for k in (1, 2, 3, 4, 5)]
    [10.0, 5.13, 3.45, 2.6, 2.09]
    """
    return float(level ** (1 / comparisons))


def compound_symmetry(study: Study) -> CompoundSymmetry:
    """s^2 = (s_1^2 + s_2^2) / 2 and r = 1 - SD_D^2 / (2 s^2), not below 0."""
    _, r, _, sd_1, _, sd_2 = study.arrays()
    difference = sd_1**2 + sd_2**2 - 2 * r * sd_1 * sd_2
    variance = (sd_1**2 + sd_2**2) / 2
    return CompoundSymmetry(variance, np.maximum(1 - difference / (2 * variance), 0.0), difference)


class VisitCorrelation(Enum):
    """How visits k apart correlate where neighbours correlate by r: r, or r^k."""

    COMPOUND_SYMMETRY = "compound symmetry"
    AR_1 = "AR(1)"

    def of(self, r: npt.ArrayLike, apart: int) -> Floats:
        """Correlation of visits so many visits apart."""
        rho = np.asarray(r, float)
        if apart == 0:
            return np.ones_like(rho)
        return rho if self is VisitCorrelation.COMPOUND_SYMMETRY else rho**apart


BOTH = (VisitCorrelation.COMPOUND_SYMMETRY, VisitCorrelation.AR_1)


class Contrast(NamedTuple):
    """A visit against the mean of m before it, for SD 1.

    Weight b of the best prediction from that mean, variance it leaves, and variance of the plain difference.
    """

    weight: Floats
    left: Floats
    difference: Floats


def contrast(m: int, r: npt.ArrayLike, correlation: VisitCorrelation) -> Contrast:
    """b = C / V, left = 1 - C^2 / V, difference = 1 + V - 2 C; C: covariance with the mean, V: its variance.

    >>> even = contrast(2, 0.8, VisitCorrelation.COMPOUND_SYMMETRY)
    >>> round(float(even.weight), 6), round(float(even.left) ** 0.5, 6), round(float(even.difference), 6)
    (0.888889, 0.537484, 0.3)
    >>> fading = contrast(2, 0.8, VisitCorrelation.AR_1)
    >>> round(float(fading.weight), 6), round(float(fading.difference), 6)
    (0.8, 0.46)
    """
    with_mean = sum(correlation.of(r, k) for k in range(1, m + 1)) / m
    of_mean = sum(correlation.of(r, abs(i - k)) for i in range(m) for k in range(m)) / m**2
    return Contrast(np.asarray(with_mean / of_mean), np.asarray(1 - with_mean**2 / of_mean),
                    np.asarray(1 + of_mean - 2 * with_mean))


def comparison_limits(z_before: npt.ArrayLike, study: Study, level: float, bracket: bool = False,
                      correlations: Sequence[VisitCorrelation] = BOTH) -> Limits:
    """Expected z at the visit after `z_before` and the limits of the joint rule, the wider under both.

    t_reg = (u - b u_bar) / (s sqrt(v ((n - 1)/(n - 2) (1 + 1/n) + (u_bar/s)^2 / (n - 1)))), df n - 2;
    t_dif = (u - u_bar) / (SD_D sqrt(d / (2 (1 - r)) + 1/n)), df n - 1; u = z with mean and gain taken off;
    b, v, d of the `Contrast` (under compound symmetry d / (2 (1 - r)) = (1 + 1/m) / 2). The expected z is
    that of the first correlation. With `bracket` the limits are taken with the study's practice gain and with
    none.
    """
    studies = (study, study.without_gain()) if bracket else (study,)
    parts = [part for one in studies for correlation in correlations
             for part in _both(np.asarray(z_before, float), one, level, correlation)]
    return Limits(parts[0].expected, np.minimum.reduce([part.lower for part in parts]),
                  np.maximum.reduce([part.upper for part in parts]))


def slope(x: npt.ArrayLike, u: npt.ArrayLike, sem: npt.ArrayLike,
          r: npt.ArrayLike = 0.0) -> tuple[Floats, Floats]:
    """Least-squares slope over the last axis, and the larger of its SEs under both assumptions.

    Compound symmetry: SEM / sqrt(Sxx). AR(1), with a = x - mean of x: that times
    sqrt(sum of a_i a_k r^|i - k| / (Sxx (1 - r))). Visits stand along the last axis; r below 1.

    >>> _, se = slope([0, 1, 2], [0.0, 0.0, 0.0], (1 - 0.8) ** 0.5, 0.8)
    >>> round(float(se), 6)  # AR(1): ((1 - r^2) / 2) ^ (1/2)
    0.424264
    """
    at, neighbours = np.asarray(x, float), np.asarray(r, float)
    away = at - at.mean(axis=-1, keepdims=True)
    spread = (away**2).sum(axis=-1)
    place = np.arange(at.shape[-1])
    fading = neighbours[..., None, None] ** np.abs(place[:, None] - place)
    ar_1 = np.einsum("...i,...ik,...k", away, fading, away) / (spread * (1 - neighbours))
    se = np.asarray(sem, float) * np.sqrt(np.maximum(1.0, ar_1) / spread)
    return (away * np.asarray(u, float)).sum(axis=-1) / spread, se


def _both(z_before: Floats, study: Study, level: float,
          correlation: VisitCorrelation) -> tuple[Limits, Limits]:
    n, _, mean_1, _, mean_2, _ = study.arrays()
    variance, r, difference_variance = compound_symmetry(study)
    m = z_before.shape[-1]
    u_bar = z_before.mean(axis=-1) - mean_2 + (mean_2 - mean_1) / m
    b, left, apart = contrast(m, r, correlation)
    error = np.sqrt(variance * left * ((n - 1) / (n - 2) * (1 + 1 / n) + u_bar**2 / variance / (n - 1)))
    spread = np.sqrt(difference_variance * (apart / (2 * (1 - r)) + 1 / n))
    return (_around(mean_2 + b * u_bar, t_point((1 + level) / 2, n - 2) * error),
            _around(mean_2 + u_bar, t_point((1 + level) / 2, n - 1) * spread))


def _around(centre: Floats, reach: Floats) -> Limits:
    return Limits(centre, centre - reach, centre + reach)
