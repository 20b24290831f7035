"""False alarms of the rules of change in people who have not changed: every cell, nominal 5 in 100 a tail.

Every draw has a new retest study and a new person. Numbers to compare with: own Monte Carlo of 300,000 to
400,000 draws a cell (norm rules J; statistics 3a to 3c), 2026.
"""

import numpy as np
import pytest

from norms.judge.joint_rule import difference_limits, jacobson_truax, joint_limits, outside, regression_limits
from tests.norms.drawn import SCENARIOS, person, studies

SEED, DRAWS, LONG_DRAWS = 20_261_125, 20_000, 200_000
CELLS = [(n, r) for n in (30, 50, 100) for r in (0.5, 0.7, 0.9)]
OWN_OF_DIFFERENCE = [one for one in SCENARIOS if one[0] != "observed"]
OWN_OF_REGRESSION = [one for one in SCENARIOS if one[0] in ("healthy", "observed")]


def tails(second: np.ndarray, limits: object) -> list[float]:
    """% called worse, better."""
    side = outside(second, limits)
    return [100 * float(np.mean(side == which)) for which in (-1, 1)]


def said(what: str, cell: object, rates: list[float], draws: int) -> None:
    error = 100 * np.sqrt(0.05 * 0.95 / draws)
    print(f"{what} {cell}, seed {SEED}, {draws} draws (SE {error:.2f}): {rates[0]:.2f} / {rates[1]:.2f} %")


def check_cell(n: int, r: float, draws: int, joint_top: float, alone: float) -> None:
    rng = np.random.default_rng([SEED, n, int(10 * r)])
    study = studies(rng, draws, n, r, gain=0.3)
    for scenario in SCENARIOS:
        first, second = person(rng, draws, r, scenario, gain=0.3)
        rates = tails(second, joint_limits(first, study))
        said("joint rule", (n, r, scenario), rates, draws)
        assert max(rates) <= joint_top, (scenario, rates)
        if scenario in OWN_OF_DIFFERENCE:
            assert tails(second, difference_limits(first, study)) == pytest.approx([5, 5], abs=alone)
        if scenario in OWN_OF_REGRESSION:
            assert tails(second, regression_limits(first, study)) == pytest.approx([5, 5], abs=alone)


@pytest.mark.parametrize(("n", "r"), CELLS)
def test_the_joint_rule_keeps_its_5_in_100_a_tail_in_every_cell_without_change(n: int, r: float) -> None:
    check_cell(n, r, DRAWS, joint_top=5.5, alone=0.5)


@pytest.mark.long
@pytest.mark.parametrize(("n", "r"), CELLS)
def test_the_joint_rule_keeps_its_5_in_100_to_a_tenth(n: int, r: float) -> None:
    check_cell(n, r, LONG_DRAWS, joint_top=5.2, alone=0.2)


@pytest.mark.parametrize(("r", "known"), [(0.5, 10.1), (0.7, 11.9), (0.9, 18.0)])
def test_the_textbook_index_calls_practice_better_in_far_more_than_5_in_100(r: float, known: float) -> None:
    # Jacobson & Truax (1991) read as z, practice gain .3 SD, n 30: the same bound of 5.5 would not hold.
    rng = np.random.default_rng([SEED, 7, int(10 * r)])
    study = studies(rng, 40_000, 30, r, gain=0.3)
    first, second = person(rng, 40_000, r, ("healthy", 0.0), gain=0.3)
    upper = 100 * float(np.mean(jacobson_truax(first, second, study) > 1.6449))
    assert upper > 7
    assert upper == pytest.approx(known, abs=0.7)


@pytest.mark.parametrize(("gain", "known"), [(0.0, 12.1), (0.1, 9.2), (0.2, 6.9)])
def test_a_gain_carried_beyond_what_was_studied_calls_too_many_worse_unless_it_is_bracketed(
    gain: float, known: float
) -> None:
    # Study's gain .3, true gain less, r .8 (norm rules D): the difference alone 12.1/9.2/6.9 % worse.
    rng = np.random.default_rng([SEED, int(10 * gain)])
    study = studies(rng, 40_000, 100, 0.8, gain=0.3)
    first, second = person(rng, 40_000, 0.8, ("true", 0.0), gain=gain)
    assert tails(second, difference_limits(first, study))[0] == pytest.approx(known, abs=0.7)
    assert max(tails(second, joint_limits(first, study, bracket=True))) <= 5.5


def test_the_regression_alone_calls_a_stable_low_person_worse() -> None:
    # True score -2, n 50: 27.7 / 18.6 / 11.0 % worse at r .5 / .7 / .9 (statistics 3c).
    for r, known in ((0.5, 27.7), (0.7, 18.6), (0.9, 11.0)):
        rng = np.random.default_rng([SEED, 3, int(10 * r)])
        study = studies(rng, DRAWS, 50, r)
        first, second = person(rng, DRAWS, r, ("true", -2.0))
        assert tails(second, regression_limits(first, study))[0] == pytest.approx(known, abs=1.2)


def test_the_difference_alone_calls_a_chance_low_first_score_better() -> None:
    # Observed first score -2, n 30: 21.8 / 16.5 / 10.7 % better at r .5 / .7 / .9 (statistics 3b).
    for r, known in ((0.5, 21.8), (0.7, 16.5), (0.9, 10.7)):
        rng = np.random.default_rng([SEED, 4, int(10 * r)])
        study = studies(rng, DRAWS, 30, r)
        first, second = person(rng, DRAWS, r, ("observed", -2.0))
        assert tails(second, difference_limits(first, study))[1] == pytest.approx(known, abs=1.2)
