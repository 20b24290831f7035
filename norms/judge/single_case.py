"""One person's score against a small sample: t, percentile and interval, as plain formulas on arrays.

z: deviate by the sample's mean and SD; n_mean, df_sd: as how many people its mean and SD are good (a plain
sample of n: n and n - 1). z_star: the normal deviate of the percentile, exactly standard normal over samples
and people.

References
----------
Crawford JR, Howell DC (1998), The Clinical Neuropsychologist 12:482-486.
Crawford JR, Garthwaite PH (2002), Neuropsychologia 40:1196-1208.
Crawford JR, Garthwaite PH, Slick DJ (2009), The Clinical Neuropsychologist 23:1173-1195.
"""

import numpy as np
import numpy.typing as npt

from norms.table.distributions import noncentrality, normal_below, normal_point, t_below
from norms.table.scale import Floats

FURTHEST_Z = 37.0


def howell_t(z: npt.ArrayLike, n_mean: npt.ArrayLike) -> Floats:
    """t = z / sqrt(1 + 1/n), with n - 1 (or df_sd) degrees of freedom (Crawford & Howell 1998).

    >>> round(float(howell_t(-2, 15)), 3)
    -1.936
    """
    return np.asarray(z, float) / np.sqrt(1 + 1 / np.asarray(n_mean, float))


def z_star_of(z: npt.ArrayLike, n_mean: npt.ArrayLike, df_sd: npt.ArrayLike) -> Floats:
    """z_star: the normal deviate of the percentile that t gives; both tails to full precision, up to 37.

    >>> round(float(z_star_of(-2, 50, 49)), 4)
    -1.9325
    """
    t = howell_t(z, n_mean)
    depth = -normal_point(t_below(-np.abs(t), df_sd))
    return np.copysign(np.minimum(depth, FURTHEST_Z), t)


def percentile_of(z_star: npt.ArrayLike) -> Floats:
    """100 Phi(z_star)."""
    return 100 * normal_below(z_star)


def t_score(z_star: npt.ArrayLike) -> Floats:
    """T = 50 + 10 z_star: mean 50 and SD 10 in the reference population.

    >>> round(float(t_score(-1.645)), 2)
    33.55
    """
    return 50 + 10 * np.asarray(z_star, float)


def percentile_rank(below: int, ties: int, n: int) -> float:
    """100 (below + ties / 2) / n: those below and half of those who tie (Crawford et al. 2009).

    >>> percentile_rank(2, 2, 50)
    6.0
    """
    return 100 * (below + ties / 2) / n


def z_interval(z: npt.ArrayLike, n_mean: npt.ArrayLike, df_sd: npt.ArrayLike) -> tuple[Floats, Floats]:
    """95 % interval of z: d / sqrt(n) with P(nct(df, d) <= z sqrt(n)) = .975, .025.

    Crawford & Garthwaite (2002). It holds the error of the reference sample only.
    z beyond 37 is read as 37, where every percentile has long been below 0.1 or above 99.9.

    >>> low, high = z_interval(-2, 50, 49)
    >>> round(float(low), 3), round(float(high), 3)
    (-2.479, -1.514)
    """
    root = np.sqrt(np.asarray(n_mean, float))
    t = np.clip(np.asarray(z, float), -FURTHEST_Z, FURTHEST_Z) * root
    return noncentrality(0.975, t, df_sd) / root, noncentrality(0.025, t, df_sd) / root
