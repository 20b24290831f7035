"""Percentile columns of a row: published percentiles used instead of a mean and an SD.

The columns hold the values at the plain percentiles (low value first). Between them the normal deviate of
the percentile runs straight in the value; a value that stands in several columns lies in their middle.
Outside the columns only "below 2" or "above 98" is known: `beyond` says which, and z is that of the end.
The interval is that of Jeffreys for n people. z here is plain: a low value is below 0.

References
----------
Brown LD, Cai TT, DasGupta A (2001), Statistical Science 16:101-133 (Jeffreys interval of a proportion).
Crawford JR, Garthwaite PH, Slick DJ (2009), The Clinical Neuropsychologist 23:1173-1195.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from norms.table.distributions import normal_below, normal_point
from norms.table.scale import Floats

COLUMNS = (2, 5, 9, 16, 25, 50, 75, 84, 91, 95, 98)
LEAST_N = 49


def z_of_value(levels: Sequence[float], value: npt.ArrayLike) -> Floats:
    """Normal deviate of a value's percentile, held at the ends of the columns.

    >>> levels = (10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30)
    >>> [round(float(z), 4) for z in z_of_value(levels, [20, 21, 5])]
    [0.0, 0.3372, -2.0537]
    """
    at, z, columns = np.asarray(value, float), _column_z(), np.asarray(levels, float)
    last = len(columns) - 1
    below = np.clip(np.searchsorted(columns, at, "right") - 1, 0, last)
    above = np.clip(np.searchsorted(columns, at, "left"), 0, last)
    span = columns[above] - columns[below]
    part = (at - columns[below]) / np.where(span > 0, span, 1.0)
    between = z[below] + part * (z[above] - z[below])
    tied = normal_point((normal_below(z[below]) + normal_below(z[above])) / 2)
    return np.where(np.isnan(at), np.nan, np.where(span > 0, between, tied))


def value_of_z(levels: Sequence[float], z: npt.ArrayLike) -> Floats:
    """Value at a normal deviate, held at the ends of the columns."""
    return np.asarray(np.interp(np.asarray(z, float), _column_z(), np.asarray(levels, float)))


def beyond(levels: Sequence[float], value: float) -> int:
    """-1 below the lowest column, +1 above the highest, 0 between."""
    return int(value > levels[-1]) - int(value < levels[0])


def jeffreys(share: float, n: float) -> tuple[float, float]:
    """95 % interval of a share that was seen in n people: Beta(np + 1/2, n - np + 1/2).

    >>> low, high = jeffreys(0.05, 100)
    >>> round(100 * low, 2), round(100 * high, 2)
    (1.93, 10.61)
    """
    from scipy.special import betaincinv
    seen = share * n + 0.5
    ends = betaincinv(seen, n + 1 - seen, [0.025, 0.975])
    return float(ends[0]), float(ends[1])


@lru_cache(maxsize=1)
def _column_z() -> Floats:
    return normal_point(np.array(COLUMNS) / 100)
