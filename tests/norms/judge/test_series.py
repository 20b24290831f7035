"""Three or more visits: each against the mean of all before it, and the slope."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy import linalg, stats

from norms import ByHand, Comparison, Occasion, Refusal, Series, Table, read_folder, series
from norms.judge.joint_rule import Study, difference_limits, joint_limits, regression_limits
from norms.judge.series_rule import (
    VisitCorrelation,
    comparison_limits,
    compound_symmetry,
    contrast,
    slope,
    widened_level,
)
from tests.norms.folders import EXAMPLE
from tests.norms.judge.test_lookup import SITTING
from tests.norms.table.test_percentiles import with_columns

SCATTER, LAG = "brisk.preferred.scatter", "circles.preferred.lag"
DAYS = (0, 180, 360, 540, 720)
EVEN, FADING = VisitCorrelation.COMPOUND_SYMMETRY, VisitCorrelation.AR_1


@pytest.fixture(scope="module")
def table() -> Table:
    return read_folder(EXAMPLE)


def run(
    table: Table,
    values: tuple[float, ...],
    measure: str = SCATTER,
    days: tuple[float, ...] = DAYS,
    age: float = 70.0,
    earlier_visits: int = 0,
) -> Series | Refusal:
    last = days[len(values) - 1]
    occasions = [
        Occasion(value, ByHand(age - (last - day) / 365.25), visit=f"v{k}")
        for k, (value, day) in enumerate(zip(values, days, strict=False))
    ]
    return series(table, measure, occasions, days[: len(values)], earlier_visits)


def judged(*args: object, **more: object) -> Series:
    found = run(*args, **more)  # type: ignore[arg-type]
    assert isinstance(found, Series)
    return found


# --- laws of the rule ---


def test_with_one_earlier_visit_and_a_large_study_it_is_the_joint_rule() -> None:
    study = Study(1_000_000, 0.8, 0, 1, 0.3, 1)
    for first in (-2.0, 0.0, 1.5):
        one, other = comparison_limits([first], study, 0.90), joint_limits(first, study)
        assert (float(one.lower), float(one.upper)) == pytest.approx((other.lower, other.upper), abs=1e-4)
        assert float(one.expected) == pytest.approx(float(other.expected), abs=1e-5)


def test_with_one_earlier_visit_and_a_small_study_it_differs_by_the_leverage_only() -> None:
    study = Study(40, 0.8, 0, 1, 0.3, 1)
    one = comparison_limits([-1.2], study, 0.90)
    both = [regression_limits(-1.2, study), difference_limits(-1.2, study)]
    assert float(one.lower) == pytest.approx(min(float(part.lower) for part in both), abs=0.01)
    assert float(one.upper) == pytest.approx(max(float(part.upper) for part in both), abs=0.01)


def test_more_earlier_visits_and_fewer_comparisons_narrow_the_limits() -> None:
    study = Study(100, 0.8, 0, 1, 0, 1)
    by_visits = [comparison_limits(np.zeros(m), study, 0.9, False, [EVEN]) for m in (1, 2, 4)]
    assert np.all(np.diff([float(one.upper - one.lower) for one in by_visits]) < 0)
    by_level = [comparison_limits(np.zeros(2), study, widened_level(k)) for k in (1, 2, 5)]
    assert np.all(np.diff([float(one.upper - one.lower) for one in by_level]) > 0)


def test_the_gain_is_taken_off_every_visit_after_the_first() -> None:
    plain, gained = Study(100, 0.8, 0, 1, 0, 1), Study(100, 0.8, 0, 1, 0.4, 1)
    one, other = (
        comparison_limits([-1, -0.5, 0.2], plain, 0.9),
        comparison_limits([-1, -0.1, 0.6], gained, 0.9),
    )
    assert [float(part) for part in other] == pytest.approx([float(part) + 0.4 for part in one])


# --- recomputed and published numbers ---


@pytest.mark.parametrize(
    ("r", "m", "b", "left_sd", "stable_sd"),
    [
        # Closed form = solution of the covariance matrix, compound symmetry.
        (0.7, 1, 0.7, 0.714143, 0.774597),
        (0.7, 2, 0.823529, 0.650791, 0.670820),
        (0.7, 3, 0.875, 0.622495, 0.632456),
        (0.8, 1, 0.8, 0.6, 0.632456),
        (0.8, 2, 0.888889, 0.537484, 0.547723),
        (0.8, 5, 0.952381, 0.487950, 0.489898),
        (0.9, 1, 0.9, 0.435890, 0.447214),
        (0.9, 2, 0.947368, 0.383886, 0.387298),
        (0.9, 3, 0.964286, 0.363515, 0.365148),
        (0.9, 5, 0.978261, 0.345782, 0.346410),
    ],
)
def test_weight_and_spread_left_are_those_of_the_covariance_matrix(
    r: float, m: int, b: float, left_sd: float, stable_sd: float
) -> None:
    found, left, _ = contrast(m, r, EVEN)
    assert (float(found), float(left) ** 0.5) == pytest.approx((b, left_sd), abs=1e-5)
    matrix = np.full((m, m), r) + (1 - r) * np.eye(m)
    solved = np.linalg.solve(matrix, np.full(m, r))
    assert float(found) == pytest.approx(solved.sum())
    assert float(left) == pytest.approx(1 - np.full(m, r) @ solved)
    limits = comparison_limits(np.zeros(m), Study(10**9, r, 0, 1, 0, 1), 0.9, False, [EVEN])
    assert float(limits.upper) == pytest.approx(1.644854 * max(stable_sd, left_sd), abs=1e-4)


@pytest.mark.parametrize("r", [0.5, 0.8, 0.9])
@pytest.mark.parametrize("m", [1, 2, 3, 5])
@pytest.mark.parametrize("correlation", [EVEN, FADING])
def test_a_contrast_is_that_of_its_covariance_matrix(r: float, m: int, correlation: VisitCorrelation) -> None:
    """Outside: numpy on the whole matrix, scipy's Toeplitz of 1, r, r^2, ... for AR(1)."""
    lags = [1.0, *(r if correlation is EVEN else r**k for k in range(1, m + 1))]
    matrix = linalg.toeplitz(lags)
    mean = np.r_[np.full(m, 1 / m), 0.0]
    last = np.r_[np.zeros(m), 1.0]
    of_mean, with_mean = mean @ matrix @ mean, mean @ matrix @ last
    found = contrast(m, r, correlation)
    assert [float(part) for part in found] == pytest.approx(
        [with_mean / of_mean, 1 - with_mean**2 / of_mean, (last - mean) @ matrix @ (last - mean)]
    )


