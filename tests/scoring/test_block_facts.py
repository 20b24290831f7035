"""Facts of a block, worked by hand."""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.scoring.block_facts import block_facts
from kiosk.scoring.catalogue import is_fact
from kiosk.scoring.trial_scores import Scored, TrialScores, Validity

BATTERY = load_battery()


def trial(block, hand, number, scatter_mm, *, valid=True, side=None, **values):
    plan = BATTERY.plan(block, hand, number, side=side)
    figures = {"scatter": Scored(scatter_mm, 0.1 * scatter_mm)} | values
    return plan, TrialScores(figures, Validity(valid))


def facts(*trials):
    return block_facts(trials, BATTERY)


def test_practice_is_the_change_of_scatter_from_trial_to_trial():
    """4, 3.6, 3.24 mm: 10 % less each time; SE of a slope of three with 10 % each: .1 / sqrt 2 of .9."""
    trials = [trial("steady", "preferred", k + 1, 4 * 0.9**k) for k in range(3)]
    found = facts(*trials)["steady.preferred.practice"]
    assert found.value == pytest.approx(-10.0)
    assert found.se == pytest.approx(100 * 0.9 * 0.1 / np.sqrt(2))
    assert found.n_trials == 3


def test_the_other_hand_is_set_against_this_one_on_the_same_circle():
    trials = [trial("steady", "preferred", k, 4.0) for k in (1, 2, 3)]
    trials += [trial("steady", "other", k, 5.0) for k in (1, 2)]
    found = facts(*trials)["steady.both.hand_difference"]
    assert found.value == pytest.approx(25.0)
    assert found.se == pytest.approx(125 * np.hypot(0.1 / np.sqrt(3), 0.1 / np.sqrt(2)))


@pytest.mark.parametrize("side", ["right", "left"])
def test_directions_are_those_of_the_body(side):
    """Steady runs + - +, mirrored for a left hand; + is set against -."""
    sizes = (6.0, 4.0, 6.0)
    trials = [trial("steady", "preferred", k + 1, mm, side=side) for k, mm in enumerate(sizes)]
    assert facts(*trials)["steady.preferred.direction_difference"].value == pytest.approx(50.0)


def test_means_of_trials_have_the_error_of_their_spread():
    gains = [{"gain": Scored(value, 0.01)} for value in (0.9, 1.0, 1.1)]
    trials = [trial("brisk", "preferred", k + 1, 4.0, **gain) for k, gain in enumerate(gains)]
    found = facts(*trials)["brisk.preferred.gain"]
    assert (found.value, found.se) == (pytest.approx(1.0), pytest.approx(0.1 / np.sqrt(3)))
    alone = facts(trials[0])["brisk.preferred.gain"]
    assert (alone.value, alone.se) == (0.9, 0.01)


def test_what_was_not_done_is_told_with_its_reason():
    found = facts(trial("steady", "preferred", 1, 4.0), trial("steady", "preferred", 2, 4.0, valid=False))
    assert found["steady.preferred.practice"].reason == "too_few_valid_trials"
    assert found["steady.preferred.direction_difference"].reason == "too_few_valid_trials"
    assert found["brisk.preferred.practice"].reason == "block_not_run"
    assert found["steady.both.hand_difference"].reason == "block_not_run"
    assert found["steady.preferred.tremor_hz"].reason == "shake_not_judged"


def test_every_fact_is_better_neither_way():
    assert all(is_fact(measure) and measure == one.measure for measure, one in facts().items())
    assert "wander.preferred.direction_difference" not in facts()
