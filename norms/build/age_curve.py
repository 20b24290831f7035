"""One measure's curve over age: the columns a fit may use, the choice among curves, and what a curve says.

Ages in years. A basis gives columns of shape (n, p) for n ages: powers of age scaled to -1..1 between the
youngest and the oldest, and cubic pieces that begin at inner knots. Nothing is known outside these ages.
`CurveValues` hold mean, SD and, for LMS, L (mean and SD are then M and S) at ages, one row a fit: (b, ages).
BIC decides which curve the people support; where residuals of a log scale stay skewed and LMS is clearly the
likelier, the curve is LMS in the measure's unit.

References
----------
Schwarz G (1978), Annals of Statistics 6:461-464 (BIC). Decision norms-1.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.build.lms_fit import LmsFits, fit_lms, lms_deviance
from norms.build.normal_fit import (
    Fits,
    Groups,
    deviance_of_groups,
    deviance_of_people,
    fit_groups,
    fit_people,
)
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


SKEW_SEEN, SKEW_SURE, CLEARLY_LIKELIER = 0.3, 2.58, 10.0
MOST_L_TIMES_S = 0.3  # format 1: 3 |L| S stays below 1


class CurveValues(NamedTuple):
    """What fits say at ages, (b, ages); power is None where the curve is not LMS."""

    mean: Floats
    sd: Floats
    power: Floats | None = None

    def value(self, z: float) -> Floats:
        """The value at a z."""
        if self.power is None:
            return self.mean + z * self.sd
        return np.asarray(self.mean * np.exp(_log_of(1 + self.power * self.sd * z, self.power, self.sd * z)))

    def z(self, value: Floats) -> Floats:
        """The z of a value."""
        if self.power is None:
            return (value - self.mean) / self.sd
        ratio = np.log(value / self.mean)
        flat = np.abs(self.power) < 1e-6
        safe = np.where(flat, 1.0, self.power)
        return np.asarray(np.where(flat, ratio, np.expm1(safe * ratio) / safe) / self.sd)


def _log_of(inner: Floats, power: Floats, flat_log: Floats) -> Floats:
    flat = np.abs(power) < 1e-6
    return np.where(flat, flat_log, np.log(inner) / np.where(flat, 1.0, power))


@dataclass(frozen=True)
class Curve:
    """A fitted curve (first row of `fits`), or its refits (every row)."""

    shape: Shape
    fits: Fits | LmsFits
    sd_factor: float = 1.0

    @property
    def is_lms(self) -> bool:
        return isinstance(self.fits, LmsFits)

    def at(self, ages: npt.ArrayLike, covariates: Floats | None = None) -> CurveValues:
        """What it says at ages; `covariates` are columns the mean has besides the curve (sex)."""
        x, s = self.shape.mean.at(ages), self.shape.log_sd.at(ages)
        if covariates is not None:
            x = np.concatenate([x, covariates], axis=1)
        if isinstance(self.fits, LmsFits):
            return CurveValues(np.exp(self.fits.log_m @ x.T), self.sd_factor * np.exp(self.fits.log_s @ s.T),
                               self.fits.power[:, None])
        return CurveValues(self.fits.mean @ x.T, self.sd_factor * np.exp(self.fits.log_sd @ s.T))


def curve_of_people(ages: Floats, scaled: Floats) -> Curve:
    """The curve that these people support."""
    one = np.ones((1, len(ages)))
    tried = []
    for shape in candidates(ages):
        x, s = shape.mean.at(ages), shape.log_sd.at(ages)
        fits = fit_people(x, s, scaled, one)
        tried.append((bic(deviance_of_people(fits, x, s, scaled), shape.size, len(ages)), shape, fits))
    return Curve(*tried[lowest([each[0] for each in tried])][1:])


def curve_of_groups(ages: Floats, groups: Groups, shapes: list[Shape]) -> Curve:
    """The curve that groups of people support; ages are the groups' mean ages."""
    tried = []
    for shape in shapes:
        x, s = shape.mean.at(ages), shape.log_sd.at(ages)
        fits = fit_groups(x, s, groups)
        deviance = deviance_of_groups(fits, x, s, groups)
        tried.append((bic(deviance, shape.size, float(groups.n.sum())), shape, fits))
    return Curve(*tried[lowest([each[0] for each in tried])][1:])


def lms_where_skewed(curve: Curve, ages: Floats, value: Floats) -> Curve | None:
    """The LMS curve where the plain curve of ln(value) leaves skew and LMS is clearly the likelier."""
    if not still_skewed(residuals(curve, ages, np.log(value))):
        return None
    x, s = curve.shape.mean.at(ages), curve.shape.log_sd.at(ages)
    plain = LmsFits(curve.fits[0], curve.fits[1], np.zeros(1))
    fits = refit_lms(x, s, value, np.ones((1, len(ages))), plain)
    if fits is None or lms_deviance(plain, x, s, value) - lms_deviance(fits, x, s, value) < CLEARLY_LIKELIER:
        return None
    factor = float(np.sqrt(len(ages) / (len(ages) - x.shape[1])))
    steep = np.abs(fits.power[0]) * factor * np.exp((s @ fits.log_s[0]).max())
    return Curve(curve.shape, fits, factor) if steep < MOST_L_TIMES_S else None


def still_skewed(z: Floats) -> bool:
    """Whether skew is large enough to matter and too large to be chance."""
    return abs(skewness(z)) >= max(SKEW_SEEN, SKEW_SURE * float(np.sqrt(6 / len(z))))


def refit_lms(x: Floats, s: Floats, value: Floats, weights: Floats, begin: LmsFits) -> LmsFits | None:
    """LMS fits from a beginning; None where one of them finds no end."""
    rows = [np.repeat(part, len(weights) // len(part), axis=0) for part in begin]
    try:
        with np.errstate(all="ignore"):
            fits = fit_lms(x, s, value, weights, LmsFits(*rows))
    except np.linalg.LinAlgError:
        return None
    return fits if all(np.isfinite(part).all() for part in fits) else None


def residuals(curve: Curve, ages: Floats, y: Floats) -> Floats:
    """z of people by the curve (y in the unit for LMS, on the scale otherwise)."""
    return np.asarray(curve.at(ages).z(y[None, :])[0])


def skewness(z: Floats) -> float:
    """Third moment over the SD cubed.

    >>> skewness(np.array([-1.0, -1.0, 2.0]))
    0.7071067811865475
    """
    away = z - z.mean()
    squares = away * away
    return float((squares @ away) / len(z) / squares.mean() ** 1.5)
