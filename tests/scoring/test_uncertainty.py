"""Standard errors from within a trial: as large as what repeating the trial shows."""

from dataclasses import replace

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.score import score_trial
from kiosk.scoring.uncertainty import standard_error, sums_by_second
from tests.scoring.hands import disc_of, plan_of, record_of, times, wobbling

STEADY_HAND = replace(typical_hand(60, np.random.default_rng(3)), trial_spread=0.0, trial_delay_s=0.0,
                      lapses_per_min=0.0, lifts_per_min=0.0, stalls_per_min=0.0)


def repeats(block, count):
    plan = plan_of(block)
    moved = (move(STEADY_HAND, plan, np.random.default_rng([5, k])) for k in range(count))
    return [score_trial(TrialRecord(plan, samples, TrialFacts())).values for samples in moved]


@pytest.mark.parametrize(("block", "names"), [
    ("steady", ("scatter", "along_sd", "across_sd", "lag", "error_rms", "time_on_target", "gain")),
    ("wander", ("scatter", "along_sd", "across_sd", "delay", "follow", "error_rms", "time_on_target",
                "gain"))])
def test_the_error_told_by_one_trial_is_the_spread_of_many(block, names):
    """Simulated hands repeated 120 times: the mean SE is the SD over repeats to within 30 %."""
    trials = repeats(block, 120)
    for name in names:
        spread = np.std([one[name].value for one in trials], ddof=1)
        told = np.sqrt(np.mean([one[name].se ** 2 for one in trials]))
        assert told == pytest.approx(spread, rel=0.3), name


def test_the_mean_of_independent_seconds_has_its_textbook_error():
    """SD of the seconds' means over root n (400 draws: 4 % each way), drawn from the same n."""
    rng = np.random.default_rng(8)
    levels = rng.standard_normal(16)
    columns = np.column_stack([np.repeat(levels, 240), np.ones(3840)])
    told = standard_error(sums_by_second(columns), lambda sums: (sums[:, 0] / sums[:, 1])[:, None])
    assert told[0] == pytest.approx(np.std(levels) / 4, rel=0.12)


def test_the_same_trial_has_the_same_error_every_time():
    plan = plan_of("steady")
    record = record_of(plan, times(plan), wobbling(plan, 1))
    first, second = (score_trial(record).values for _ in range(2))
    assert first == second and first["scatter"].se > 0


def test_a_hand_exactly_on_the_disc_has_no_error_and_no_uncertainty():
    plan = plan_of("brisk")
    values = score_trial(record_of(plan, times(plan), disc_of(plan, times(plan)))).values
    assert values["error_rms"].se == pytest.approx(0.0, abs=1e-9)
    assert values["time_on_target"].se == 0.0


def test_a_single_trial_lends_its_own_error_to_the_block():
    """On the log scale: relative error; two trials use their spread instead."""
    plans = [plan_of("wander", number=number) for number in (1, 2)]
    trials = [(plan, score_trial(record_of(plan, times(plan), wobbling(plan, 4)))) for plan in plans]
    one = score_blocks(trials[:1], load_battery())["wander.preferred.scatter"]
    figure = trials[0][1].values["scatter"]
    assert one.se == pytest.approx(figure.se / figure.value, rel=0.01)
    two = score_blocks(trials, load_battery())["wander.preferred.scatter"]
    logs = [np.log(scores.values["scatter"].value) for _, scores in trials]
    assert two.se == pytest.approx(abs(logs[1] - logs[0]) / 2)
