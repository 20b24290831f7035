"""Chances of several low or changed measures, against exact integrals."""

from dataclasses import replace
from itertools import combinations
from math import comb

import numpy as np
import pytest
from scipy import stats

from norms import (
    PRIMARY_MEASURES,
    ByHand,
    Change,
    ChangeProfile,
    Occasion,
    Profile,
    Refusal,
    Standing,
    Table,
    change,
    change_profile,
    profile,
    read_folder,
    standing,
)
from norms.judge.profile import CHANGE_Z, LOW_Z_STAR, chances_of_counts
from tests.norms.folders import EXAMPLE

TODAY = (5.3, 11.6, 105.0, 302.0, 10.4, 6.4)


@pytest.fixture(scope="module")
def table() -> Table:
    return read_folder(EXAMPLE)


def standings(table: Table, values: tuple[float, ...] = TODAY) -> list[Standing]:
    found = [
        standing(table, name, value, ByHand(72.0))
        for name, value in zip(PRIMARY_MEASURES, values, strict=False)
    ]
    return [one for one in found if isinstance(one, Standing)]


def changes(table: Table, after: tuple[float, ...]) -> list[Change]:
    found = [
        change(table, name, Occasion(before, ByHand(71.5)), Occasion(later, ByHand(72)), 180)
        for name, before, later in zip(PRIMARY_MEASURES, TODAY, after, strict=True)
    ]
    return [one for one in found if isinstance(one, Change)]


