"""The scales, against published LMS examples and hand-worked numbers."""

import numpy as np
import pytest
from scipy.stats import norm

from norms.table.scale import from_scale, lms_value, lms_z, logit_to_share, share_to_logit, to_scale

BOY = (-0.1600954, 9.476500305, 0.11218624)  # CDC 2000, boys, weight, 9.5 months


@pytest.mark.parametrize(
    ("scale", "values"),
    [
        ("identity", np.linspace(-300, 300, 61)),
        ("log", np.geomspace(0.01, 500, 61)),
        ("logit", np.linspace(0, 100, 61)),
    ],
)
def test_the_way_back_undoes_the_way_there_and_both_rise(scale: str, values: np.ndarray) -> None:
    scaled = to_scale(values, scale, looks=32, whole=100)
    assert np.all(np.diff(scaled) > 0)
    assert np.allclose(from_scale(scaled, scale, looks=32, whole=100), values, atol=1e-9)


def test_the_logit_counts_half_a_look_on_either_side() -> None:
    # By hand, N 32: ln(32.5/.5) at 100 %, ln(32.18/.82) at 99 %, 0 at 50 %.
    assert share_to_logit(1.0, 32) == pytest.approx(np.log(65), abs=1e-12)
    assert share_to_logit(0.99, 32) == pytest.approx(np.log(32.18 / 0.82), abs=1e-12)
    assert share_to_logit(0.5, 32) == 0
    assert share_to_logit(0.0, 20) == pytest.approx(-np.log(41), abs=1e-12)


def test_a_share_turned_back_stays_between_nothing_and_all() -> None:
    assert logit_to_share(9.0, 32) == 1 and logit_to_share(-9.0, 32) == 0


@pytest.mark.parametrize(
    ("scale", "value"),
    [("log", 0.0), ("log", -1.0), ("logit", -0.1), ("logit", 100.1), ("lms", 0.0), ("lms", -2.0)],
)
def test_a_value_its_scale_cannot_hold_is_not_a_number(scale: str, value: float) -> None:
    assert np.isnan(to_scale(value, scale, looks=32, whole=100))


@pytest.mark.parametrize(
    ("power", "median", "variation", "value", "z", "tolerance"),
    [
        (*BOY, 9.7, 0.2073994, 1e-6),  # CDC growth chart data file, worked example: .207, 58th
        (-0.2022, 8.9462, 0.12267, 9.0, 0.048847177, 1e-8),  # WHO girl 365 d; Grellety, figshare 4294085
        (0.0, 100.0, 0.2, 120.0, 0.91160778, 1e-8),  # definition, ln(1.2)/.2
        (1e-10, 100.0, 0.2, 120.0, 0.91160778, 1e-6),  # continuity at L 0
        (1.0, 50.0, 0.2, 30.0, -2.0, 1e-12),  # L 1 is the normal z
        (*BOY, 14.0, 3.40848934, 1e-6),  # beyond 3 SD; WHO 2006 methods, chapter 7 (3.408 in public tests)
        (*BOY, 6.0, -4.0697, 1e-4),  # the same below (-4.07)
    ],
)
def test_lms_gives_the_published_z(
    power: float, median: float, variation: float, value: float, z: float, tolerance: float
) -> None:
    assert float(lms_z(value, power, median, variation)) == pytest.approx(z, abs=tolerance)


def test_beyond_3_sd_the_rule_of_the_who_takes_the_place_of_the_plain_formula() -> None:
    # 14 kg: plain 3.37208748, restricted 3.40848934 (WHO 2006 methods, chapter 7; recomputed).
    power, median, variation = BOY
    assert ((14 / median) ** power - 1) / (power * variation) == pytest.approx(3.37208748, abs=1e-6)
    assert float(lms_z(14.0, *BOY)) == pytest.approx(3.40848934, abs=1e-6)


@pytest.mark.parametrize(
    ("percent", "value", "tolerance"),
    [(3, 7.700624405, 2e-8), (5, 7.900755, 1e-6), (90, 10.96017225, 2e-8), (97, 11.745384637, 1e-6)],
)
def test_lms_gives_the_published_centiles(percent: float, value: float, tolerance: float) -> None:
    # CDC 2000 table, boys, weight, 9.5 months.
    assert float(lms_value(norm.ppf(percent / 100), *BOY)) == pytest.approx(value, abs=tolerance)


def test_the_58th_centile_of_the_published_example() -> None:
    assert 100 * norm.cdf(lms_z(9.7, *BOY)) == pytest.approx(58.2151, abs=1e-3)


@pytest.mark.parametrize("power", [-0.8, -1e-9, 0.0, 0.3, 1.0])
def test_lms_and_its_inverse_undo_each_other_far_into_both_tails(power: float) -> None:
    z = np.linspace(-6, 6, 121)
    values = lms_value(z, power, 9.5, 0.1)
    assert np.all(np.diff(values) > 0)
    assert np.allclose(lms_z(values, power, 9.5, 0.1), z, atol=1e-9)
