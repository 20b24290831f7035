"""What a table is worth, against simulations that know nothing of the rules in norms.

The brute force here draws people, makes samples of them, and judges new people by scipy's t and noncentral
t written out anew; not one of our functions of standing or change is called in it.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from norms import read_folder
from norms.judge.joint_rule import Limits, jacobson_truax, study_of
from norms.table.calibration_record import CHANGES_SD, PEOPLE, ChangeCalibration, PeopleCalibration, Share
from norms.table.table import RetestRow, Row, Table
from norms.worth import calibration
from norms.worth.calibration import MeasureCalibration, calibration_figures, low_below
from tests.norms.folders import EXAMPLE

SEED, WORLDS = 20_261_125, 2_000
LOW = -41 / 30


def table_of(
    n: int, n_mean: float | None = None, df_sd: float | None = None, study: RetestRow | None = None
) -> Table:
    """The example table with one row of one measure, and one study of it."""
    whole = read_folder(EXAMPLE)
    first = next(row for row in whole.rows if row.measure == "steady.preferred.scatter")
    row = replace(first, n=n, n_mean=n_mean, df_sd=df_sd)
    method = "bands" if n_mean is None else "continuous"
    return replace(whole, rows=(row,), retest=() if study is None else (study,), age_method=method)


def study(n: int, r: float, gain: float = 0.0, sd: tuple[float, float] = (1.0, 1.0)) -> RetestRow:
    return RetestRow(
        "steady.preferred.scatter", "any", "simulated", n, r, 0.0, sd[0], gain, sd[1], 150, 180, 210, 0
    )


def worth(table: Table, worlds: int = WORLDS, seed: int = SEED) -> MeasureCalibration:
    return calibration_figures(table, seed, worlds)[0]


def of_people(found: ChangeCalibration, people: str) -> PeopleCalibration:
    return next(one for one in found.people if one.people == people)


def changes(n: int, r: float, gain: float = 0.0, worlds: int = WORLDS) -> ChangeCalibration:
    return worth(table_of(100, study=study(n, r, gain)), worlds).changes[0]


# --- standing ---


@pytest.mark.parametrize(
    ("n", "low", "high"), [(30, 2.7, 18.2), (50, 3.7, 15.7), (100, 4.9, 13.4), (300, 6.3, 11.2)]
)
def test_the_share_called_low_is_8_59_in_all_and_spreads_over_tables_as_known(
    n: int, low: float, high: float
) -> None:
    # Own Monte Carlo of norm samples (norm rules A): 95 % of tables, mean 8.59 = 100 Phi(-41/30) at every n.
    found = worth(table_of(n), 20_000).standings[0].called_low
    assert found.mean == pytest.approx(100 * stats.norm.cdf(LOW), abs=4 * 3.5 * (30 / n) ** 0.5 / 20_000**0.5)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.35)


@pytest.mark.parametrize("n", [30, 100])
def test_worlds_are_those_that_samples_of_people_leave_open(n: int) -> None:
    # Samples of n people from N(0, 1); the row says mean and SD of the sample; a new person of N(0, 1).
    rng = np.random.default_rng([SEED, n])
    people = rng.standard_normal((20_000, n))
    mean, sd = people.mean(axis=1), people.std(axis=1, ddof=1)
    cut = stats.t.ppf(stats.norm.cdf(LOW), n - 1) * (1 + 1 / n) ** 0.5
    called_low = 100 * stats.norm.cdf(mean + sd * cut)
    found = worth(table_of(n), 20_000).standings[0].called_low
    known = [called_low.mean(), *np.quantile(called_low, [0.025, 0.975])]
    assert [found.mean, found.low, found.high] == pytest.approx(known, abs=0.35)


@pytest.mark.parametrize(("n", "df"), [(20, 19), (50, 49), (72, 149), (12, 29)])
def test_the_z_below_which_a_score_is_low_is_the_t_of_the_cut(n: float, df: float) -> None:
    t = stats.t.ppf(stats.norm.cdf(LOW), df)
    assert low_below(n, df) == pytest.approx(t * (1 + 1 / n) ** 0.5, abs=1e-9)


@pytest.mark.parametrize(("n_mean", "df_sd"), [(30, 29), (36, 74), (166, 169)])
def test_the_interval_covers_95_in_100_by_the_noncentral_t(n_mean: float, df_sd: float) -> None:
    # Covered <=> .025 < nct.cdf(z sqrt n; df, c sqrt n) < .975 (norm rules J), with c drawn here.
    found = worth(table_of(300, n_mean, df_sd)).standings[0]
    assert 94.4 < found.covered_from <= found.covered_to < 95.6
    rng = np.random.default_rng(SEED)
    for z in (0.0, -2.0):
        c = z * np.sqrt(rng.chisquare(df_sd, 8_000) / df_sd) + rng.standard_normal(8_000) / n_mean**0.5
        at = stats.nct.cdf(z * n_mean**0.5, df_sd, c * n_mean**0.5)
        assert 100 * np.mean((at > 0.025) & (at < 0.975)) == pytest.approx(95, abs=0.8)


def test_the_whole_n_in_place_of_n_mean_shows_too_little_spread_and_is_seen_through_by_people() -> None:
    # A continuous table of 300 at its end is as good as n 31, df 74 (norm rules A); read as n 300 it would
    # promise 6.3 to 11.2. What tables of such a fit do is simulated here from the law of mean and SD.
    rng = np.random.default_rng(SEED)
    sd = np.sqrt(rng.chisquare(74, 20_000) / 74)
    mean = rng.standard_normal(20_000) / 31**0.5
    cut = stats.t.ppf(stats.norm.cdf(LOW), 74) * (1 + 1 / 31) ** 0.5
    known = np.quantile(100 * stats.norm.cdf(mean + sd * cut), [0.025, 0.975])
    honest = worth(table_of(300, 31, 74), 20_000).standings[0].called_low
    whole = worth(table_of(300), 20_000).standings[0].called_low
    assert (honest.low, honest.high) == pytest.approx(known, abs=0.5)
    assert whole.high < honest.high - 4 and whole.low > honest.low + 2
    # and the share called low is no longer 8.59 (norm rules A: up to 9.7 with the whole n)
    whole_cut = stats.t.ppf(stats.norm.cdf(LOW), 299) * (1 + 1 / 300) ** 0.5
    assert (100 * stats.norm.cdf(mean + sd * whole_cut)).mean() > 8.9


def test_percentile_columns_have_the_spread_of_a_share_of_n_people() -> None:
    # The true share below the p-quantile of n people, by people: order statistics of uniform draws.
    levels = tuple(5 + stats.norm.ppf(np.array([2, 5, 9, 16, 25, 50, 75, 84, 91, 95, 98]) / 100))
    table = table_of(99)
    row: Row = replace(table.rows[0], percentiles=levels)
    measures = tuple(replace(one, scale="identity") for one in table.measures if one.name == row.measure)
    found = worth(
        replace(table, rows=(row,), measures=measures, measures_use={row.measure: "percentiles"}), 20_000
    ).standings[0]
    # lower is better here, so low is the upper 8.59 %: the same by symmetry
    people = np.sort(np.random.default_rng(SEED).random((20_000, 99)), axis=1)
    at = stats.norm.cdf(LOW) * 100
    known = 100 * (people[:, int(at) - 1] + (at % 1) * (people[:, int(at)] - people[:, int(at) - 1]))
    assert found.called_low.mean == pytest.approx(100 * stats.norm.cdf(LOW), abs=0.1)
    assert found.called_low.high == pytest.approx(np.quantile(known, 0.975), abs=0.6)
    assert 92 < found.covered_from <= found.covered_to < 97


# --- change ---


def pivot(rng: np.random.Generator, worlds: int, n: int, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """True means and covariances behind a study of n pairs with covariance s and means 0, from people."""
    people = rng.standard_normal((worlds, n, 2))
    middle = people.mean(axis=1)
    scatter = np.einsum("wni,wnj->wij", people - middle[:, None], people - middle[:, None]) / (n - 1)
    root = np.linalg.cholesky(s) @ np.linalg.inv(np.linalg.cholesky(scatter))
    return -np.einsum("wij,wj->wi", root, middle), root @ np.swapaxes(root, 1, 2)


def brute_force(n: int, r: float, people: str, change: float, persons: int = 1500) -> tuple[float, ...]:
    """Mean and 95 % range over 1,000 worlds of the share called poorer, each by drawn persons."""
    rng = np.random.default_rng([SEED, n, int(10 * r), PEOPLE.index(people)])
    means, cov = pivot(rng, 1_000, n, np.array([[1, r], [r, 1.0]]))
    e = rng.standard_normal((2, 1_000, persons))
    s1, s12, s2 = (part[:, None] for part in (cov[:, 0, 0], cov[:, 0, 1], cov[:, 1, 1]))
    m1, m2 = means[:, :1], means[:, 1:]
    if people == "stable_low":
        within = np.sqrt((s1 + s2 - 2 * s12) / 2)
        x, y = -2 + within * e[0], -2 + m2 - m1 + within * e[1]
    else:
        x = m1 + np.sqrt(s1) * e[0] if people == "healthy" else np.full_like(e[0], -2.0)
        y = m2 + s12 / s1 * (x - m1) + np.sqrt(s2 - s12**2 / s1) * e[1]
    y = y - change
    error = np.sqrt((1 - r**2) * (n - 1) / (n - 2)) * np.sqrt(1 + 1 / n + x**2 / (n - 1))
    by_regression = (y - r * x) / error < stats.t.ppf(0.05, n - 2)
    by_difference = (y - x) / (np.sqrt(2 - 2 * r) * np.sqrt(1 + 1 / n)) < stats.t.ppf(0.05, n - 1)
    share = 100 * (by_regression & by_difference).mean(axis=1)
    return float(share.mean()), *(float(end) for end in np.quantile(share, [0.025, 0.975]))


@pytest.mark.parametrize(("n", "r"), [(30, 0.7), (50, 0.5), (100, 0.9)])
@pytest.mark.parametrize("people", PEOPLE)
def test_false_alarms_of_change_are_those_of_people_drawn_one_by_one(n: int, r: float, people: str) -> None:
    found = of_people(changes(n, r), people)
    mean, low, high = brute_force(n, r, people, 0.0)
    assert found.poorer.mean == pytest.approx(mean, abs=0.25)
    assert (found.poorer.low, found.poorer.high) == pytest.approx((low, high), abs=1.2)


@pytest.mark.parametrize("people", PEOPLE)
def test_power_is_that_of_people_drawn_one_by_one(people: str) -> None:
    found = of_people(changes(50, 0.8), people)
    for change, seen in zip(CHANGES_SD, found.power, strict=True):
        mean, low, high = brute_force(50, 0.8, people, change, 600)
        assert seen.mean == pytest.approx(mean, abs=0.9)
        assert (seen.low, seen.high) == pytest.approx((low, high), abs=3)


@pytest.mark.parametrize(
    ("r", "lower", "upper"), [(0.5, 3.0, 2.9), (0.7, 3.4, 3.4), (0.8, 3.7, 3.7), (0.9, 4.0, 4.1)]
)
def test_healthy_people_are_called_changed_as_often_as_published_for_the_joint_rule(
    r: float, lower: float, upper: float
) -> None:
    # Own Monte Carlo, 400,000 draws of study and person, n 50 (statistics 3c): a new study in every draw.
    found = of_people(changes(50, r, worlds=8_000), "healthy")
    assert (found.poorer.mean, found.better.mean) == pytest.approx((lower, upper), abs=0.35)


@pytest.mark.parametrize(
    ("r", "lower", "upper"), [(0.5, 5.0, 0.2), (0.7, 5.0, 0.5), (0.8, 4.9, 0.9), (0.9, 4.9, 1.7)]
)
def test_stably_low_people_are_called_changed_as_often_as_published_for_the_joint_rule(
    r: float, lower: float, upper: float
) -> None:
    # The same source, true score -2, n 50. The law of the worlds is exact for the regression; for the
    # difference it is wider by about 1/n of its SD: up to half a point more here, never less.
    found = of_people(changes(50, r, worlds=8_000), "stable_low")
    assert lower - 0.15 <= found.poorer.mean <= lower + 0.6
    assert found.better.mean == pytest.approx(upper, abs=0.35)


def test_power_of_a_decline_is_the_published_one() -> None:
    # Decline of 1.5 SD, r .8, n 50 (statistics 3c): both rules 72.2 in healthy people, 52.3 where the first
    # score was seen at -2.
    found = changes(50, 0.8, worlds=8_000)
    assert of_people(found, "healthy").power[2].mean == pytest.approx(72.2, abs=1.2)
    assert of_people(found, "first_low").power[2].mean == pytest.approx(52.3, abs=1.2)


@pytest.mark.parametrize(("n", "low", "high"), [(30, 1.1, 12.5), (50, 1.7, 10.4), (100, 2.5, 8.7)])
def test_one_study_leaves_the_true_tail_as_open_as_known(n: int, low: float, high: float) -> None:
    # Norm rules D: given ONE study, the true tail at nominal 5 spans these. With r near 1 both parts of the
    # joint rule are one and the same limit.
    found = of_people(changes(n, 0.999, worlds=20_000), "stable_low")
    assert (found.poorer.low, found.poorer.high) == pytest.approx((low, high), abs=1.3)


def test_the_textbook_index_in_place_of_the_rule_moves_the_figures_as_known(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Jacobson & Truax (1991) with a gain of .3 SD, r .9: about 18 in 100 unchanged people called better at
    # n 30 (norm rules J), where the joint rule has 4.
    row = study(30, 0.9, gain=0.3)

    def textbook(z_1: np.ndarray, known: object) -> Limits:
        reach = 1.6449 / float(jacobson_truax(0.0, 1.0, study_of(row)))
        return Limits(z_1, z_1 - reach, z_1 + reach)

    rule = of_people(changes(30, 0.9, 0.3), "healthy").better
    monkeypatch.setattr(calibration, "joint_limits", textbook)
    index = of_people(changes(30, 0.9, 0.3), "healthy").better
    assert rule.mean < 5.5
    assert index.mean == pytest.approx(18.0, abs=1.5)


# --- laws ---


def test_the_same_seed_gives_the_same_figures_and_another_gives_others() -> None:
    table = read_folder(EXAMPLE)
    once = calibration_figures(table, 7, 200)
    assert calibration_figures(table, 7, 200) == once
    assert calibration_figures(table, 8, 200) != once


def test_the_order_of_rows_changes_no_figure() -> None:
    table = read_folder(EXAMPLE)
    turned = replace(table, rows=table.rows[::-1], retest=table.retest[::-1])
    plain = {(one.measure, one.sex): one for one in calibration_figures(table, 7, 200)}
    for one in calibration_figures(turned, 7, 200):
        known = plain[one.measure, one.sex]
        assert one.changes == known.changes
        assert {row.n_mean for row in one.standings} == {row.n_mean for row in known.standings}


def test_better_and_poorer_mirror_each_other_without_a_gain() -> None:
    found = of_people(changes(50, 0.8, worlds=20_000), "healthy")
    assert found.poorer.mean == pytest.approx(found.better.mean, abs=0.1)


def test_a_larger_study_narrows_the_range_and_a_larger_change_is_seen_more_often() -> None:
    small, large = (of_people(changes(n, 0.8), "healthy") for n in (30, 300))
    assert large.poorer.high - large.poorer.low < small.poorer.high - small.poorer.low
    assert [share.mean for share in large.power] == sorted(share.mean for share in large.power)


# --- what is not judged ---


def test_a_study_too_small_to_judge_by_has_no_figures() -> None:
    assert worth(table_of(100, study=study(19, 0.8))).changes[0].people == ()


def test_a_row_below_the_floor_answers_nothing() -> None:
    found = worth(table_of(29, study=study(100, 0.8)))
    assert (found.rows, found.rows_answering, found.standings, found.changes) == (1, 0, (), ())


def test_progress_is_told_measure_by_measure() -> None:
    heard: list[tuple[int, int]] = []
    calibration_figures(read_folder(EXAMPLE), 1, 100, lambda done, of: heard.append((done, of)))
    assert heard == [(done, 7) for done in range(1, 8)]


def test_a_share_lies_between_0_and_100() -> None:
    for one in calibration_figures(read_folder(EXAMPLE), 1, 100):
        for change in one.changes:
            for people in change.people:
                shares: list[Share] = [people.poorer, people.better, *people.power]
                assert all(0 <= share.low <= share.mean <= share.high <= 100 for share in shares)
