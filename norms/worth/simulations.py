"""Worlds behind a table: what may be true of the people, given what its samples found.

The truth is drawn anew in each world from the sampling law of the estimates: with the stored estimates
themselves as truth a table would judge itself. Everything is on z of the table, where the estimated mean is
0 and the SD 1.

Reference group: SD = sqrt(df / chi2_df), mean = -SD N / sqrt(n_mean). Retest study of n pairs: with L the
lower root of its covariance and T that of a Wishart matrix (I, n - 1) over n - 1, the true root is L T^-1;
the true means lie that root times N2 / sqrt(n) away. First SD, slope, and error about the regression then
have their exact laws (chi2 with n - 1, normal, chi2 with n - 2).

References
----------
Fisher RA (1935), Annals of Eugenics 6:391-398. Berger JO, Sun D (2008), Annals of Statistics 36:963-982 (the
pair of means and the covariance of two normal measurements; this is their right-invariant law).

Decisions norms-10, norms-11.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.table.scale import Floats
from norms.table.table import RetestRow

NODES = 41


class Truth(NamedTuple):
    """True mean and SD of the reference group (worlds x rows)."""

    mean: Floats
    sd: Floats


class PairTruth(NamedTuple):
    """Truth about two visits of the retest population, one number a world."""

    mean_1: Floats
    sd_1: Floats
    mean_2: Floats
    slope: Floats
    error_sd: Floats

    @property
    def difference_sd(self) -> Floats:
        return np.hypot(self.error_sd, (self.slope - 1) * self.sd_1)


class SecondScores(NamedTuple):
    """First scores (worlds x nodes) with their weights, and the law of the second score after each."""

    first: Floats
    weight: Floats
    mean: Floats
    sd: Floats


def reference_truth(rng: np.random.Generator, worlds: int, n_mean: npt.ArrayLike,
                    df_sd: npt.ArrayLike) -> Truth:
    """Mean and SD of the reference group in each world, for each row."""
    n, df = np.atleast_1d(np.asarray(n_mean, float)), np.atleast_1d(np.asarray(df_sd, float))
    sd = np.sqrt(df / rng.chisquare(df, (worlds, len(df))))
    return Truth(-sd * rng.standard_normal((worlds, len(n))) / np.sqrt(n), sd)


def pair_truth(rng: np.random.Generator, worlds: int, study: RetestRow) -> PairTruth:
    """Means, first SD, slope and error of the two visits in each world."""
    n, r, sd_2 = study.n, study.r, study.sd_2
    t_11 = np.sqrt(rng.chisquare(n - 1, worlds) / (n - 1))
    t_22 = np.sqrt(rng.chisquare(n - 2, worlds) / (n - 1))
    t_21, *away = rng.standard_normal((3, worlds)) / np.sqrt([[n - 1], [n], [n]])
    sd_1, error_sd = study.sd_1 / t_11, sd_2 * np.sqrt(1 - r**2) / t_22
    root_21 = (r * sd_2 - error_sd * t_21) / t_11
    return PairTruth(study.mean_1 - sd_1 * away[0], sd_1,
                     study.mean_2 - root_21 * away[0] - error_sd * away[1], root_21 / sd_1, error_sd)


def healthy(truth: PairTruth) -> SecondScores:
    """People of the retest population."""
    node, weight = _normal_nodes()
    first = truth.mean_1[:, None] + truth.sd_1[:, None] * node
    return _by_regression(truth, first, weight)


def seen_at(truth: PairTruth, z: float) -> SecondScores:
    """People of the retest population whose first score is z."""
    return _by_regression(truth, np.full((len(truth.mean_1), 1), z), np.ones(1))


def stable_at(truth: PairTruth, z: float) -> SecondScores:
    """People whose true score is z at both visits but for the gain; both scores vary about it alike."""
    node, weight = _normal_nodes()
    spread = truth.difference_sd[:, None] / 2**0.5
    first = z + spread * node
    gain = (truth.mean_2 - truth.mean_1)[:, None]
    return SecondScores(first, weight, np.broadcast_to(z + gain, first.shape),
                   np.broadcast_to(spread, first.shape))


def _by_regression(truth: PairTruth, first: Floats, weight: Floats) -> SecondScores:
    mean = truth.mean_2[:, None] + truth.slope[:, None] * (first - truth.mean_1[:, None])
    return SecondScores(first, weight, mean, np.broadcast_to(truth.error_sd[:, None], first.shape))


def _normal_nodes() -> tuple[Floats, Floats]:
    """Points and weights by which a function of a normal deviate is averaged."""
    node, weight = np.polynomial.hermite_e.hermegauss(NODES)
    return node, weight / weight.sum()
