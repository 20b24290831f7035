"""The person's own measurement error: published arithmetic, and the coverage of both intervals."""

import numpy as np
import pytest
from scipy import stats

from kiosk.scoring.block import CIRCLES_LAG, visit_interval
from kiosk.scoring.trial_scores import BlockScore
from norms import ByHand, MeasurementError, Standing, VisitInterval, measurement_error, standing
from norms.judge.measurement_error import sem_of_retest
from norms.table.folder import read_folder
from tests.sources import ROOT

TABLE = read_folder(ROOT / "demo_norms")
SCATTER = "steady.preferred.scatter"
AGE = 60.0


def placed(value: float) -> Standing:
    found = standing(TABLE, SCATTER, value, ByHand(AGE))
    assert isinstance(found, Standing)
    return found


def test_sem_is_sd_times_root_of_one_minus_r_and_that_of_the_differences_over_root_two() -> None:
    """Weir (2005): SEM = SD sqrt(1 - ICC), or SD of differences / sqrt(2); equal where the SDs are."""
    assert sem_of_retest(0.91, 2.0, 2.0) == pytest.approx(2.0 * np.sqrt(1 - 0.91))
    first, second = np.random.default_rng(3).multivariate_normal([0, 0], [[1.0, 0.6], [0.6, 0.8]], 50).T
    r, sd_1, sd_2 = np.corrcoef(first, second)[0, 1], first.std(ddof=1), second.std(ddof=1)
    assert sem_of_retest(r, sd_1, sd_2) == pytest.approx((first - second).std(ddof=1) / np.sqrt(2))


def test_it_is_that_of_the_tables_retest_study() -> None:
    found = placed(5.0)
    study = next(row for row in TABLE.retest if row.measure == SCATTER)
    own = measurement_error(TABLE, found, "not_asked", 1, None)
    assert isinstance(own, MeasurementError) and own.source == "retest" and own.df == study.n - 1
    half = stats.t.ppf(0.975, study.n - 1) * np.sqrt(
        (study.sd_1**2 + study.sd_2**2 - 2 * study.r * study.sd_1 * study.sd_2) / 2)
    assert own.z_interval_95 == pytest.approx((found.z_star - half, found.z_star + half))


def test_it_is_wider_than_the_interval_of_a_large_reference_group() -> None:
    found = placed(5.0)
    own = measurement_error(TABLE, found, "not_asked", 1, None)
    assert own is not None
    widths = [high - low for low, high in (own.z_interval_95, found.z_interval_95)]
    assert widths[0] > 3 * widths[1]


def test_without_a_study_it_is_that_of_the_visit_and_from_one_trial_it_is_unknown() -> None:
    from dataclasses import replace

    bare = replace(TABLE, retest=())
    found = placed(5.0)
    own = measurement_error(bare, found, "not_asked", 1, VisitInterval(4.0, 6.25, 2))
    assert own is not None and own.source == "visit" and own.df == 2
    ends = sorted(placed(value).z for value in (4.0, 6.25))
    assert own.z_interval_95 == pytest.approx([end - found.z + found.z_star for end in ends])
    assert measurement_error(bare, found, "not_asked", 1, None) is None


def test_a_value_from_too_few_trials_does_not_borrow_the_study() -> None:
    found = standing(TABLE, SCATTER, 5.0, ByHand(AGE), enough_trials=False)
    assert isinstance(found, Standing)
    assert measurement_error(TABLE, found, "not_asked", 1, None) is None


@pytest.mark.parametrize("trials", [2, 3])
def test_the_interval_of_a_visit_covers_what_its_trials_scatter_about_in_95_of_100(trials: int) -> None:
    """Monte Carlo SE .34 with 4,000 visits; +-1.96 SE would cover 70 and 81 (Student 1908)."""
    rng, inside, plain = np.random.default_rng(5), 0, 0
    for _ in range(4_000):
        logs = rng.normal(np.log(5.0), 0.2, trials)
        se = float(logs.std(ddof=1) / np.sqrt(trials))
        mean = float(logs.mean())
        found = visit_interval(BlockScore(SCATTER, float(np.exp(mean)), mean, se, trials, "mm"))
        assert found is not None
        inside += found.low <= 5.0 <= found.high
        plain += abs(mean - np.log(5.0)) <= 1.96 * se
    assert 93.0 <= inside / 40 <= 97.0
    assert plain / 40 < 85.0


def test_the_interval_of_a_lag_of_two_blocks_covers_95_of_100() -> None:
    rng, inside = np.random.default_rng(6), 0
    for _ in range(4_000):
        blocks = rng.normal(100.0, 20.0, (2, 3))
        ses = blocks.std(axis=1, ddof=1) / np.sqrt(3)
        mean, se = float(blocks.mean()), float(np.hypot(*ses) / 2)
        found = visit_interval(BlockScore(CIRCLES_LAG, mean, mean, se, 6, "ms"))
        assert found is not None
        inside += found.low <= 100.0 <= found.high
    assert 93.0 <= inside / 40 <= 97.0


def test_the_interval_by_a_retest_study_covers_the_persons_own_mean_in_95_of_100() -> None:
    """Studies of 60, r .75: people whose scores scatter about their own mean with SD sqrt(1 - r)."""
    rng, inside, r, n = np.random.default_rng(7), 0, 0.75, 60
    for _ in range(4_000):
        true = rng.normal(0, np.sqrt(r), n)
        first, second = true + rng.normal(0, np.sqrt(1 - r), (2, n))
        sem = sem_of_retest(float(np.corrcoef(first, second)[0, 1]), first.std(ddof=1), second.std(ddof=1))
        inside += abs(rng.normal(0, np.sqrt(1 - r))) <= stats.t.ppf(0.975, n - 1) * sem
    assert 93.0 <= inside / 40 <= 97.0
