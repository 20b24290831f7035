"""As how many people a fitted curve is good at an age: n_mean for its mean, df_sd for its SD.

Recipe for every kind of curve: 200 refits to people drawn anew with replacement. The values at z = 0 and at
+-1.645 of the table's curve are scored again by every refit; V0 is the variance at 0, V1 the mean of those at
+-1.645: n_mean = 1 / V0, df_sd = 1.645^2 / (2 (V1 - V0)). Neither is above what all people together give.
Above 20,000 people the sampling law of the sums by year takes the place of the refits. Decision norms-6.
"""

from collections.abc import Iterator

import numpy as np
from numpy.random import Generator

from norms.build.age_curve import Curve, CurveValues, refit_lms
from norms.build.lms_fit import LmsFits
from norms.build.normal_fit import Fits, Groups, fit_groups, fit_people
from norms.table.scale import Floats

REFITS = 200
OUTER_Z = 1.645
AT_A_TIME = 250_000  # products: few enough for the cache and for one processor, as threads would only wait



def effective_sizes(point: CurveValues, refits: CurveValues, n: int) -> tuple[Floats, Floats]:
    """n_mean and df_sd at each age."""
    low, middle, high = (refits.z(point.value(z)).var(axis=0, ddof=1) for z in (-OUTER_Z, 0.0, OUTER_Z))
    surplus = np.maximum((low + high) / 2 - middle, 1e-12)
    return _within(1 / middle, OUTER_Z**2 / (2 * surplus), n)


def draws(n: int, refits: int, rng: Generator, columns: int) -> Iterator[Floats]:
    """How often each person counts in each refit, (part, n) at a time; the same however large the parts."""
    part = max(1, AT_A_TIME // (n * columns**2))
    for begin in range(0, refits, part):
        yield rng.multinomial(n, np.full(n, 1 / n), size=min(part, refits - begin)).astype(float)


def bootstrap_people(curve: Curve, ages: Floats, y: Floats, rng: Generator, refits: int = REFITS,
                     covariates: Floats | None = None) -> Curve | None:
    """The curve fitted again to people drawn anew; None where a refit finds no end."""
    x, s = curve.shape.mean.at(ages), curve.shape.log_sd.at(ages)
    if covariates is not None:
        x = np.concatenate([x, covariates], axis=1)
    found: list[Fits | LmsFits] = []
    for weights in draws(len(ages), refits, rng, x.shape[1]):
        one = (
            refit_lms(x, s, y, weights, curve.fits)
            if isinstance(curve.fits, LmsFits)
            else fit_people(x, s, y, weights, curve.fits.log_sd)
        )
        if one is None:
            return None
        found.append(one)
    joined = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return Curve(curve.shape, type(curve.fits)(*joined), curve.sd_factor)


def bootstrap_groups(
    curve: Curve, ages: Floats, group: np.ndarray, y: Floats, rng: Generator, refits: int = REFITS
) -> Curve:
    """The same where the curve goes through groups; `group` is each person's place, `ages` the people's."""
    found = []
    belongs = np.eye(int(group.max()) + 1)[group]
    for weights in draws(len(y), refits, rng, belongs.shape[1]):
        groups, mean_age = grouped(belongs, ages, y, weights)
        found += [
            _one_group_fit(curve, mean_age[place], Groups(*(part[place : place + 1] for part in groups)))
            for place in range(len(weights))
        ]
    return Curve(curve.shape, Fits(*(np.concatenate(parts) for parts in zip(*found, strict=True))))


def grouped(belongs: Floats, ages: Floats, y: Floats, weights: Floats) -> tuple[Groups, Floats]:
    """Number, mean, variance and mean age of each group in each refit; a group of none counts for nothing."""
    n = weights @ belongs
    some = np.maximum(n, 1)
    mean, mean_age = (weights * y) @ belongs / some, (weights * ages) @ belongs / some
    squares = (weights * y**2) @ belongs - n * mean**2
    return Groups(n, mean, np.maximum(squares, 0) / np.maximum(n - 1, 1)), mean_age


def _one_group_fit(curve: Curve, mean_age: Floats, groups: Groups) -> Fits:
    return fit_groups(curve.shape.mean.at(mean_age), curve.shape.log_sd.at(mean_age), groups)


def effective_sizes_from_sums(
    curve: Curve, mean_age: Floats, n_group: Floats, squares: Floats, surplus: Floats, at: Floats, n: int
) -> tuple[Floats, Floats]:
    """n_mean and df_sd at the ages `at` from sums over the people of each year alone.

    n_group, squares, surplus: sums of 1, z^2 and (z^2 - 1)^2 over a year's people, z by the curve: what
    the slopes of the likelihood vary by (for normal people n, n and 2 n), whatever the people's distribution.
    """
    x, s = curve.shape.mean.at(mean_age), curve.shape.log_sd.at(mean_age)
    weight = curve.at(mean_age).sd[0] ** -2
    by_mean = _sandwich(x, n_group * weight, squares * weight)
    by_log_sd = _sandwich(s, 2 * n_group, surplus)
    asked_x, asked_s = curve.shape.mean.at(at), curve.shape.log_sd.at(at)
    v_mean = ((asked_x @ by_mean) * asked_x).sum(1)
    v_log_sd = ((asked_s @ by_log_sd) * asked_s).sum(1)
    return _within(curve.at(at).sd[0] ** 2 / v_mean, 1 / (2 * v_log_sd), n)


def _sandwich(x: Floats, informed: Floats, varying: Floats) -> Floats:
    inverse = np.linalg.inv(x.T @ (x * informed[:, None]))
    return np.asarray(inverse @ (x.T @ (x * varying[:, None])) @ inverse)


def _within(n_mean: Floats, df_sd: Floats, n: int) -> tuple[Floats, Floats]:
    return np.minimum(n_mean, n), np.clip(df_sd, 1.0, n - 1)