def test_limits_are_the_wider_of_both_correlations_and_the_same_with_one_earlier_visit() -> None:
    study = Study(60, 0.8, 0, 1, 0.2, 1)
    for before in ([-1.0], [-1.0, 0.2], [-1.0, 0.2, 0.4]):
        one, two = (comparison_limits(before, study, 0.9, False, [kind]) for kind in (EVEN, FADING))
        both = comparison_limits(before, study, 0.9)
        assert float(both.lower) == min(float(one.lower), float(two.lower))
        assert float(both.upper) == max(float(one.upper), float(two.upper))
        assert (float(one.upper) == pytest.approx(float(two.upper), abs=1e-12)) == (len(before) == 1)


def test_levels_are_those_of_sidak() -> None:
    # 1 - .9^(1/K): 10, 5.13, 3.45, 2.60, 2.09 %; large-n |z| 1.645, 1.949, 2.114, 2.226, 2.311.
    found = [widened_level(k) for k in range(1, 6)]
    assert [100 * (1 - one) for one in found] == pytest.approx([10, 5.13, 3.45, 2.60, 2.09], abs=0.005)
    assert [stats.norm.ppf((1 + one) / 2) for one in found] == pytest.approx(
        [1.645, 1.949, 2.114, 2.226, 2.311], abs=6e-4
    )


