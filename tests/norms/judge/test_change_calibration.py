"""How often people who have not changed are called changed: simulated, seeds printed.

Every draw has a new retest study and a new person. The rates are those of the project's own functions.
"""

from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from norms import ByHand, Change, Occasion, change
from norms.judge.joint_rule import (
    Limits,
    Study,
    both_sd,
    difference_limits,
    difference_z,
    jacobson_truax,
    joint_limits,
    outside,
    practice_adjusted,
    regression_limits,
    regression_z,
)
from norms.table.table import Measure, RetestRow, Row, Table, performance_z

SEED, DRAWS, STUDY_N, R, GAIN = 20_260_711, 20_000, 100, 0.8, 0.2
SCATTER = Measure("steady.preferred.scatter", "mm", "lower", "log", 1)


def mean_at(age: np.ndarray | float) -> np.ndarray | float:
    """Mean ln scatter: rises with age, faster in old age (invented, of the size of the demonstration)."""
    return 1.10 + 0.008 * (age - 20) + 0.00006 * (age - 20) ** 2


def sd_at(age: np.ndarray | float) -> np.ndarray | float:
    return 0.27 + 0.0009 * (age - 20)


ROWS = tuple(
    Row(
        SCATTER.name,
        "any",
        "simulated",
        float(age),
        age + 1.0,
        300,
        100.0,
        200.0,
        None,
        float(mean_at(age + 0.5)),
        float(sd_at(age + 0.5)),
    )
    for age in range(20, 90)
)


def table(rows: tuple[Row, ...], study: RetestRow | None = None) -> Table:
    return Table(
        "0" * 64,
        "calibration",
        "calibration",
        "1.0.0",
        "synthetic",
        "clinic",
        1,
        1,
        1,
        {"steady": 16},
        "finger",
        "2026-01-01",
        "2026-01-01",
        None,
        ("en",),
        "continuous",
        30,
        50,
        {},
        {},
        (SCATTER,),
        rows,
        () if study is None else (study,),
    )


