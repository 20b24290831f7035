"""The scales on which scores are compared: identity, log, logit and LMS, each with its way back.

value   in the measure's unit (mm, ms, %, ...)
scaled  on the scale: the value (identity, lms), ln value (log), or the logit of a share counted over
        N independent looks
Arrays go in and come out elementwise; a value outside a scale, or beyond 1e9 in any unit, gives NaN.

References
----------
Cole TJ, Green PJ (1992), Statistics in Medicine 11:1305-1319 (LMS).
WHO Multicentre Growth Reference Study Group (2006), methods and development, chapter 7 (beyond 3 SD the
distance between the second and third SD line is carried on).
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
LARGEST = 1e9
_L_IS_ZERO = 1e-6


def share_to_logit(share: npt.ArrayLike, looks: float) -> Floats:
    """ln((p N + 0.5) / ((1 - p) N + 0.5)) for a share p in 0-1 of N independent looks.

    >>> round(float(share_to_logit(0.99, 32)), 4)
    3.6698
    """
    p = np.asarray(share, float)
    with np.errstate(all="ignore"):
        logit = np.log((p * looks + 0.5) / ((1 - p) * looks + 0.5))
    return np.where((p >= 0) & (p <= 1), logit, np.nan)


def logit_to_share(logit: npt.ArrayLike, looks: float) -> Floats:
    """p = ((N + 1) expit(m) - 0.5) / N, cut to 0-1.

    >>> round(float(logit_to_share(share_to_logit(0.25, 32), 32)), 12)
    0.25
    """
    with np.errstate(over="ignore"):
        expit = 1 / (1 + np.exp(-np.asarray(logit, float)))
    return np.asarray(np.clip(((looks + 1) * expit - 0.5) / looks, 0.0, 1.0))


def to_scale(value: npt.ArrayLike, scale: str, looks: float = 1.0, whole: float = 1.0) -> Floats:
    """From the unit to the scale; `whole` is what a share of one reads in the unit (100 for %)."""
    y = np.asarray(value, float)
    y = np.where(np.abs(y) <= LARGEST, y, np.nan)
    if scale == "logit":
        return share_to_logit(y / whole, looks)
    if scale == "identity":
        return y
    positive = np.where(y > 0, y, np.nan)
    return np.log(positive) if scale == "log" else positive


def from_scale(scaled: npt.ArrayLike, scale: str, looks: float = 1.0, whole: float = 1.0) -> Floats:
    """From the scale back to the unit, held at 1e9."""
    m = np.asarray(scaled, float)
    if scale == "logit":
        return whole * logit_to_share(m, looks)
    with np.errstate(over="ignore"):
        return np.asarray(np.clip(np.exp(m) if scale == "log" else m, -LARGEST, LARGEST))


def lms_z(value: npt.ArrayLike, power: float, median: float | Floats, variation: float | Floats) -> Floats:
    """z of a value by L (power), M (median) and S (variation), with the WHO rule beyond 3 SD.

    z = ((y / M)^L - 1) / (L S), or ln(y / M) / S at L = 0.

    >>> round(float(lms_z(9.7, -0.1600954, 9.476500305, 0.11218624)), 7)
    0.2073994
    """
    y = np.asarray(value, float)
    with np.errstate(all="ignore"):
        ratio = np.log(np.where(y > 0, y, np.nan) / median)
        plain = ratio if abs(power) < _L_IS_ZERO else np.expm1(power * ratio) / power
    sd = {k: _plain_lms_value(float(k), power, median, variation) for k in (-3, -2, 2, 3)}
    high = 3 + (y - sd[3]) / (sd[3] - sd[2])
    low = -3 + (y - sd[-3]) / (sd[-2] - sd[-3])
    z = np.where(y > sd[3], high, np.where(y < sd[-3], low, plain / variation))
    return np.where(y > 0, z, np.nan)


def lms_value(z: npt.ArrayLike, power: float, median: float, variation: float) -> Floats:
    """Value at a z, the inverse of `lms_z`.

    >>> round(float(lms_value(-1.880793608, -0.1600954, 9.476500305, 0.11218624)), 6)
    7.700624
    """
    at = np.asarray(z, float)
    sd = {k: _plain_lms_value(float(k), power, median, variation) for k in (-3, -2, 2, 3)}
    high = sd[3] + (at - 3) * (sd[3] - sd[2])
    low = sd[-3] + (at + 3) * (sd[-2] - sd[-3])
    plain = _plain_lms_value(at, power, median, variation)
    return np.clip(np.where(at > 3, high, np.where(at < -3, low, plain)), -LARGEST, LARGEST)


def _plain_lms_value(z: npt.ArrayLike, power: float, median: float | Floats,
                     variation: float | Floats) -> Floats:
    at = np.asarray(z, float)
    if abs(power) < _L_IS_ZERO:
        with np.errstate(over="ignore"):
            return np.asarray(median * np.exp(variation * at))
    with np.errstate(all="ignore"):
        return np.asarray(median * (1 + power * variation * at) ** (1 / power))