@pytest.mark.parametrize(
    ("visits", "rate", "ten", "five"), [(3, 17.6, 1.917, 2.211), (6, 33.0, 2.235, 2.510)]
)
def test_sidak_is_on_the_safe_side_of_each_visit_against_the_first(
    visits: int, rate: float, ten: float, five: float
) -> None:
    # Contrasts with a common first visit correlate .5: own Monte Carlo of 400,000 draws. Recomputed here.
    shared = np.random.default_rng(6).standard_normal((200_000, visits))
    largest = np.abs(shared[:, 1:] - shared[:, :1]).max(axis=1) / np.sqrt(2)
    assert 100 * np.mean(largest > 1.644854) == pytest.approx(rate, abs=0.4)
    assert np.percentile(largest, [90, 95]) == pytest.approx([ten, five], abs=0.015)
    assert stats.norm.ppf((1 + widened_level(visits - 1)) / 2) >= ten


@pytest.mark.parametrize(("visits", "se"), [(3, 0.316228), (4, 0.2), (5, 0.141421)])
def test_the_error_of_a_slope_is_sem_over_root_sxx(visits: int, se: float) -> None:
    x = np.arange(visits)
    found, error = slope(x, 0.3 * x, np.sqrt(1 - 0.8))
    assert (float(found), float(error)) == pytest.approx((0.3, se), abs=1e-6)
    if visits == 4:
        assert error == pytest.approx(np.sqrt(0.2) / np.sqrt(5))


def test_a_correlation_is_read_from_both_sds_and_never_below_0() -> None:
    # s1 1, s2 1.2, r .7: SD_D^2 = 1 + 1.44 - 1.68 = .76, s^2 = 1.22, r = 1 - .76 / 2.44 (by hand).
    variance, r, difference = compound_symmetry(Study(50, 0.7, 0, 1, 0, 1.2))
    assert (float(variance), float(difference)) == pytest.approx((1.22, 0.76))
    assert float(r) == pytest.approx(1 - 0.76 / 2.44)
    assert float(compound_symmetry(Study(50, -0.4, 0, 1, 0, 1)).r) == 0


def test_a_comparison_is_the_hand_worked_one(table: Table) -> None:
    # Row 60 to 75: mean 2.1176, SD .3199; study n 120, r .79, 0 / .99 then .15 / 1.01. Third visit, K 2.
    found = judged(table, (8.0, 8.4, 9.0))
    third = found.comparisons[1]
    assert isinstance(third, Comparison) and (found.n_comparisons, third.n_before) == (2, 2)
    z = [-(np.log(value) - 2.1176) / 0.3199 for value in (8.0, 8.4, 9.0)]
    u_bar = (z[0] + z[1] - 0.15) / 2
    variance = (0.99**2 + 1.01**2) / 2
    difference = 0.99**2 + 1.01**2 - 2 * 0.79 * 0.99 * 1.01
    rc = 1 - difference / (2 * variance)
    b, v = 2 * rc / (1 + rc), 1 - 2 * rc**2 / (1 + rc)
    error = np.sqrt(variance * v * (119 / 118 * (1 + 1 / 120) + u_bar**2 / variance / 119))
    spread = np.sqrt(difference * ((1 + 1 / 2) / 2 + 1 / 120))
    p = (1 + 0.9**0.5) / 2
    # AR(1), two before: C = (r + r^2)/2, V = (1 + r)/2: b = r, v = 1 - r^2 (1 + r)/2, d = 1 + V - 2 C.
    b_1, v_1 = rc, 1 - rc**2 * (1 + rc) / 2
    error_1 = error * np.sqrt(v_1 / v)
    d_1 = 1 + (1 + rc) / 2 - (rc + rc**2)
    spread_1 = np.sqrt(difference * (d_1 / (2 * (1 - rc)) + 1 / 120))
    t_reg, t_dif = stats.t.ppf(p, 118), stats.t.ppf(p, 119)
    around = ((b, t_reg * error), (1, t_dif * spread), (b_1, t_reg * error_1), (1, t_dif * spread_1))
    low = 0.15 + min(slope_of * u_bar - reach for slope_of, reach in around)
    high = 0.15 + max(slope_of * u_bar + reach for slope_of, reach in around)
    assert third.limits == pytest.approx((low, high))
    assert third.expected == pytest.approx(0.15 + b * u_bar)
    assert third.limits_value == pytest.approx(
        (np.exp(2.1176 - 0.3199 * high), np.exp(2.1176 - 0.3199 * low))
    )


