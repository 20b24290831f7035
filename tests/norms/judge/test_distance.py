"""All measures together: the squared distance and its F."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from norms import PRIMARY_MEASURES, ProfileDistance, Refusal, profile_distance, read_folder
from norms.judge.profile import distance_f
from tests.norms.drawn import CORRELATIONS
from tests.norms.folders import EXAMPLE
from tests.norms.judge.test_profile import standings


def test_the_f_is_that_of_a_public_worked_output() -> None:
    # D 3, k 4, n 50: Hotelling's T^2 8.823529, p .1000572 (R package singcar, multivariate test; recomputed).
    f, percent = distance_f(9.0, 4, 50)
    assert f == pytest.approx(8.823529 * 46 / (49 * 4), abs=1e-6)
    assert percent == pytest.approx(10.00572, abs=1e-4)


def test_for_one_measure_it_is_the_two_sided_t_of_crawford_and_howell() -> None:
    for z, n in ((-2.0, 50), (1.3, 30)):
        t = z / np.sqrt(1 + 1 / n)
        _, percent = distance_f(z**2, 1, n)
        assert percent == pytest.approx(200 * stats.t.sf(abs(t), n - 1), abs=1e-9)


def test_people_are_called_far_as_often_as_said_and_chi_square_would_call_more() -> None:
    # n 30, k 4, nominal 5: F 5.1 %, chi-square 11.6 % (own Monte Carlo).
    rng, draws, n, k = np.random.default_rng(20_261_129), 20_000, 30, 4
    root = np.linalg.cholesky(CORRELATIONS[:k, :k])
    sample = rng.standard_normal((draws, n, k)) @ root.T
    away = sample - sample.mean(axis=1, keepdims=True)
    covariance = np.einsum("dpi,dpj->dij", away, away) / (n - 1)
    person = rng.standard_normal((draws, k)) @ root.T - sample.mean(axis=1)
    squared = np.einsum("di,di->d", person, np.linalg.solve(covariance, person[..., None])[..., 0])
    edge = stats.f.ppf(0.95, k, n - k)
    far = [distance_f(float(one), k, n)[0] > edge for one in squared]
    assert 100 * np.mean(far) == pytest.approx(5.0, abs=0.5)
    assert 100 * np.mean(squared > stats.chi2.ppf(0.95, k)) == pytest.approx(11.6, abs=0.7)


def test_a_visits_distance_is_the_quadratic_form_of_its_z() -> None:
    table = read_folder(EXAMPLE)
    placed = standings(table)
    found = profile_distance(table, placed)
    assert isinstance(found, ProfileDistance)
    r = {
        frozenset((one.measure_1, one.measure_2)): one.r for one in table.correlations if one.kind == "visit"
    }
    matrix = np.array(
        [[1.0 if a == b else r[frozenset((a, b))] for b in PRIMARY_MEASURES] for a in PRIMARY_MEASURES]
    )
    z = np.array([one.z for one in placed])
    assert found.squared_distance == pytest.approx(float(z @ np.linalg.inv(matrix) @ z))
    assert (found.df_1, found.df_2, found.n) == (6, 194, 200)
    assert found.percent_as_far == pytest.approx(100 * stats.f.sf(found.f, 6, 194))


def test_too_few_people_or_unsound_correlations_are_refused() -> None:
    table = read_folder(EXAMPLE)
    few = replace(table, correlations=tuple(replace(one, n=7) for one in table.correlations))
    found = profile_distance(few, standings(table))
    assert isinstance(found, Refusal) and found.code == "too_many_measures"
    assert isinstance(profile_distance(replace(table, correlations=()), standings(table)), Refusal)
