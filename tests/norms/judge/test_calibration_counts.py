"""The chances of several low and of several changed measures, against people drawn for the purpose.

Every draw has a new norm sample or retest study and a new person.
"""

import numpy as np
import pytest

from norms.judge.joint_rule import joint_limits, outside
from norms.judge.profile import CHANGE_Z, LOW_Z_STAR, chances_of_counts
from norms.judge.single_case import z_star_of
from tests.norms.drawn import CORRELATIONS, OF_CHANGE, summary

SEED, DRAWS, CHUNK = 20_261_127, 20_000, 2_000


def people(rng: np.random.Generator, shape: tuple[int, ...], correlations: np.ndarray) -> np.ndarray:
    """Normal scores of six measures along the last axis."""
    return rng.standard_normal((*shape, 6)) @ np.linalg.cholesky(correlations).T


def at_least(counts: np.ndarray) -> list[float]:
    """% with 1, 2, 3, 4 or more."""
    return [100 * float(np.mean(counts >= k)) for k in (1, 2, 3, 4)]


def z_by_own_samples(n: int) -> np.ndarray:
    """z of a new person by a new norm sample of n in every draw."""
    rng, parts = np.random.default_rng([SEED, n]), []
    for _ in range(DRAWS // CHUNK):
        sample = people(rng, (CHUNK, n), CORRELATIONS)
        parts.append((people(rng, (CHUNK,), CORRELATIONS) - sample.mean(axis=1)) / sample.std(axis=1, ddof=1))
    return np.concatenate(parts)


def test_the_low_score_chance_is_that_of_people_judged_by_samples_of_50() -> None:
    found = at_least((z_star_of(z_by_own_samples(50), 50, 49) < LOW_Z_STAR).sum(axis=1))
    chances = chances_of_counts(CORRELATIONS, LOW_Z_STAR)[:4]
    print(f"n 50, seed {SEED}, {DRAWS} draws (SE .32 at 28): people {found}, chance {chances}")
    assert found == pytest.approx(chances, abs=1.0)


def test_raw_z_at_n_30_would_not_keep_the_chance() -> None:
    z = z_by_own_samples(30)
    chances = chances_of_counts(CORRELATIONS, LOW_Z_STAR)[:4]
    assert at_least((z_star_of(z, 30, 29) < LOW_Z_STAR).sum(axis=1)) == pytest.approx(chances, abs=1.0)
    assert at_least((z < LOW_Z_STAR).sum(axis=1)) != pytest.approx(chances, abs=1.0)


def changed(n: int, level: float | None) -> list[float]:
    """% with 1, 2, 3, 4 or more of six called worse, in people at a stable true level, or healthy ones."""
    rng, r, counts = np.random.default_rng([SEED, 2, n]), 0.8, []
    for _ in range(DRAWS // CHUNK):
        true = np.sqrt(r) * people(rng, (CHUNK, n), CORRELATIONS)
        first, second = (true + np.sqrt(1 - r) * people(rng, (CHUNK, n), OF_CHANGE) for _ in range(2))
        own = np.sqrt(r) * people(rng, (CHUNK,), CORRELATIONS) if level is None else level
        before, after = (own + np.sqrt(1 - r) * people(rng, (CHUNK,), OF_CHANGE) for _ in range(2))
        worse = [
            outside(after[:, k], joint_limits(before[:, k], summary(first[..., k], second[..., k]))) < 0
            for k in range(6)
        ]
        counts.append(np.sum(worse, axis=0))
    return at_least(np.concatenate(counts))


@pytest.mark.parametrize("n", [50, pytest.param(100, marks=pytest.mark.long)])
def test_the_change_chance_is_that_of_stable_people_at_minus_2(n: int) -> None:
    # Errors of the two visits correlate by OF_CHANGE, so do differences: R_D is known exactly.
    chances, found = chances_of_counts(OF_CHANGE, CHANGE_Z)[:4], changed(n, -2.0)
    print(f"study n {n}, seed {SEED}, {DRAWS} draws (SE .3): people {found}, chance {chances}")
    assert found == pytest.approx(chances, abs=1.0)


@pytest.mark.long
def test_the_change_chance_is_an_upper_bound_for_healthy_people() -> None:
    chances, found = chances_of_counts(OF_CHANGE, CHANGE_Z)[:4], changed(50, None)
    assert all(one < bound for one, bound in zip(found, chances, strict=True))
