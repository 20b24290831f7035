"""Distributions on arrays: normal, t, F, chi-square, binomial, noncentral t; the first call loads scipy.

All take and give float arrays, elementwise. Below `z`, `t` are deviates, `p` probabilities in 0-1, `df`
degrees of freedom (any number above 0).
"""

from types import ModuleType

import numpy as np
import numpy.typing as npt

from norms.table.scale import Floats


def _special() -> ModuleType:
    from scipy import special
    return special


def normal_below(z: npt.ArrayLike) -> Floats:
    """Phi(z)."""
    return np.asarray(_special().ndtr(np.asarray(z, float)))


def normal_point(p: npt.ArrayLike) -> Floats:
    """The z below which p lies."""
    return np.asarray(_special().ndtri(np.asarray(p, float)))


def t_below(t: npt.ArrayLike, df: npt.ArrayLike) -> Floats:
    """Probability of a t below this one."""
    return np.asarray(_special().stdtr(df, np.asarray(t, float)))


def t_point(p: npt.ArrayLike, df: npt.ArrayLike) -> Floats:
    """The t below which p lies."""
    return np.asarray(_special().stdtrit(df, np.asarray(p, float)))


def f_below(f: npt.ArrayLike, df_1: npt.ArrayLike, df_2: npt.ArrayLike) -> Floats:
    """Probability of an F below this one."""
    return np.asarray(_special().fdtr(df_1, df_2, np.asarray(f, float)))


def f_point(p: npt.ArrayLike, df_1: npt.ArrayLike, df_2: npt.ArrayLike) -> Floats:
    """The F below which p lies."""
    return np.asarray(_special().fdtri(df_1, df_2, np.asarray(p, float)))


def binomial_at_most(seen: npt.ArrayLike, n: npt.ArrayLike, p: npt.ArrayLike) -> Floats:
    """Probability of so many or fewer of n, each with probability p."""
    return np.asarray(_special().bdtr(np.asarray(seen, float), n, np.asarray(p, float)))


def chi_square_below(x: npt.ArrayLike, df: npt.ArrayLike) -> Floats:
    """Probability of a chi-square below this one."""
    return np.asarray(_special().chdtr(df, np.asarray(x, float)))


def chi_square_point(p: npt.ArrayLike, df: npt.ArrayLike) -> Floats:
    """The chi-square below which p lies."""
    return np.asarray(_special().chdtri(df, 1 - np.asarray(p, float)))


def noncentrality(p: npt.ArrayLike, t: npt.ArrayLike, df: npt.ArrayLike) -> Floats:
    """The d for which a noncentral t (df, d) lies below t with probability p.

    Good to 1e-5 / sqrt(n) in z for z within 12, which quadrature confirms in the tests.
    """
    return np.asarray(_special().nctdtrinc(df, p, np.asarray(t, float)))
