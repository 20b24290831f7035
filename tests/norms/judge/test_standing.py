"""Standings, against the published formulas, worked examples and an own quadrature."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from norms import ByHand, Refusal, Standing, Table, printed_percentile, read_folder, standing
from norms.judge.single_case import howell_t, percentile_of, percentile_rank, z_interval, z_star_of
from tests.norms.folders import EXAMPLE

HASSAN = [  # 28 controls, Hassan et al. 2020, as in the vignette of the R package singcar 0.1.5
    0.21692634,
    0.17223226,
    0.07138049,
    0.10186453,
    0.15911439,
    0.268099,
    0.19695687,
    0.10736352,
    0.18950169,
    0.07111544,
    0.08737361,
    0.06344435,
    0.28346919,
    0.16055886,
    0.14660883,
    0.267571,
    0.17539645,
    0.072311,
    0.13091611,
    0.06198217,
    0.11967995,
    0.35759686,
    0.19305945,
    0.12930807,
    0.30240928,
    0.18533901,
    0.13573173,
    0.18215046,
]


@pytest.fixture(scope="module")
def table() -> Table:
    return read_folder(EXAMPLE)


def stand(table: Table, measure: str, value: float, age: float = 70.0) -> Standing:
    found = standing(table, measure, value, ByHand(age))
    assert isinstance(found, Standing)
    return found


def noncentral_below(t: float, df: float, d: float) -> float:
    """P(noncentral t <= t) by the definition: (Z + d) / sqrt(chi2 / df)."""

    def part(chi2: float) -> float:
        return float(stats.norm.cdf(t * np.sqrt(chi2 / df) - d) * stats.chi2.pdf(chi2, df))

    middle, width = df, 12 * np.sqrt(2 * df)
    return float(quad(part, max(0, middle - width), middle + width, points=[middle], limit=400)[0])


# --- laws ---


def test_more_scatter_is_always_poorer_and_more_time_on_target_always_better(table: Table) -> None:
    scatter = [stand(table, "brisk.preferred.scatter", value).percentile for value in np.linspace(2, 30, 57)]
    on_target = [
        stand(table, "steady.preferred.time_on_target", value).percentile for value in np.linspace(0, 100, 57)
    ]
    assert np.all(np.diff(scatter) < 0) and np.all(np.diff(on_target) > 0)


def test_the_ends_of_the_usual_range_are_percentile_10_and_90(table: Table) -> None:
    for measure in table.measure_by_name:
        low, high = stand(table, measure, 50.0).usual_range
        at_ends = sorted(stand(table, measure, value).percentile for value in (low, high))
        assert at_ends == pytest.approx([10, 90], abs=1e-6)


def test_percentile_lies_in_its_interval_and_small_groups_have_wide_ones(table: Table) -> None:
    widths = []
    for n in (30, 60, 200, 1000):
        other = replace(table, rows=tuple(replace(row, n=n) for row in table.rows))
        found = stand(other, "steady.other.scatter", 11.0)
        assert found.interval_95[0] < found.percentile < found.interval_95[1]
        widths.append(found.interval_95[1] - found.interval_95[0])
    assert widths == sorted(widths, reverse=True)


def test_z_star_is_nearer_the_middle_than_z_and_joins_it_as_the_group_grows() -> None:
    z = np.linspace(-4, 4, 81)
    assert np.all(np.abs(z_star_of(z, 30, 29)) <= np.abs(z))
    assert np.allclose(z_star_of(z, 10_000_000, 9_999_999), z, atol=1e-5)


def test_a_band_is_the_row_whose_precision_is_n_and_n_minus_1(table: Table) -> None:
    smooth = replace(
        table,
        age_method="smoothed_bands",
        rows=tuple(replace(row, n=5000, n_mean=float(row.n), df_sd=row.n - 1.0) for row in table.rows),
    )
    one, other = (stand(which, "wander.preferred.delay", 260) for which in (table, smooth))
    assert one.percentile == other.percentile and one.interval_95 == other.interval_95
    assert (one.n, other.n, other.n_mean) == (200, 5000, 200)


def test_far_tails_stay_finite_and_symmetric() -> None:
    for n in (30, 1000):
        z = np.array([4.0, 8.0, 15.0])
        assert np.allclose(z_star_of(z, n, n - 1), -z_star_of(-z, n, n - 1))
        assert np.all(np.isfinite(np.stack(z_interval(np.concatenate([z, -z]), n, n - 1))))


# --- published and recomputed numbers ---


@pytest.mark.parametrize(
    ("n", "z", "t", "percent", "z_low", "z_high", "percent_low", "percent_high"),
    [
        # Crawford & Howell 1998 and Crawford & Garthwaite 2002, recomputed with the noncentral t of
        # two general statistics systems; agrees with the R package singcar 0.1.5 to its search step.
        (10, -1, -0.95346259, 18.263015, -1.75127, -0.21357, 3.9949, 41.5443),
        (10, -1.5, -1.43019388, 9.322325, -2.40344, -0.56051, 0.8121, 28.7564),
        (10, -3, -2.86038777, 0.938426, -4.48344, -1.49226, 0.0004, 6.7816),
        (20, -1, -0.97590007, 17.068824, -1.53146, -0.45117, 6.2828, 32.5933),
        (20, -1.5, -1.46385011, 7.979198, -2.13591, -0.84564, 1.6343, 19.8876),
        (20, -2, -1.95180015, 3.293011, -2.75948, -1.22295, 0.2895, 11.0675),
        (50, -1, -0.99014754, 16.348321, -1.33688, -0.65623, 9.0631, 25.5837),
        (50, -2, -1.98029509, 2.664991, -2.47877, -1.51398, 0.6592, 6.5016),
        (50, -3, -2.97044263, 0.229793, -3.65055, -2.34299, 0.0131, 0.9565),
        (100, -1, -0.99503719, 16.107202, -1.23863, -0.75794, 10.7742, 22.4243),
        (100, -1.5, -1.49255579, 6.936676, -1.7844, -1.21187, 3.7179, 11.2781),
        (100, -3, -2.98511157, 0.178578, -3.45932, -2.53738, 0.0271, 0.5584),
    ],
)
def test_t_percentile_and_interval_are_those_of_the_published_formulas(
    n: int,
    z: float,
    t: float,
    percent: float,
    z_low: float,
    z_high: float,
    percent_low: float,
    percent_high: float,
) -> None:
    assert float(howell_t(z, n)) == pytest.approx(t, abs=1e-6)
    assert float(percentile_of(z_star_of(z, n, n - 1))) == pytest.approx(percent, abs=1e-4)
    low, high = z_interval(z, n, n - 1)
    assert (float(low), float(high)) == pytest.approx((z_low, z_high), abs=2e-4)
    assert (float(percentile_of(low)), float(percentile_of(high))) == pytest.approx(
        (percent_low, percent_high), abs=2e-3
    )


def test_the_worked_output_of_28_published_controls() -> None:
    # singcar 0.1.5 vignette (Rittmo & McIntosh), data Hassan et al. 2020; its interval has a .01 search step.
    z = (0.02814921 - np.mean(HASSAN)) / np.std(HASSAN, ddof=1)
    assert z == pytest.approx(-1.754857, abs=1e-6)
    assert float(howell_t(z, 28)) == pytest.approx(-1.7243, abs=5e-5)
    assert float(percentile_of(z_star_of(z, 28, 27))) == pytest.approx(4.804003, abs=1e-5)
    ends = z_interval(z, 28, 27)
    assert tuple(map(float, ends)) == pytest.approx((-2.34, -1.15), abs=0.006)
    assert tuple(float(percentile_of(end)) for end in ends) == pytest.approx((0.95, 12.47), abs=0.04)


def test_the_modified_t_of_a_public_test_suite() -> None:
    assert float(howell_t(-2, 15)) == pytest.approx(-1.936, abs=5e-4)  # singcar tests, case -2, n 15


def test_the_t_is_that_of_predicting_a_new_person_from_the_mean_alone() -> None:
    import statsmodels.api as sm

    y = np.random.default_rng(1).normal(12, 3, 40)
    predicted = sm.OLS(y, np.ones(40)).fit().get_prediction(np.ones((1, 1)))
    t = (5.0 - predicted.predicted_mean[0]) / predicted.se_obs[0]
    assert float(howell_t((5.0 - y.mean()) / y.std(ddof=1), 40)) == pytest.approx(t, abs=1e-10)


@pytest.mark.parametrize(("n_mean", "df_sd"), [(30, 29), (72, 149), (36, 74), (318, 340), (1000, 999)])
@pytest.mark.parametrize("z", [-5.0, -1.645, 0.0, 3.0])
def test_the_interval_holds_by_quadrature_of_the_noncentral_t(n_mean: float, df_sd: float, z: float) -> None:
    ends = z_interval(z, n_mean, df_sd)
    found = [noncentral_below(z * n_mean**0.5, df_sd, float(end) * n_mean**0.5) for end in ends]
    assert found == pytest.approx([0.975, 0.025], abs=2e-5)


def test_a_standing_is_the_hand_worked_one(table: Table) -> None:
    # Row 60 to 75, mean 2.1176, SD .3199, n 200, on ln mm; by hand ln 11.6 = 2.451005.
    found = stand(table, "brisk.preferred.scatter", 11.6)
    z = -(np.log(11.6) - 2.1176) / 0.3199
    t = z / np.sqrt(201 / 200)
    assert found.z == pytest.approx(z, abs=1e-12) and found.scaled == pytest.approx(2.451005, abs=1e-6)
    assert found.percentile == pytest.approx(100 * stats.t.cdf(t, 199), abs=1e-9)
    assert found.z_star == pytest.approx(stats.norm.ppf(stats.t.cdf(t, 199)), abs=1e-9)
    assert (found.standard_score, found.label) == (84, "Low average")
    assert printed_percentile(found) == ("", 15.0, 0)
    reach = stats.t.ppf(0.9, 199) * 0.3199 * np.sqrt(201 / 200)
    assert found.usual_range == pytest.approx((np.exp(2.1176 - reach), np.exp(2.1176 + reach)))


def test_low_is_a_standard_score_of_79_or_less_and_as_common_as_published_rows_say() -> None:
    # z_star is standard normal over tables: 8.59 in 100 are low (Phi(-41/30)); raw z would say 9.46 at n 30.
    rng = np.random.default_rng(20)
    n, worlds = 30, 200_000
    mean, sd = rng.normal(0, 1 / n**0.5, worlds), np.sqrt(rng.chisquare(n - 1, worlds) / (n - 1))
    z = (rng.normal(size=worlds) - mean) / sd
    low = 100 * np.mean(z_star_of(z, n, n - 1) < -41 / 30)
    assert low == pytest.approx(8.59, abs=0.25)
    assert 100 * np.mean(z < -41 / 30) > 9.2


@pytest.mark.parametrize(("below", "ties", "n", "rank"), [(2, 2, 50, 6.0), (0, 1, 10, 5.0), (5, 0, 100, 5.0)])
def test_the_percentile_rank_counts_those_below_and_half_the_ties(
    below: int, ties: int, n: int, rank: float
) -> None:
    # Definition C of Crawford, Garthwaite & Slick (2009).
    assert percentile_rank(below, ties, n) == pytest.approx(rank, abs=1e-9)


# --- words beside the number ---


def test_a_lag_far_ahead_has_no_label_and_is_not_called_high(table: Table) -> None:
    ahead = stand(table, "circles.preferred.lag", -5.0)
    assert ahead.z_star >= 1.30 and ahead.further_ahead and ahead.label is None
    behind = stand(table, "circles.preferred.lag", 5.0)
    assert behind.z_star >= 1.30 and not behind.further_ahead and behind.label is not None


def test_a_lag_ahead_like_most_others_keeps_its_label(table: Table) -> None:
    rows = tuple(replace(row, mean=10.0) for row in table.rows)
    found = stand(replace(table, rows=rows), "circles.preferred.lag", -5.0)
    assert 0 < found.z_star < 1.30 and not found.further_ahead and found.label == "Average"


def test_an_age_near_the_edge_of_a_band_shows_the_neighbour(table: Table) -> None:
    near = stand(table, "steady.preferred.scatter", 6.0, age=74.0)
    assert [(one.age_from, one.n) for one in near.neighbours] == [(75, 170)]
    beyond = stand(table, "steady.preferred.scatter", 6.0, age=75.0)
    assert near.neighbours[0].percentile == beyond.percentile
    assert "near_band_edge" in near.warnings
    assert stand(table, "steady.preferred.scatter", 6.0, age=70.0).neighbours == ()


def test_a_smoothed_table_shows_no_neighbour(table: Table) -> None:
    smooth = replace(table, age_method="smoothed_bands")
    assert stand(smooth, "steady.preferred.scatter", 6.0, age=74.0).neighbours == ()


def test_the_highest_possible_value_says_so(table: Table) -> None:
    assert "highest_value" in stand(table, "steady.preferred.time_on_target", 100.0).warnings
    assert "highest_value" not in stand(table, "steady.preferred.time_on_target", 99.0).warnings


def test_a_small_group_and_one_trial_are_noted(table: Table) -> None:
    small = replace(table, rows=tuple(replace(row, n=38) for row in table.rows))
    found = standing(small, "steady.preferred.scatter", 6.0, ByHand(70), enough_trials=False)
    assert isinstance(found, Standing)
    assert {"small_n", "one_trial_only", "synthetic"} <= set(found.warnings)


def test_an_lms_row_is_read_by_lms(table: Table) -> None:
    measures = tuple(replace(one, scale="lms") for one in table.measures)
    rows = tuple(replace(row, lms_l=-0.1600954, mean=9.476500305, sd=0.11218624) for row in table.rows)
    found = stand(replace(table, measures=measures, rows=rows), "steady.preferred.scatter", 9.7)
    assert found.z == pytest.approx(-0.2073994, abs=1e-6)  # CDC example, lower is better here


def test_a_share_near_its_ceiling_has_no_standing(table: Table) -> None:
    # ln(32.18/.82) = 3.6698: mean 3.05 + .6745 x .927 = 3.675 is above it, 3.04 + .625 = 3.665 below.
    for mean, refused in ((3.05, True), (3.04, False)):
        rows = tuple(replace(row, mean=mean, sd=0.927) for row in table.rows)
        found = standing(replace(table, rows=rows), "steady.preferred.time_on_target", 90.0, ByHand(70))
        assert (isinstance(found, Refusal) and found.code == "ceiling") == refused
