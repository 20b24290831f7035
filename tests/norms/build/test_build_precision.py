"""What smoothing is worth, and whether the people a row is said to be worth are right: simulated worlds.

Ages even over 20 to 80, a bent mean, an SD that rises with age (tests/norms/sample_people.py). Figures to
expect: raw ten-year bands .193, smoothed over midpoints .112, continuous .111 RMSE of z at the true
5th percentile at N = 480 (own simulation of the design papers, no published source).
"""

import numpy as np
import pytest
from scipy.stats import nct

from norms.build.age_curve import Basis, Curve, Shape, candidates, curve_of_groups, curve_of_people, residuals
from norms.build.age_rows import AgeRows, RowOptions, rows_of, year_sums
from norms.build.bootstrap import bootstrap_people, effective_sizes, effective_sizes_from_sums
from norms.build.normal_fit import fit_people
from norms.build.recruiting import parabola_effective_n, recruitment_needs
from norms.build.sample import People
from norms.table.table import Measure
from tests.norms.sample_people import even_ages, mean_at, sd_at

SCATTER = Measure("steady.preferred.scatter", "mm", "lower", "log", 1)
BANDS = tuple(float(edge) for edge in range(20, 81, 10))
FIFTH = -1.6448536269514722


def drawn(n: int, seed: int, tails: float | None = None) -> People:
    """n people of the bent world, normal or with the tails of a t scaled to SD 1."""
    ages, rng = even_ages(n, seed=seed), np.random.default_rng([seed, 1])
    z = rng.standard_normal(n) if tails is None else rng.standard_t(tails, n) * np.sqrt((tails - 2) / tails)
    scaled = mean_at(ages) + sd_at(ages) * z
    none = np.full(n, 3)
    return People(np.arange(n), ages, scaled, np.exp(scaled), none, np.full(n, np.nan))


def error_at_fifth(rows: AgeRows) -> np.ndarray:
    """z by the rows minus the true z of people at the true 5th percentile, every half year from 20 to 80."""
    ages = np.arange(20.25, 80, 0.5)
    place, inside = rows.place(ages)
    value = mean_at(ages) + FIFTH * sd_at(ages)
    return ((value - rows.mean[place]) / rows.sd[place] - FIFTH)[inside]


def rmse(method: str, n: int, worlds: int) -> float:
    options = RowOptions(method, BANDS, 30, refits=2)
    errors = [
        error_at_fifth(rows_of(SCATTER, drawn(n, seed), options, np.random.default_rng(seed))[0])
        for seed in range(worlds)
    ]
    return float(np.sqrt(np.mean(np.concatenate(errors) ** 2)))


def test_continuous_and_smoothed_rows_place_the_fifth_percentile_better_than_raw_bands() -> None:
    bands, smoothed, continuous = (
        rmse(method, 480, 100) for method in ("bands", "smoothed_bands", "continuous")
    )
    assert continuous <= 0.65 * bands
    assert smoothed <= 0.70 * bands
    assert 0.16 <= bands <= 0.26 and continuous <= 0.135  # of the size of the figures above


def test_rows_of_one_year_step_by_a_twentieth_of_an_sd_or_less() -> None:
    rows = rows_of(
        SCATTER, drawn(480, 3), RowOptions("continuous", BANDS, 30, refits=2), np.random.default_rng(1)
    )[0]
    assert set(np.diff(rows.edges)) == {1.0} and (rows.edges[0], rows.edges[-1]) == (20.0, 80.0)
    assert np.abs(np.diff(rows.mean) / rows.sd[1:]).max() <= 0.08  # .05 at 50; the bend adds at the ends


def test_a_level_curve_is_worth_all_its_people() -> None:
    """The special case of one band: n_mean = n, df_sd = n - 1."""
    people = drawn(150, 8)
    flat = Basis(20.0, 80.0, 0)
    shape = Shape(flat, flat)
    y = np.random.default_rng(3).standard_normal(150)
    curve = Curve(
        shape, fit_people(flat.at(people.age_years), flat.at(people.age_years), y, np.ones((1, 150)))
    )
    refits = bootstrap_people(curve, people.age_years, y, np.random.default_rng(5), 4_000)
    n_mean, df_sd = effective_sizes(curve.at([50.0]), refits.at([50.0]), 10**9)
    assert n_mean[0] == pytest.approx(150, rel=0.06)
    kurtosis = float(
        ((y - y.mean()) ** 4).mean() / y.var() ** 2
    )  # 3 where normal: df_sd = 2 n / (kurtosis - 1)
    assert df_sd[0] == pytest.approx(2 * 150 / (kurtosis - 1), rel=0.10)


def test_three_hundred_people_are_worth_what_the_closed_form_says() -> None:
    """31 / 134 / 36 people at 20 / 50 / 80 (SD rising with age); a parabola's own form: N / 9, N / 2.2."""
    found = []
    for seed in range(12):
        rows = rows_of(
            SCATTER, drawn(300, seed), RowOptions("continuous", BANDS, 30), np.random.default_rng(seed)
        )[0]
        place, _ = rows.place(np.array([20.5, 50.5, 79.5]))
        found.append(rows.n_mean[place])
    ends_and_middle = np.median(found, axis=0)
    assert ends_and_middle == pytest.approx([31, 134, 36], rel=0.25)
    assert parabola_effective_n(np.linspace(20, 80, 300), 20, 80, np.array([20.0, 50.0])) == pytest.approx(
        [300 / 9, 300 / 2.25], rel=0.03
    )


