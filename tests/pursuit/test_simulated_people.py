"""Simulated people through the kiosk's own scoring: nobody real, but in the range the demonstration needs.

The expected values are those of the project's invented example table, not of any published sample.
"""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import day_to_day, later, move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.score import score_trial

BATTERY = load_battery()


def _scores(hand, plan, rng, index=0):
    record = TrialRecord(plan, move(hand, plan, rng, trial_index=index), TrialFacts(latency_ms=0.0))
    scored = score_trial(record)
    assert scored.validity.valid
    return {name: one.value for name, one in scored.values.items()}


def _people(age, block, hand, number, score, count=80):
    """One trial's score of each of these people."""
    plan = BATTERY.plan(block, hand, number)
    return np.array([_scores(typical_hand(age, rng), plan, rng)[score]
                     for rng in (np.random.default_rng([seed, int(age)]) for seed in range(count))])


@pytest.mark.parametrize(("block", "hand", "score", "at_30", "at_80"), [
    ("steady", "preferred", "scatter", 3.3, 5.8), ("brisk", "preferred", "scatter", 5.3, 9.6),
    ("wander", "preferred", "scatter", 7.0, 10.0), ("steady", "other", "scatter", 4.4, 7.6)])
def test_scatter_grows_with_age_as_in_the_example(block, hand, score, at_30, at_80):
    for age, expected in ((30.0, at_30), (80.0, at_80)):
        assert np.median(_people(age, block, hand, 1, score)) == pytest.approx(expected, rel=0.15)


@pytest.mark.parametrize(("block", "score", "at_30", "at_80"), [
    ("brisk", "lag", 40.0, 90.0), ("wander", "delay", 142.0, 232.0)])
def test_lag_and_delay_grow_with_age_as_in_the_example(block, score, at_30, at_80):
    for age, expected in ((30.0, at_30), (80.0, at_80)):
        assert np.median(_people(age, block, "preferred", 1, score)) == pytest.approx(expected, abs=14.0)


def test_most_people_are_on_the_disc_most_of_the_time_but_not_all_of_it():
    for age, least in ((30.0, 95.0), (80.0, 80.0)):
        on = _people(age, "steady", "preferred", 1, "time_on_target")
        assert least < np.median(on) <= 100.0 and np.mean(on == 100.0) < 0.75


def test_people_are_more_alike_to_themselves_half_a_year_later_than_to_each_other():
    plan = BATTERY.plan("steady", "preferred", 1)
    before, after = [], []
    for seed in range(150):
        rng = np.random.default_rng(seed)
        person = typical_hand(50.0, rng)
        before.append(_scores(day_to_day(person, rng), plan, rng)["scatter"])
        after.append(_scores(day_to_day(later(person, 1), rng), plan, rng)["scatter"])
    assert 0.55 < np.corrcoef(np.log(before), np.log(after))[0, 1] < 0.92  # single trials: below block means
