"""Mean and log SD as smooth functions of age, fitted to people or to groups of people.

x (n, p) and s (n, q) are the columns of norms/build/age_curve.py for mean and log SD; y (n,) stands on the
measure's scale. weights (b, n) say how often each person counts in each of b refits, so all refits run at
once. Fits hold one row of coefficients a refit.

References
----------
Smyth GK, Verbyla AP (1999), Adjusted likelihood methods for modelling dispersion in generalized linear
models, Environmetrics 10:695-709 (squared residuals set against 1 - leverage: the SD is as by REML).

Decision norms-3.
"""

from typing import NamedTuple

import numpy as np

from norms.table.scale import Floats

STEPS, SETTLED, LONGEST_STEP = 80, 1e-12, 1.0


class Fits(NamedTuple):
    """Coefficients of mean (b, p) and log SD (b, q)."""

    mean: Floats
    log_sd: Floats


class Groups(NamedTuple):
    """Groups of people of about one age, (b, g) each: number, mean and variance of y."""

    n: Floats
    mean: Floats
    variance: Floats


def fit_people(x: Floats, s: Floats, y: Floats, weights: Floats, begin: Floats | None = None) -> Fits:
    """Fisher scoring, mean and log SD in turn, until nothing moves; `begin` (1, q) is a log SD to begin with.

    >>> ages = np.linspace(-1, 1, 9)
    >>> y = 3 + 2 * ages + np.tile([1, -2, 1], 3)
    >>> fit = fit_people(np.stack([np.ones(9), ages], 1), np.ones((9, 1)), y, np.ones((1, 9)))
    >>> fit.mean.round(6).tolist(), round(float(np.exp(fit.log_sd[0, 0])), 6)  # residual SS 18, 9 - 2 degrees
    ([[3.0, 2.0]], 1.603567)
    """
    pairs, log_pairs = _products(x), _products(s)
    log_sd = _constant(s, 0.5 * np.log(_spread(y, weights))) if begin is None else begin
    mean = np.zeros((len(weights), x.shape[1]))
    for _ in range(STEPS):
        scaled = weights * np.exp(-2 * log_sd @ s.T)
        inverse = np.asarray(np.linalg.inv((scaled @ pairs).reshape(len(weights), x.shape[1], -1)), float)
        before, mean = mean, _times(inverse, (scaled * y) @ x)
        lever = scaled / np.maximum(weights, 1) * (inverse.reshape(len(weights), -1) @ pairs.T)
        freedom = weights * (1 - np.minimum(lever, 0.999))
        surplus = scaled * (y - mean @ x.T) ** 2 - freedom
        step = _solve((freedom @ log_pairs).reshape(len(weights), s.shape[1], -1), surplus @ s) / 2
        log_sd = log_sd + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
        if _settled(step, mean - before, mean):
            break
    return Fits(mean, log_sd)


def fit_groups(x: Floats, s: Floats, groups: Groups) -> Fits:
    """The same from groups: means by n / variance, variances by their n - 1 degrees of freedom."""
    pairs, log_pairs = _products(x), _products(s)
    freedom = np.maximum(groups.n - 1, 0)
    pooled = (freedom * groups.variance).sum(1) / freedom.sum(1)
    log_sd = _constant(s, 0.5 * np.log(pooled))
    informed = (freedom @ log_pairs).reshape(len(freedom), s.shape[1], -1)
    for _ in range(STEPS):
        step = _solve(informed, (freedom * (groups.variance * np.exp(-2 * log_sd @ s.T) - 1)) @ s) / 2
        log_sd = log_sd + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
        if _settled(step):
            break
    scaled = groups.n * np.exp(-2 * log_sd @ s.T)
    mean = _solve((scaled @ pairs).reshape(len(freedom), x.shape[1], -1), (scaled * groups.mean) @ x)
    return Fits(mean, log_sd)


def deviance_of_people(fits: Fits, x: Floats, s: Floats, y: Floats) -> float:
    """-2 log likelihood of the first fit."""
    log_sd = s @ fits.log_sd[0]
    return float((np.log(2 * np.pi) + 2 * log_sd + ((y - x @ fits.mean[0]) * np.exp(-log_sd)) ** 2).sum())


def deviance_of_groups(fits: Fits, x: Floats, s: Floats, groups: Groups) -> float:
    """-2 log likelihood of the people behind the groups of the first fit."""
    n, mean, variance = (part[0] for part in groups)
    log_sd = s @ fits.log_sd[0]
    squares = (n - 1) * variance + n * (mean - x @ fits.mean[0]) ** 2
    return float((n * (np.log(2 * np.pi) + 2 * log_sd) + squares * np.exp(-2 * log_sd)).sum())


def _products(x: Floats) -> Floats:
    """Every product of two columns, (n, p p)."""
    return (x[:, :, None] * x[:, None, :]).reshape(len(x), -1)


def _spread(y: Floats, weights: Floats) -> Floats:
    people = weights.sum(1)
    mean = weights @ y / people
    return np.asarray(np.maximum(weights @ y**2 / people - mean**2, 1e-18 * np.maximum(mean**2, 1e-300)))


def _constant(s: Floats, level: Floats) -> Floats:
    """Coefficients of a curve that is level: the first column is one."""
    flat = np.zeros((len(level), s.shape[1]))
    flat[:, 0] = level
    return flat


def _times(matrices: Floats, vectors: Floats) -> Floats:
    return np.asarray((matrices @ vectors[:, :, None])[:, :, 0])


def _solve(matrices: Floats, vectors: Floats) -> Floats:
    return np.asarray(np.linalg.solve(matrices, vectors[:, :, None])[:, :, 0])


def _settled(step: Floats, moved: Floats | None = None, level: Floats | None = None) -> bool:
    if moved is None or level is None:
        return bool(np.abs(step).max() < SETTLED)
    return bool(np.abs(step).max() < SETTLED and np.abs(moved).max() < SETTLED * np.abs(level).max())
