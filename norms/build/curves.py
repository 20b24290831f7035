"""Smooth curves over age: the columns a fit may use, and which of the candidate curves a sample asks for.

Ages in years. A basis gives columns of shape (n, p) for n ages: powers of age scaled to -1..1 between the
youngest and the oldest, and cubic pieces that begin at inner knots. Nothing is known outside these ages.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.table.scale import Floats

RICHER_FROM = 150  # people: of fewer, BIC takes bends for real that are chance


@dataclass(frozen=True)
class Basis:
    """Columns of a curve from `low` to `high` years; knots stand on the scaled age."""

    low: float
    high: float
    degree: int
    knots: tuple[float, ...] = ()

    @property
    def size(self) -> int:
        return self.degree + 1 + len(self.knots)

    def at(self, ages: npt.ArrayLike) -> Floats:
        """Columns at these ages.

        >>> Basis(20, 80, 2).at([20, 50, 80]).tolist()
        [[1.0, -1.0, 1.0], [1.0, 0.0, 0.0], [1.0, 1.0, 1.0]]
        """
        u = (2 * np.asarray(ages, float) - self.low - self.high) / (self.high - self.low)
        powers = [u**power for power in range(self.degree + 1)]
        pieces = [np.maximum(u - knot, 0.0) ** self.degree for knot in self.knots]
        return np.stack([*powers, *pieces], axis=-1)

    def slope(self, ages: npt.ArrayLike) -> Floats:
        """Columns of the change a year."""
        half = 0.01
        at = np.asarray(ages, float)
        return (self.at(at + half) - self.at(at - half)) / (2 * half)


class Shape(NamedTuple):
    """What a table's curves look like: the mean (log median for LMS), and the log SD (log variation)."""

    mean: Basis
    log_sd: Basis

    @property
    def size(self) -> int:
        return self.mean.size + self.log_sd.size


def candidates(ages: Floats) -> list[Shape]:
    """From a parabola with log-linear SD (the only one for few) to a cubic in three pieces, log SD curved."""
    low, high = float(ages.min()), float(ages.max())
    if len(ages) < RICHER_FROM:
        return [Shape(Basis(low, high, 2), Basis(low, high, 1))]
    means = [
        Basis(low, high, 2),
        Basis(low, high, 3),
        Basis(low, high, 3, inner_knots(ages, 1)),
        Basis(low, high, 3, inner_knots(ages, 2)),
    ]
    return [Shape(mean, Basis(low, high, degree)) for mean in means for degree in (1, 2)]


def inner_knots(ages: Floats, count: int) -> tuple[float, ...]:
    """Knots that part the people into equal groups, on the scaled age."""
    low, high = float(ages.min()), float(ages.max())
    places = np.quantile(ages, [(place + 1) / (count + 1) for place in range(count)])
    return tuple(float(2 * place - low - high) / (high - low) for place in places)


def bic(deviance: float, parameters: int, n: float) -> float:
    """Deviance + parameters x ln n (Schwarz 1978): lower is the curve that people of this number support."""
    return deviance + parameters * float(np.log(n))


def lowest(values: Sequence[float]) -> int:
    """Where the lowest value stands; the first of equals."""
    return int(np.argmin(values))