def test_heavy_tails_make_the_sd_worth_fewer_people() -> None:
    normal, heavy = (
        np.median(
            [
                np.median(
                    rows_of(
                        SCATTER,
                        drawn(300, seed, tails),
                        RowOptions("continuous", BANDS, 30),
                        np.random.default_rng(seed),
                    )[0].df_sd
                )
                for seed in range(6)
            ]
        )
        for tails in (None, 6.0)
    )
    assert heavy < 0.8 * normal


def test_people_added_where_advised_bring_every_age_to_the_number() -> None:
    """Advice from the ages of 120 people, then a new world with the people added: the closed form again."""
    ages = even_ages(120, seed=4)
    more = recruitment_needs(ages, 20.0, 80.0, 50.0)
    added = [even_ages(one.people, one.age_from, one.age_to, seed=place) for place, one in enumerate(more)]
    grown = np.concatenate([ages, *added])
    good = parabola_effective_n(grown, 20.0, 80.0, np.linspace(20, 80, 61))
    assert good.min() == pytest.approx(1.2 * 50, rel=0.2)
    assert (
        sum(one.people for one in more) < 1.2 * 480
    )  # fewer than evenly, as they come where they are needed
    assert more[0].people > more[1].people < more[2].people


def agreement(n: int, refits: int) -> tuple[np.ndarray, np.ndarray]:
    """n_mean and df_sd from the sums by year over those from refits by person, at ages 25 to 75."""
    people = drawn(n, 21)
    groups, mean_age = year_sums(people.age_years, people.scaled)
    shape = [shape for shape in candidates(people.age_years) if shape.size == 5]
    curve, at = curve_of_groups(mean_age, groups, shape), np.array([25.0, 37.5, 50.0, 62.5, 75.0])
    z, year = residuals(curve, people.age_years, people.scaled), people.age_years.astype(int) - 20
    sums = [np.bincount(year, part) for part in (np.ones(n), z**2, (z**2 - 1) ** 2)]
    by_sums = effective_sizes_from_sums(curve, mean_age, *sums, at, n)
    by_person = bootstrap_people(curve, people.age_years, people.scaled, np.random.default_rng(2), refits)
    by_refits = effective_sizes(curve.at(at), by_person.at(at), n)
    return tuple(one / other for one, other in zip(by_sums, by_refits, strict=True))


def test_sums_by_year_say_what_refits_by_person_say() -> None:
    for ratio in agreement(2_000, 1_500):
        assert ratio.mean() == pytest.approx(1, abs=0.08)


@pytest.mark.long
def test_sums_by_year_of_twenty_thousand_agree_with_refits_by_person_within_a_twentieth() -> None:
    for ratio in agreement(20_000, 6_000):
        assert ratio == pytest.approx(1, abs=0.05)


@pytest.mark.long
@pytest.mark.parametrize("tails", [None, 8.0])
def test_intervals_by_the_people_a_row_is_worth_cover_95_in_100(tails: float | None) -> None:
    """Crawford & Garthwaite by n_mean and df_sd; covered <=> .025 < nct(z sqrt n; df, c sqrt n) < .975."""
    options, worlds, ages, truth = (
        RowOptions("continuous", BANDS, 30),
        300,
        np.array([20.5, 35.5, 50.5, 65.5, 79.5]),
        [],
    )
    for seed in range(worlds):
        rows = rows_of(SCATTER, drawn(300, 1000 + seed, tails), options, np.random.default_rng(seed))[0]
        place, _ = rows.place(ages)
        n, df = rows.n_mean[place], rows.df_sd[place]
        for c in (0.0, FIFTH, -2.0):
            middle = (rows.edges[place] + rows.edges[place + 1]) / 2
            z = (mean_at(middle) + c * sd_at(middle) - rows.mean[place]) / rows.sd[place]
            p = nct.cdf(z * np.sqrt(n), df, c * np.sqrt(n))
            truth.append((p > 0.025) & (p < 0.975))
    covered = np.mean(truth, axis=0)
    assert covered.mean() == pytest.approx(0.95, abs=0.03 if tails is None else 0.05)
    assert covered.min() >= (0.91 if tails is None else 0.87)


def test_a_curve_through_the_sums_of_years_is_that_through_people() -> None:
    people = drawn(20_000, 5)
    groups, mean_age = year_sums(people.age_years, people.scaled)
    by_people, by_sums = (
        curve_of_people(people.age_years, people.scaled),
        curve_of_groups(mean_age, groups, candidates(people.age_years)),
    )
    ages = np.linspace(21, 79, 30)
    one, other = by_people.at(ages), by_sums.at(ages)
    assert np.abs((one.mean - other.mean) / one.sd).max() < 0.01
    assert other.sd == pytest.approx(one.sd, rel=0.01)
