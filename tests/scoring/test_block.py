"""Block scores worked by hand; repeats, too few trials, one usable hand."""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.scoring.block import score_blocks
from kiosk.scoring.catalogue import KINDS, PRIMARY, kind_of, looks, unit_of
from kiosk.scoring.trial_scores import Scored, TrialScores, Validity

BATTERY = load_battery()


def trial(block, hand, number, *, attempt=1, valid=True, reason=None, **values):
    plan = BATTERY.plan(block, hand, number, attempt=attempt)
    timing = "delay" if block == "wander" else "lag"
    given = {"scatter": 3.0, timing: 80.0, "error_rms": 6.0, "time_on_target": 90.0, "along_sd": 2.0,
             "across_sd": 5.0 ** 0.5} | ({"follow": 90.0} if timing == "delay" else {}) | values
    whole = ("error_rms", "time_on_target")
    scored = {name: Scored(one) if not reason or name in whole else Scored(None, reason=reason)
              for name, one in given.items()}
    return plan, TrialScores(scored, Validity(valid))


def whole_visit():
    return [trial("steady", "preferred", 1, lag=70.0), trial("steady", "preferred", 2, lag=80.0),
            trial("steady", "preferred", 3, lag=90.0),
            trial("steady", "other", 1), trial("steady", "other", 2),
            trial("brisk", "preferred", 1, lag=40.0), trial("brisk", "preferred", 2, lag=44.0),
            trial("brisk", "preferred", 3, lag=48.0), trial("wander", "preferred", 1, delay=230.0),
            trial("wander", "preferred", 2, delay=250.0)]


def test_a_whole_visit_scores_every_measure():
    scores = score_blocks(whole_visit(), BATTERY)
    assert all(measure == score.measure and score.value is not None for measure, score in scores.items())
    assert set(PRIMARY) <= set(scores)
    blocks = ("steady.preferred", "steady.other", "brisk.preferred", "wander.preferred")
    everywhere = ("scatter", "error_rms", "time_on_target", "along_sd", "across_sd")
    expected = {f"{block}.{name}" for block in blocks for name in everywhere}
    expected |= {f"{block}.lag" for block in blocks[:3]}
    expected |= {"wander.preferred.delay", "wander.preferred.follow"}
    assert set(scores) == expected | {"circles.preferred.lag", "wander.preferred.prediction"}
    assert [scores[m].unit for m in ("steady.other.scatter", "circles.preferred.lag")] == ["mm", "ms"]


def test_scatter_is_averaged_as_a_geometric_mean():
    trials = [trial("steady", "preferred", k + 1, scatter=mm) for k, mm in enumerate((2.0, 4.0, 8.0))]
    score = score_blocks(trials, BATTERY)["steady.preferred.scatter"]
    assert score.value == pytest.approx(4.0)
    assert score.scaled == pytest.approx(np.log(4.0))
    assert score.trial_variance == pytest.approx(np.log(2.0) ** 2)
    assert score.se == pytest.approx(np.log(2.0) / np.sqrt(3))
    assert score.n_trials == 3


@pytest.mark.parametrize(("block", "n"), [("steady", 32), ("wander", 40)])
def test_time_on_target_is_averaged_on_the_logit_of_independent_looks(block, n):
    """p = ((N + 1) expit(m) - 0.5) / N with N = window / 0.5 s."""
    shares = (75.0, 100.0)
    trials = [trial(block, "preferred", k + 1, time_on_target=p) for k, p in enumerate(shares)]
    score = score_blocks(trials, BATTERY)[f"{block}.preferred.time_on_target"]
    mean = np.mean([np.log((p / 100 * n + 0.5) / ((1 - p / 100) * n + 0.5)) for p in shares])
    assert score.scaled == pytest.approx(mean)
    assert score.value == pytest.approx(100 * ((n + 1) / (1 + np.exp(-mean)) - 0.5) / n)
    full = [trial(block, "preferred", k, time_on_target=100.0) for k in (1, 2)]
    assert score_blocks(full, BATTERY)[f"{block}.preferred.time_on_target"].value == pytest.approx(100.0)


def test_circles_lag_is_the_plain_mean_of_the_two_blocks():
    scores = score_blocks(whole_visit(), BATTERY)
    lag = scores["circles.preferred.lag"]
    assert lag.value == pytest.approx((80 + 44) / 2)
    assert lag.se == pytest.approx(np.sqrt(100 / 3 + 16 / 3) / 2)
    assert lag.n_trials == 6
    prediction = scores["wander.preferred.prediction"]
    assert prediction.value == pytest.approx(240 - 62)
    assert prediction.se == pytest.approx(np.hypot(10.0, lag.se))


