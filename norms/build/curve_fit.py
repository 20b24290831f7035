"""One measure's curve over age: fitted to its people, and what it says at any age.

`Params` hold mean, SD and, for LMS, L (mean and SD are then M and S) at ages, one row a fit: (b, ages).
Which curve the people support is decided by BIC; where residuals of a log scale stay skewed and LMS is
clearly the likelier, the curve is LMS in the measure's unit.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.build.curves import Shape, bic, candidates, lowest
from norms.build.fitting import (
    Fits,
    Groups,
    deviance_of_groups,
    deviance_of_people,
    fit_groups,
    fit_people,
)
from norms.build.lms_fit import LmsFits, fit_lms, lms_deviance
from norms.table.scale import Floats

SKEW_SEEN, SKEW_SURE, CLEARLY_LIKELIER = 0.3, 2.58, 10.0
MOST_L_TIMES_S = 0.3  # format 1: 3 |L| S stays below 1


class Params(NamedTuple):
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

    def at(self, ages: npt.ArrayLike, beside: Floats | None = None) -> Params:
        """What it says at ages; `beside` are columns the mean has besides the curve (sex)."""
        x, s = self.shape.mean.at(ages), self.shape.log_sd.at(ages)
        if beside is not None:
            x = np.concatenate([x, beside], axis=1)
        if isinstance(self.fits, LmsFits):
            return Params(
                np.exp(self.fits.log_m @ x.T),
                self.sd_factor * np.exp(self.fits.log_s @ s.T),
                self.fits.power[:, None],
            )
        return Params(self.fits.mean @ x.T, self.sd_factor * np.exp(self.fits.log_sd @ s.T))


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
