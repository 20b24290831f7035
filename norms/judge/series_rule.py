"""Several visits of one person: each against the mean of all before it, as plain formulas on arrays.

Compound symmetry is assumed: any two visits correlate alike, so the successive comparisons are independent
and widening each to the level .90^(1/K) keeps the whole chart of K comparisons at 90 %. z: scores on z of the
table, visits along the last axis, the first visit first; the study's practice gain is taken off every visit
after the first. A `Study` holds the retest sample (scalars or arrays, elementwise with the other axes).

References
----------
Sidak Z (1967), Journal of the American Statistical Association 62:626-633.
Crawford JR, Garthwaite PH (2006), Neuropsychology 20:259-271 (error of prediction).
"""

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


def weight(m: int, r: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Weight b on the mean of m earlier visits, and variance left over, for SD 1.

    >>> b, left = weight(2, 0.8)
    >>> round(float(b), 6), round(float(left) ** 0.5, 6)
    (0.888889, 0.537484)
    """
    rho = np.asarray(r, float)
    spread = 1 + (m - 1) * rho
    return m * rho / spread, 1 - m * rho**2 / spread


def comparison_limits(z_before: npt.ArrayLike, study: Study, level: float, bracket: bool = False) -> Limits:
    """Expected z at the visit after `z_before` and the limits of the joint rule.

    t_reg = (u - b u_bar) / (s sqrt(v ((n - 1)/(n - 2) (1 + 1/n) + (u_bar/s)^2 / (n - 1)))), df n - 2;
    t_dif = (u - u_bar) / (SD_D sqrt((1 + 1/m)/2 + 1/n)), df n - 1; u = z with mean and gain taken off.
    With `bracket` the limits are taken with the study's practice gain and with none.
    """
    studies = (study, study.without_gain()) if bracket else (study,)
    parts = [part for one in studies for part in _both(np.asarray(z_before, float), one, level)]
    return Limits(parts[0].expected, np.minimum.reduce([part.lower for part in parts]),
                  np.maximum.reduce([part.upper for part in parts]))


def slope(x: npt.ArrayLike, u: npt.ArrayLike, sem: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Least-squares slope over the last axis and its SE = SEM / sqrt(Sxx).

    >>> _, se = slope([0, 1, 2], [0.0, 0.0, 0.0], (1 - 0.8) ** 0.5)
    >>> round(float(se), 6)
    0.316228
    """
    at = np.asarray(x, float)
    away = at - at.mean(axis=-1, keepdims=True)
    spread = (away**2).sum(axis=-1)
    return (away * np.asarray(u, float)).sum(axis=-1) / spread, np.asarray(sem, float) / np.sqrt(spread)


def _both(z_before: Floats, study: Study, level: float) -> tuple[Limits, Limits]:
    n, _, mean_1, _, mean_2, _ = study.arrays()
    variance, r, difference_variance = compound_symmetry(study)
    m = z_before.shape[-1]
    u_bar = z_before.mean(axis=-1) - mean_2 + (mean_2 - mean_1) / m
    b, left = weight(m, r)
    error = np.sqrt(variance * left * ((n - 1) / (n - 2) * (1 + 1 / n) + u_bar**2 / variance / (n - 1)))
    spread = np.sqrt(difference_variance * ((1 + 1 / m) / 2 + 1 / n))
    return (_around(mean_2 + b * u_bar, t_point((1 + level) / 2, n - 2) * error),
            _around(mean_2 + u_bar, t_point((1 + level) / 2, n - 1) * spread))


def _around(centre: Floats, reach: Floats) -> Limits:
    return Limits(centre, centre - reach, centre + reach)