def test_a_valid_repeat_stands_for_its_first_attempt():
    trials = [trial("steady", "preferred", 1, scatter=2.0),
              trial("steady", "preferred", 2, valid=False, scatter=50.0),
              trial("steady", "preferred", 3, scatter=2.0),
              trial("steady", "preferred", 2, attempt=2, scatter=16.0)]
    score = score_blocks(trials, BATTERY)["steady.preferred.scatter"]
    assert (score.n_trials, score.value) == (3, pytest.approx(4.0))


def test_a_valid_first_attempt_is_not_replaced():
    trials = [trial("steady", "preferred", 1, scatter=4.0), trial("steady", "preferred", 2, scatter=4.0),
              trial("steady", "preferred", 2, attempt=2, scatter=1.0)]
    for order in (trials, trials[::-1]):
        assert score_blocks(order, BATTERY)["steady.preferred.scatter"].value == pytest.approx(4.0)


def test_an_invalid_repeat_takes_nothing_away():
    trials = [trial("steady", "preferred", 1, scatter=2.0), trial("steady", "preferred", 2, scatter=8.0),
              trial("steady", "preferred", 2, attempt=2, valid=False, scatter=90.0)]
    score = score_blocks(trials, BATTERY)["steady.preferred.scatter"]
    assert (score.n_trials, score.value) == (2, pytest.approx(4.0))


@pytest.mark.parametrize(("block", "hand", "valid", "scored"), [
    ("steady", "preferred", 1, False), ("steady", "preferred", 2, True), ("brisk", "preferred", 1, False),
    ("brisk", "preferred", 2, True), ("wander", "preferred", 1, True), ("wander", "preferred", 0, False),
    ("steady", "other", 1, True), ("steady", "other", 0, False)])
def test_a_block_needs_its_valid_trials(block, hand, valid, scored):
    trials = [trial(block, hand, k + 1, valid=k < valid) for k in range(BATTERY.block(block, hand).trials)]
    score = score_blocks(trials, BATTERY)[f"{block}.{hand}.scatter"]
    assert (score.value is not None) is scored
    assert score.n_trials == valid
    assert score.reason == (None if scored else "too_few_valid_trials")
    assert (score.se is None) == (valid < 2)


def test_trials_without_enough_contact_say_so_and_leave_the_error_scored():
    trials = [trial("steady", "preferred", k, reason="contact_below_80") for k in (1, 2, 3)]
    scores = score_blocks(trials, BATTERY)
    assert scores["steady.preferred.scatter"].reason == "contact_below_80"
    assert scores["steady.preferred.error_rms"].value == pytest.approx(6.0)


def test_with_one_usable_hand_the_other_blocks_were_not_run():
    trials = [one for one in whole_visit() if one[0].hand == "other"]
    scores = score_blocks(trials, BATTERY)
    assert scores["steady.other.scatter"].value == pytest.approx(3.0)
    assert {scores[m].reason for m in PRIMARY if m != "steady.other.scatter"} == {"block_not_run"}


def test_lag_on_circles_needs_both_blocks():
    trials = [one for one in whole_visit() if one[0].block != "brisk"]
    scores = score_blocks(trials, BATTERY)
    assert scores["circles.preferred.lag"].reason == "lag_needs_both"
    assert scores["wander.preferred.prediction"].reason == "prediction_needs_both"
    assert scores["steady.preferred.lag"].value == pytest.approx(80.0)


def test_a_scatter_of_nought_is_outside_its_scale():
    trials = [trial("steady", "preferred", k, scatter=0.0) for k in (1, 2)]
    assert score_blocks(trials, BATTERY)["steady.preferred.scatter"].reason == "not_on_its_scale"


def test_the_practice_circle_is_never_scored():
    trials = [trial("familiarise", "preferred", 1)]
    assert not any(measure.startswith("familiarise") for measure in score_blocks(trials, BATTERY))


def test_the_catalogue_knows_unit_and_better_direction_of_every_primary_measure():
    assert [(m, unit_of(m), kind_of(m).better, kind_of(m).scale) for m in PRIMARY] == [
        ("steady.preferred.scatter", "mm", "lower", "log"), ("brisk.preferred.scatter", "mm", "lower", "log"),
        ("circles.preferred.lag", "ms", "lower", "identity"),
        ("wander.preferred.delay", "ms", "lower", "identity"),
        ("wander.preferred.scatter", "mm", "lower", "log"), ("steady.other.scatter", "mm", "lower", "log")]
    assert KINDS["time_on_target"].better == KINDS["prediction"].better == "higher"
    assert looks(16.0) == 32
    with pytest.raises(KeyError):
        kind_of("steady.preferred.speed")