# --- what a series says ---


def test_the_side_agrees_with_the_printed_limits(table: Table) -> None:
    sides = set()
    for last in np.linspace(3, 25, 67):
        third = judged(table, (8.0, 8.2, float(last))).comparisons[1]
        assert isinstance(third, Comparison)
        low, high = third.limits_value
        side = "below" if last > high else "above" if last < low else "inside"  # more scatter is poorer
        assert third.side == side
        sides.add(side)
    assert sides == {"below", "inside", "above"}


def test_every_comparison_of_a_chart_is_at_its_level(table: Table) -> None:
    for visits in (3, 4, 5):
        found = judged(table, (8.0,) * visits)
        assert found.n_comparisons == visits - 1 == len(found.comparisons)
        assert found.level == pytest.approx(0.9 ** (1 / (visits - 1)))
        assert "practice_carried" in found.warnings


def test_a_visit_outside_the_studied_interval_is_not_judged_and_not_counted(table: Table) -> None:
    found = judged(table, (8.0, 8.0, 8.0, 8.0), days=(0, 180, 300, 480))
    assert [isinstance(one, Refusal) for one in found.comparisons] == [False, True, False]
    assert found.n_comparisons == 2 and found.level == pytest.approx(0.9**0.5)
    refused = found.comparisons[1]
    assert isinstance(refused, Refusal) and refused.code == "interval_outside_study"


def slope_variance(x: np.ndarray, correlation: np.ndarray) -> float:
    """Variance of a least-squares slope for errors so correlated: (X'X)^-1 X' V X (X'X)^-1."""
    solved = np.linalg.pinv(np.stack([np.ones(len(x)), x], axis=1))
    return float((solved @ correlation @ solved.T)[1, 1])


@pytest.mark.parametrize("x", [np.arange(4.0), np.arange(6.0), np.array([0.0, 0.5, 2.0, 2.5, 4.0])])
@pytest.mark.parametrize("r", [0.3, 0.6, 0.9])
def test_the_error_of_a_slope_holds_under_both_structures_of_correlation(x: np.ndarray, r: float) -> None:
    even = np.full((len(x), len(x)), r) + (1 - r) * np.eye(len(x))
    wider = max(slope_variance(x, even), slope_variance(x, linalg.toeplitz(r ** np.arange(len(x)))))
    assert slope(x, x, np.sqrt(1 - r), r)[1] == pytest.approx(np.sqrt(wider))


@pytest.mark.parametrize("ar_1", [False, True])
def test_at_most_five_in_a_hundred_unchanged_people_have_a_slope_outside_its_interval(ar_1: bool) -> None:
    """20,000 people of six visits, r .8: Monte Carlo SE .15 points. SEM / sqrt(Sxx) alone: 39 under AR(1)."""
    r, x, rng = 0.8, np.arange(6.0), np.random.default_rng(8)
    cov = linalg.toeplitz(r ** np.arange(6)) if ar_1 else np.full((6, 6), r) + (1 - r) * np.eye(6)
    seen = rng.multivariate_normal(np.zeros(6), cov, 20_000)
    shares = []
    for neighbours in (r, 0.0):
        found, se = slope(x, seen, np.sqrt(1 - r), neighbours)
        shares.append(100 * np.mean(np.abs(found) > 1.96 * se))
    assert shares[0] <= 5.5
    assert bool(shares[1] > 30) == ar_1


def test_the_slope_is_that_of_least_squares_with_the_gain_taken_off(table: Table) -> None:
    values = (8.0, 8.3, 9.1, 9.6)
    found = judged(table, values)
    z = np.array([-(np.log(value) - 2.1176) / 0.3199 for value in values]) - np.array([0, 0.15, 0.15, 0.15])
    years = np.array(DAYS[:4]) / 365.25
    line = stats.linregress(years, z)
    sem = np.sqrt((0.99**2 + 1.01**2 - 2 * 0.79 * 0.99 * 1.01) / 2)
    assert found.slope is not None and found.slope.visits == 4
    assert found.slope.z_per_year == pytest.approx(line.slope)
    variance = (0.99**2 + 1.01**2) / 2
    fading = variance * linalg.toeplitz((1 - sem**2 / variance) ** np.arange(4))  # AR(1), the larger here
    assert found.slope.se == pytest.approx(np.sqrt(slope_variance(years, fading)))
    assert found.slope.interval_95[1] - found.slope.z_per_year == pytest.approx(
        stats.t.ppf(0.975, 119) * found.slope.se
    )
    assert judged(table, values[:3]).slope is None


