"""Error, time on target, scatter and offset on points worked by hand, and against general references."""

import numpy as np
import pytest
from scipy import stats

from kiosk.scoring.accuracy import error_rms_mm, offset_mm, scatter_mm, time_on_target_percent


def cloud(seed, n=200_000, sd_mm=1.0, beside=0j):
    rng = np.random.default_rng(seed)
    return beside + sd_mm * (rng.standard_normal(n) + 1j * rng.standard_normal(n))


def test_error_is_the_root_mean_square_distance_cut_at_forty_millimetres():
    hand = np.array([3 + 4j, 0 + 12j, 200 + 0j])
    assert error_rms_mm(hand, np.zeros(3, complex)) == pytest.approx(np.sqrt((25 + 144 + 1600) / 3))


def test_the_rim_belongs_to_the_disc():
    disc = 40 * np.exp(1j * np.linspace(0, 6, 50))
    on_rim = disc + 12 * np.exp(1j * np.linspace(0, 40, 50))
    down = np.ones(50, bool)
    assert time_on_target_percent(on_rim, disc, down, 12.0) == 100.0
    beyond = disc + 12.000001 * np.exp(1j * np.linspace(0, 40, 50))
    assert time_on_target_percent(beyond, disc, down, 12.0) == 0.0


def test_scatter_and_offset_split_the_error_of_an_uncut_hand():
    """Total error squared is constant error squared plus variable error squared."""
    hand, disc = cloud(1, 4000, 3.0, 4 - 2j), np.zeros(4000, complex)
    split = abs(offset_mm(hand, disc)) ** 2 + scatter_mm(hand, disc) ** 2
    assert split == pytest.approx(error_rms_mm(hand, disc) ** 2, rel=1e-9)


def test_scatter_is_the_square_root_of_both_axes_variance():
    hand = cloud(2, 5000, 2.0, 1 + 1j)
    outside = np.sqrt(np.var(hand.real) + np.var(hand.imag))
    assert scatter_mm(hand, np.zeros(5000, complex)) == pytest.approx(outside, rel=1e-12)


@pytest.mark.parametrize(("sd_mm", "radius_mm", "share"), [
    (1, 1, 0.39346934), (1, 2, 0.86466472), (10, 15, 0.67534753)])
def test_time_on_target_of_a_gaussian_hand_is_the_published_share(sd_mm, radius_mm, share):
    """TOT_1_1, TOT_1_2, TOT_10_15 (Rayleigh; recomputed, Monte Carlo agrees); RMS is s sqrt 2."""
    hand = cloud(3, sd_mm=sd_mm)
    disc, down = np.zeros(hand.size, complex), np.ones(hand.size, bool)
    four_se = 400 * np.sqrt(share * (1 - share) / hand.size)
    assert time_on_target_percent(hand, disc, down, radius_mm) == pytest.approx(100 * share, abs=four_se)
    assert scatter_mm(hand, disc) == pytest.approx(1.41421356 * sd_mm, rel=5e-3)
    assert 100 * stats.rayleigh.cdf(radius_mm / sd_mm) == pytest.approx(100 * share, abs=1e-5)


@pytest.mark.parametrize(("beside", "radius_mm", "share", "rms"), [
    (1, 1, 0.2671202, 1.73205081), (1, 2, 0.73098794, 1.73205081), (2, 2, 0.39649904, 2.44948974)])
def test_time_on_target_beside_the_centre_is_the_published_share(beside, radius_mm, share, rms):
    """RICE_1_1_1, RICE_1_1_2, RICE_2_1_2 (scipy.stats.rice = ncx2; Monte Carlo agrees)."""
    hand = cloud(4, beside=beside * np.exp(2j))
    disc, down = np.zeros(hand.size, complex), np.ones(hand.size, bool)
    four_se = 400 * np.sqrt(share * (1 - share) / hand.size)
    assert time_on_target_percent(hand, disc, down, radius_mm) == pytest.approx(100 * share, abs=four_se)
    assert error_rms_mm(hand, disc) == pytest.approx(rms, rel=5e-3)
    assert stats.rice.cdf(radius_mm, beside) == pytest.approx(share, abs=1e-6)