def pairs(rng: np.random.Generator, shape: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    """True z at two visits, correlated R, with a practice gain."""
    first, noise = rng.normal(size=shape), rng.normal(size=shape)
    return first, GAIN + R * first + np.sqrt(1 - R**2) * noise


def ln_scatter(z: np.ndarray, age: np.ndarray | float) -> np.ndarray:
    return mean_at(age) - sd_at(age) * z


def on_table(ln_values: np.ndarray, ages: np.ndarray) -> np.ndarray:
    """z of many people, each by the row of their age, through the project's own function."""
    z = np.full(ln_values.shape, np.nan)
    whole = table(ROWS)
    for row in ROWS:
        here = (ages >= row.age_from) & (ages < row.age_to)
        z[here] = performance_z(whole, SCATTER, row, np.exp(ln_values[here]))
    return z


def summary(first: np.ndarray, second: np.ndarray) -> Study:
    """Each draw's own study, from its own people."""
    away = [part - part.mean(axis=1, keepdims=True) for part in (first, second)]
    sd = [np.sqrt((part**2).sum(axis=1) / (STUDY_N - 1)) for part in away]
    r = (away[0] * away[1]).sum(axis=1) / ((STUDY_N - 1) * sd[0] * sd[1])
    return Study(STUDY_N, r, first.mean(axis=1), sd[0], second.mean(axis=1), sd[1])


class Worlds:
    """20,000 studies of 100 people of all ages, and a healthy unchanged person of 85 in each."""

    def __init__(self) -> None:
        rng = np.random.default_rng(SEED)
        ages = rng.uniform(20.5, 89.99, (DRAWS, STUDY_N))
        study = [ln_scatter(z, ages) for z in pairs(rng, (DRAWS, STUDY_N))]
        self.person = [ln_scatter(z, 85.5) for z in pairs(rng, (DRAWS,))]
        self.study_on_z = summary(*(on_table(part, ages) for part in study))
        self.study_raw = summary(-study[0], -study[1])
        at_85 = np.full(DRAWS, 85.5)
        self.person_on_z = [on_table(part, at_85) for part in self.person]


@pytest.fixture(scope="module")
def worlds() -> Worlds:
    return Worlds()


def tails(second: np.ndarray, limits: Limits) -> tuple[float, float]:
    side = outside(second, limits)
    return 100 * float(np.mean(side == -1)), 100 * float(np.mean(side == 1))


def report(what: str, rates: tuple[float, float]) -> None:
    print(f"{what}, seed {SEED}, {DRAWS} draws (SE .15): worse {rates[0]:.2f} %, better {rates[1]:.2f} %")


def test_at_85_the_regression_limit_alone_keeps_its_5_percent_a_tail(worlds: Worlds) -> None:
    rates = tails(worlds.person_on_z[1], regression_limits(worlds.person_on_z[0], worlds.study_on_z))
    report("regression on z", rates)
    assert all(4.5 <= rate <= 5.5 for rate in rates)


def test_at_85_the_joint_rule_stays_at_or_below_its_5_percent_a_tail(worlds: Worlds) -> None:
    rates = tails(worlds.person_on_z[1], joint_limits(worlds.person_on_z[0], worlds.study_on_z))
    report("joint rule on z", rates)
    assert all(2.5 <= rate <= 5.1 for rate in rates)


def test_at_85_the_raw_log_scale_of_a_mixed_age_study_is_outside(worlds: Worlds) -> None:
    first, second = (-part for part in worlds.person)
    rates = tails(second, regression_limits(first, worlds.study_raw))
    report("regression on the raw log scale", rates)
    assert not all(4.5 <= rate <= 5.5 for rate in rates)
    assert rates[0] > 7


def test_printed_limits_and_the_word_reliable_agree_in_every_draw(worlds: Worlds) -> None:
    row = next(row for row in ROWS if row.covers(85.5))
    parts = [np.broadcast_to(np.asarray(part, float), DRAWS) for part in worlds.study_on_z]
    quick = outside(worlds.person_on_z[1], joint_limits(worlds.person_on_z[0], worlds.study_on_z))
    words = {-1: "worse", 0: "none", 1: "better"}
    wrong = 0
    for draw in range(DRAWS):
        numbers = [float(part[draw]) for part in parts[1:]]
        study = RetestRow(SCATTER.name, "any", "simulated", STUDY_N, *numbers, 100, 180, 260, 0)
        before, after = (float(np.exp(part[draw])) for part in worlds.person)
        found = change(
            table((row,), study),
            SCATTER.name,
            Occasion(before, ByHand(85.2)),
            Occasion(after, ByHand(85.5)),
            120,
        )
        assert isinstance(found, Change)
        low, high = found.limits_value
        word = "worse" if after > high else "better" if after < low else "none"
        wrong += not (found.reliable == word == words[int(quick[draw])])
    assert wrong == 0


def drawn_studies(rng: np.random.Generator, draws: int, n: int, r: float, gain: float) -> Study:
    """Summaries of `draws` studies of n pairs, from the people themselves."""
    first = rng.normal(size=(draws, n))
    second = gain + r * first + np.sqrt(1 - r**2) * rng.normal(size=(draws, n))
    sd = [part.std(axis=1, ddof=1) for part in (first, second)]
    away = [part - part.mean(axis=1, keepdims=True) for part in (first, second)]
    both = (away[0] * away[1]).sum(axis=1) / ((n - 1) * sd[0] * sd[1])
    return Study(n, both, first.mean(axis=1), sd[0], second.mean(axis=1), sd[1])


def beyond(index: Callable[..., np.ndarray], first: np.ndarray, second: np.ndarray, study: Study) -> float:
    return 100 * float(np.mean(np.abs(index(first, second, study)) > stats.norm.ppf(0.975)))


def either(limits: Callable[..., Limits], first: np.ndarray, second: np.ndarray, study: Study) -> float:
    return sum(tails(second, limits(first, study, 0.95)))


def test_two_sided_false_alarms_of_the_textbook_indices_are_the_simulated_ones() -> None:
    # Own Monte Carlo of 400,000 draws, n 30, r .7, gain .3 SD, nominal 5 %. Here 100,000 (SE .07-.09).
    rng, draws, r = np.random.default_rng(SEED), 100_000, 0.7
    study = drawn_studies(rng, draws, 30, r, 0.3)
    first = rng.normal(size=draws)
    second = 0.3 + r * first + np.sqrt(1 - r**2) * rng.normal(size=draws)
    z_indices = (jacobson_truax, practice_adjusted, both_sd, difference_z, regression_z)
    found = [
        *(beyond(index, first, second, study) for index in z_indices),
        *(either(limits, first, second, study) for limits in (difference_limits, regression_limits)),
    ]
    assert found == pytest.approx([8.4, 6.9, 6.7, 6.4, 6.8, 5.0, 5.0], abs=0.35)


def test_a_stable_low_person_is_what_the_joint_rule_is_for() -> None:
    # True score stably 2 SD below the mean, n 50, r .7, lower tail at nominal 5: difference 5.0,
    # regression 18.6, both 5.0 (own Monte Carlo of 300,000 draws). Here 60,000 (SE .09, .16).
    rng, draws, r = np.random.default_rng(SEED + 1), 60_000, 0.7
    study = drawn_studies(rng, draws, 50, r, 0.0)
    first, second = (-2 + np.sqrt(1 - r) * rng.normal(size=draws) for _ in range(2))
    found = [
        tails(second, limits(first, study))[0]
        for limits in (difference_limits, regression_limits, joint_limits)
    ]
    assert found == pytest.approx([5.0, 18.6, 5.0], abs=0.6)


def test_skewed_scores_are_to_be_compared_on_the_log_scale() -> None:
    # Log-normal, SD of log .35, first score at +2 SD, n 50, r .7, nominal 5/5: raw 14.5/12.4, log 5/5
    # (own Monte Carlo).
    rng, draws, r = np.random.default_rng(SEED + 2), 40_000, 0.7
    first = rng.normal(size=(draws, 50))
    second = r * first + np.sqrt(1 - r**2) * rng.normal(size=(draws, 50))
    later = r * 2 + np.sqrt(1 - r**2) * rng.normal(size=draws)
    rates = []
    for scale in (lambda z: np.exp(0.35 * z), lambda z: 0.35 * z):
        one, two = scale(first), scale(second)
        r_found = [np.corrcoef(a, b)[0, 1] for a, b in zip(one, two, strict=True)]
        study = Study(
            50, r_found, one.mean(axis=1), one.std(axis=1, ddof=1), two.mean(axis=1), two.std(axis=1, ddof=1)
        )
        rates += tails(scale(later), regression_limits(scale(2.0), study))
    assert rates == pytest.approx([14.5, 12.4, 5.0, 5.0], abs=0.8)