def one_factor(m: int, rho: float, cut: float) -> list[float]:
    """% with at least 1..m of m equicorrelated normal scores below a cut: the exact one-factor integral."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(201)
    p = stats.norm.cdf((cut - np.sqrt(rho) * nodes) / np.sqrt(1 - rho))
    exactly = [comb(m, k) * p**k * (1 - p) ** (m - k) @ weights / np.sqrt(2 * np.pi) for k in range(m + 1)]
    return [100 * float(sum(exactly[k:])) for k in range(1, m + 1)]


def equal(m: int, rho: float) -> np.ndarray:
    return np.full((m, m), rho) + (1 - rho) * np.eye(m)


# Exact integral (201 Gauss-Hermite nodes; binomial at rho 0): % with >= 1, 2, 3, 4 below the 5th percentile.
BELOW_5 = {
    (4, 0.0): (18.549, 1.402, 0.048, 0.001),
    (4, 0.3): (16.351, 3.073, 0.519, 0.057),
    (4, 0.5): (14.411, 4.122, 1.208, 0.258),
    (4, 0.7): (12.031, 4.969, 2.210, 0.790),
    (6, 0.0): (26.491, 3.277, 0.223, 0.009),
    (6, 0.3): (22.018, 5.870, 1.609, 0.408),
    (6, 0.7): (14.754, 7.215, 4.059, 2.298),
    (8, 0.0): (33.658, 5.724, 0.579, 0.037),
    (8, 0.5): (21.908, 9.303, 4.556, 2.307),
    (8, 0.7): (16.832, 9.007, 5.603, 3.630),
    (10, 0.0): (40.126, 8.614, 1.150, 0.103),
    (10, 0.3): (30.720, 11.489, 4.643, 1.916),
    (10, 0.5): (24.662, 11.482, 6.188, 3.505),
}


@pytest.mark.parametrize(("m", "rho"), BELOW_5)
def test_simulated_chances_are_those_of_the_exact_integral(m: int, rho: float) -> None:
    known = BELOW_5[m, rho]
    assert one_factor(m, rho, stats.norm.ppf(0.05))[:4] == pytest.approx(known, abs=0.002)
    found = chances_of_counts(equal(m, rho), float(stats.norm.ppf(0.05)))
    assert len(found) == m
    assert found[:4] == pytest.approx(known, abs=0.45)  # SE of 200,000 draws: .11 at 40 %, .03 at 2 %


def test_the_chance_of_none_low_is_the_multivariate_normal_integral(table: Table) -> None:
    found = profile(table, standings(table))
    assert isinstance(found, Profile)
    r = {
        frozenset((one.measure_1, one.measure_2)): one.r for one in table.correlations if one.kind == "visit"
    }
    matrix = np.eye(6)
    for i, j in combinations(range(6), 2):
        matrix[i, j] = matrix[j, i] = r[frozenset((PRIMARY_MEASURES[i], PRIMARY_MEASURES[j]))]
    none_low = stats.multivariate_normal(np.zeros(6), matrix).cdf(np.full(6, 41 / 30))
    assert found.chances_percent[0] == pytest.approx(100 * (1 - none_low), abs=0.4)


def test_chances_fall_with_the_count_and_are_the_same_every_time(table: Table) -> None:
    first, second = (profile(table, standings(table)) for _ in range(2))
    assert first == second
    assert isinstance(first, Profile)
    assert list(first.chances_percent) == sorted(first.chances_percent, reverse=True)


def test_the_limits_counted_are_those_of_the_rules() -> None:
    assert pytest.approx((79.5 - 100) / 15, abs=1e-12) == LOW_Z_STAR
    assert pytest.approx(stats.norm.ppf(0.05), abs=1e-12) == CHANGE_Z


def test_low_scores_are_counted_and_the_chance_is_for_that_many(table: Table) -> None:
    found = profile(table, standings(table, (9.0, 16.0, 105.0, 302.0, 10.4, 6.4)))
    assert isinstance(found, Profile)
    assert found.low == ("steady.preferred.scatter", "brisk.preferred.scatter", "wander.preferred.delay")
    assert (found.n_scored, found.n_low, found.chance_percent) == (6, 3, found.chances_percent[2])


def test_the_chance_is_recomputed_for_the_measures_scored(table: Table) -> None:
    one = profile(table, standings(table)[:1])
    assert isinstance(one, Profile)
    assert one.chances_percent == pytest.approx([8.59], abs=0.2)  # Phi(-41/30): one measure alone
    whole = profile(table, standings(table))
    assert isinstance(whole, Profile) and whole.chances_percent[0] > 2 * one.chances_percent[0]


def test_changed_measures_are_counted_by_the_correlations_of_change(table: Table) -> None:
    found = change_profile(table, changes(table, (5.3, 20.0, 105.0, 302.0, 4.0, 6.4)))
    assert isinstance(found, ChangeProfile)
    assert (found.worse, found.better) == (("brisk.preferred.scatter",), ("wander.preferred.scatter",))
    assert found.chance_worse_percent == found.chances_percent[0]
    # Of change: correlations .45 and .25; an equal .35 gives 20.8 by the exact integral, .25 gives 22.7.
    assert one_factor(6, 0.45, CHANGE_Z)[0] < found.chances_percent[0] < one_factor(6, 0.25, CHANGE_Z)[0]


def test_a_lag_that_ended_ahead_is_not_counted_as_better(table: Table) -> None:
    found = change_profile(table, changes(table, (5.3, 11.6, -40.0, 302.0, 10.4, 6.4)))
    assert isinstance(found, ChangeProfile) and found.n_better == 0 and found.n_compared == 6


def test_a_missing_correlation_refuses_the_sentence_by_name(table: Table) -> None:
    lacking = replace(
        table,
        correlations=tuple(one for one in table.correlations if one.measure_2 != "steady.other.scatter"),
    )
    assert isinstance(
        profile(lacking, standings(table)[:2]), Refusal
    )  # all primary ones, also when fewer scored
    found = profile(lacking, standings(table))
    assert isinstance(found, Refusal) and found.code == "correlation_missing"
    assert found.values["measure_2"] == "steady.other.scatter"


def test_correlations_that_cannot_be_true_together_refuse_the_sentence(table: Table) -> None:
    torn = replace(
        table,
        correlations=tuple(
            replace(one, r=-0.95 if one.measure_2 == "circles.preferred.lag" else 0.95)
            for one in table.correlations
        ),
    )
    found = profile(torn, standings(table)[:4])
    assert isinstance(found, Refusal) and found.code == "correlation_not_positive_definite"


def test_nothing_scored_is_nothing_to_count(table: Table) -> None:
    assert profile(table, []) == Refusal("nothing_to_count")
    assert change_profile(table, []) == Refusal("nothing_to_count")