def test_more_earlier_visits_than_studied_brackets_the_gain(table: Table) -> None:
    once, more = judged(table, (8.0, 8.2, 9.0)), judged(table, (8.0, 8.2, 9.0), earlier_visits=2)
    assert "practice_beyond_study" in more.warnings and "practice_beyond_study" not in once.warnings
    for one, other in zip(once.comparisons, more.comparisons, strict=True):
        assert isinstance(one, Comparison) and isinstance(other, Comparison)
        assert other.limits[0] < one.limits[0] and other.limits[1] >= one.limits[1]


def test_all_earlier_visits_are_read_by_the_row_of_the_later_one_for_two_years(table: Table) -> None:
    found = judged(table, (8.0, 8.0, 8.0), age=75.2)
    assert {one.row.age_from for one in found.comparisons if isinstance(one, Comparison)} == {60, 75}
    assert found.comparisons[1].z == found.comparisons[1].mean_before  # type: ignore[union-attr]


def test_bands_two_years_apart_are_not_judged_and_have_no_slope(table: Table) -> None:
    found = judged(table, (8.0,) * 5, days=(0, 200, 400, 600, 800), age=76.0)
    assert isinstance(found.comparisons[-1], Refusal)
    assert found.comparisons[-1].code == "age_band_between" and found.slope is None
    smooth = replace(table, age_method="smoothed_bands")
    smoothed = judged(smooth, (8.0,) * 5, days=(0, 200, 400, 600, 800), age=76.0)
    assert isinstance(smoothed.comparisons[-1], Comparison) and smoothed.slope is not None


# --- refusals ---


def refused(found: Series | Refusal) -> str:
    assert isinstance(found, Refusal)
    return found.code


def test_what_is_no_series_is_refused(table: Table) -> None:
    assert refused(run(table, (8.0, 8.0))) == "too_few_visits"
    assert refused(run(table, (8.0, 8.0, 8.0), age=95.0)) == "age_outside"
    assert refused(run(table, (8.0, 0.0, 8.0))) == "value_outside_scale"
    assert refused(run(table, (8.0, 8.0, 8.0), days=(0, 180, 180))) == "later_before_earlier"
    assert refused(run(table, (90.0,) * 3, "steady.preferred.time_on_target")) == "no_retest_study"
    small = replace(table, retest=tuple(replace(row, n=19) for row in table.retest))
    assert refused(run(small, (8.0, 8.0, 8.0))) == "study_too_small"
    plain = replace(table, measures=tuple(replace(one, better="neither") for one in table.measures))
    assert refused(run(plain, (8.0, 8.0, 8.0))) == "no_direction"


def test_visits_on_another_kind_of_panel_make_no_series(table: Table) -> None:
    sittings = [replace(SITTING, visit_date=date(2025, 7, 16 - k)) for k in (2, 1, 0)]
    sittings[0] = replace(sittings[0], device_class="t10")
    found = series(table, LAG, [Occasion(60.0, one) for one in sittings], (0, 180, 360))
    assert refused(found) == "not_comparable"


def test_one_valid_trial_ends_the_judging_from_that_visit_on(table: Table) -> None:
    occasions = [Occasion(8.0, ByHand(69 + k / 2), enough_trials=k != 2) for k in range(4)]
    found = series(table, SCATTER, occasions, (0, 180, 360, 540))
    assert isinstance(found, Series)
    assert [isinstance(one, Refusal) for one in found.comparisons] == [False, True, True]


def test_values_outside_percentile_columns_are_not_judged(table: Table) -> None:
    found = judged(with_columns(table), (60.0, 150.0, 76.0), LAG)
    assert all(isinstance(one, Refusal) and one.code == "beyond_percentiles" for one in found.comparisons)
