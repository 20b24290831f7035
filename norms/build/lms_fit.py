"""L, M and S by maximum likelihood: log M and log S smooth in age, L one number.

y (n,) above 0; x (n, p) and s (n, q) are the columns for log M and log S; weights (b, n) say how often each
person counts in each of b refits. z = ((y / M)^L - 1) / (L S) is standard normal under the model.

References
----------
Cole TJ, Green PJ (1992), Statistics in Medicine 11:1305-1319: likelihood, scores and expected information.

Decision norms-2.
"""

from typing import NamedTuple

import numpy as np

from norms.table.scale import Floats

STEPS, SETTLED, LONGEST_STEP = 80, 1e-11, 0.5


class LmsFits(NamedTuple):
    """Coefficients of log M (b, p) and log S (b, q), and L (b,)."""

    log_m: Floats
    log_s: Floats
    power: Floats


class _Moment(NamedTuple):
    """z of every person in every refit, x = log(y / M), S and L, each (b, n)."""

    z: Floats
    ratio: Floats
    s: Floats
    power: Floats


def fit_lms(x: Floats, s: Floats, y: Floats, weights: Floats, begin: LmsFits) -> LmsFits:
    """Fisher scoring of all parameters together, until nothing moves."""
    theta = np.concatenate([begin.log_m, begin.log_s, begin.power[:, None]], axis=1)
    p, q = x.shape[1], s.shape[1]
    for _ in range(STEPS):
        at = _moment(x, s, y, theta)
        up = [(weights * part) @ columns for part, columns in zip(_scores(at), _columns(x, s), strict=True)]
        slope = np.concatenate(up, axis=1)[:, :, None]
        step = np.linalg.solve(_information(at, x, s, weights), slope)[:, :, 0]
        theta = theta + step * np.minimum(1, LONGEST_STEP / np.abs(step).max(1, keepdims=True))
        if np.abs(step).max() < SETTLED:
            break
    return LmsFits(theta[:, :p], theta[:, p : p + q], theta[:, -1])


def lms_deviance(fits: LmsFits, x: Floats, s: Floats, y: Floats) -> float:
    """-2 log likelihood of the first fit; log f = (L - 1) ln y - L ln M - ln S - ln(2 pi) / 2 - z^2 / 2."""
    at = _moment(x, s, y, np.concatenate([fits.log_m[:1], fits.log_s[:1], fits.power[:1, None]], axis=1))
    terms = 2 * np.log(y) - 2 * at.power * at.ratio + 2 * np.log(at.s) + np.log(2 * np.pi) + at.z**2
    return float(terms.sum())


def _moment(x: Floats, s: Floats, y: Floats, theta: Floats) -> _Moment:
    p = x.shape[1]
    ratio = np.log(y) - theta[:, :p] @ x.T
    spread, power = np.exp(theta[:, p:-1] @ s.T), theta[:, -1:]
    return _Moment(_powered(power, ratio) / spread, ratio, spread, np.broadcast_to(power, ratio.shape))


def _powered(power: Floats, ratio: Floats) -> Floats:
    """(e^(L r) - 1) / L; r at L = 0."""
    small = np.abs(power) < 1e-8
    safe = np.where(small, 1.0, power)
    return np.where(small, ratio, np.expm1(safe * ratio) / safe)


def _scores(at: _Moment) -> tuple[Floats, Floats, Floats]:
    """Slopes of the log likelihood by log M, log S and L."""
    surplus = at.z**2 - 1
    by_m = at.z / at.s + at.power * surplus
    by_power = at.ratio - at.z * at.ratio**2 * _second(at.power * at.ratio) / at.s
    return by_m, surplus, by_power


def _second(t: Floats) -> Floats:
    """(1 - e^t + t e^t) / t^2: half at 0."""
    small = np.abs(t) < 1e-3
    safe = np.where(small, 1.0, t)
    return np.where(small, 0.5 + t / 3 + t**2 / 8, (1 - np.exp(safe) + safe * np.exp(safe)) / safe**2)


def _columns(x: Floats, s: Floats) -> tuple[Floats, Floats, Floats]:
    return x, s, np.ones((len(x), 1))


def _information(at: _Moment, x: Floats, s: Floats, weights: Floats) -> Floats:
    """Expected information, (b, p + q + 1, p + q + 1)."""
    of = {
        (0, 0): (1 + 2 * (at.power * at.s) ** 2) / at.s**2,
        (0, 1): 2 * at.power,
        (1, 1): 2 + 0 * at.s,
        (0, 2): -0.5 + 0 * at.s,
        (1, 2): at.power * at.s**2,
        (2, 2): 7 * at.s**2 / 4,
    }
    columns = _columns(x, s)
    blocks: list[list[Floats]] = [[np.empty(0)] * 3 for _ in range(3)]
    for (row, column), part in of.items():
        one, two = columns[row], columns[column]
        pairs = (one[:, :, None] * two[:, None, :]).reshape(len(one), -1)
        block = ((weights * part) @ pairs).reshape(len(weights), one.shape[1], two.shape[1])
        blocks[row][column], blocks[column][row] = block, block.transpose(0, 2, 1)
    return np.block(blocks)
