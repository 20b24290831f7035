"""Which facts make a trial unfit, which are a caution, and that what is not known is neither."""

import numpy as np
import pytest

from kiosk.pursuit.observation import CODES, Observation
from kiosk.scoring.score import score_trial
from tests.scoring.hands import disc_of, plan_of, record_of, times, wobbling

STEADY = plan_of("steady")


def validity(plan=STEADY, t_s=None, hand=None, contact=None, observations=(), **facts):
    t_s = times(plan) if t_s is None else t_s
    hand = disc_of(plan, t_s - 0.1) if hand is None else hand
    return score_trial(record_of(plan, t_s, hand, contact, **facts), observations).validity


def codes(reasons):
    return [reason.code for reason in reasons]


def flips(gap_at_s=None, gap_ms=0.0, hz=60):
    t_s = np.arange(0, 19, 1 / hz)
    return t_s if gap_at_s is None else t_s[(t_s <= gap_at_s) | (t_s >= gap_at_s + gap_ms / 1000)]


def test_what_a_recording_does_not_carry_is_never_a_reason():
    found = validity()
    assert found.valid
    assert (found.reasons, found.cautions) == ((), ())


@pytest.mark.parametrize(("facts", "code"), [
    ({"calibrated": False}, "not_calibrated"),
    ({"identity_lost": True}, "finger_lost"),
    ({"other_contact_s": 1.61}, "second_contact"),
    ({"outcome": "interrupted"}, "window_cut_short"),
    ({"outcome": "stopped"}, "window_cut_short"),
    ({"refresh_hz": 60.0, "flip_t_s": flips(hz=30)}, "pictures_late"),
    ({"flip_t_s": flips(1.05, 290)}, "frame_gap"),
    ({"flip_t_s": flips(12.0, 290)}, "frame_gap"),
    ({"flip_t_s": flips(17.95, 290)}, "frame_gap"),
])
def test_a_fact_beyond_its_limit_makes_a_trial_unfit(facts, code):
    found = validity(**facts)
    assert not found.valid
    assert codes(found.reasons) == [code]


@pytest.mark.parametrize("facts", [
    {"calibrated": True}, {"identity_lost": False}, {"other_contact_s": 1.59, "other_touches": 4},
    {"dropped_frames": 500, "flip_t_s": flips()}, {"flip_t_s": flips(0.5, 290)},
    {"flip_t_s": flips(18.01, 290)}, {"flip_t_s": flips(12.0, 200)}, {"flip_t_s": np.arange(0, 19, 0.1)},
    {"refresh_hz": 30.0, "flip_t_s": flips(hz=30)}, {"refresh_hz": 120.0, "flip_t_s": flips(hz=60)},
    {"refresh_hz": 60.0, "flip_t_s": flips(hz=71)}, {"refresh_hz": 93.0, "flip_t_s": flips(hz=60)},
    {"latency_ms": 90.0}, {"lost_events": 3},
])
def test_a_fact_within_its_limit_does_not(facts):
    assert validity(**facts).valid


def every_tenth_late(by):
    """Sixty pictures a second of which every tenth comes so many refreshes late."""
    return np.cumsum(np.where(np.arange(1140) % 10 == 0, 1 + by, 1)) / 60


@pytest.mark.parametrize(("by", "valid"), [(0, True), (1, True), (2, False)])
def test_late_pictures_are_judged_by_how_much_older_they_make_what_is_seen(by, valid):
    """Of 10 + by intervals one lasts 1 + by: by (1 + by) / 2 / (10 + by) intervals older on average."""
    found = validity(refresh_hz=60.0, flip_t_s=every_tenth_late(by))
    older_ms = 1000 / 60 * by * (1 + by) / 2 / (10 + by)
    assert found.valid == valid == (older_ms < 2.5)
    if not valid:
        assert found.reasons[0].values["age"] == pytest.approx(older_ms, rel=0.02)
        assert found.reasons[0].values["late_percent"] == pytest.approx(100 * by / (10 + by), rel=0.02)


@pytest.mark.parametrize("code", CODES)
def test_only_a_wrong_hand_or_helping_by_touch_unfits_a_trial(code):
    found = validity(observations=[Observation(code)])
    assert codes(found.reasons) == ([code] if code in ("wrong_hand", "helped_by_touch") else [])
    assert found.valid == (code not in ("wrong_hand", "helped_by_touch"))


@pytest.mark.parametrize(("rate_hz", "valid"), [(48, False), (50, True), (60, True), (240, True)])
def test_fewer_than_fifty_samples_a_second_while_moving_is_too_few(rate_hz, valid):
    found = validity(t_s=times(STEADY, rate_hz))
    assert found.valid is valid
    assert codes(found.reasons) == ([] if valid else ["low_touch_rate"])


def test_a_slow_rate_while_resting_is_no_fault():
    t_s = np.append(times(STEADY)[: 17 * 240], 19.0)
    assert validity(t_s=t_s).valid


def test_a_jump_of_more_than_thirty_millimetres_is_another_finger():
    hand = disc_of(STEADY, times(STEADY))
    for jump_mm, valid in ((29.5, True), (30.5, False)):
        away = np.where(np.arange(hand.size) > 2400, hand + jump_mm, hand)
        assert validity(hand=away).valid is valid
    lifted = np.ones(hand.size, bool)
    lifted[2401:2450] = False
    assert validity(hand=np.where(np.arange(hand.size) > 2400, hand + 50, hand), contact=lifted).valid


@pytest.mark.parametrize(("first_s", "last_s", "valid"), [
    (2.09, 19.0, True), (2.11, 19.0, False), (0.0, 17.91, True), (0.0, 17.89, False)])
def test_the_window_must_be_covered_to_within_a_tenth_of_a_second(first_s, last_s, valid):
    t_s = np.linspace(first_s, last_s, 4000)
    assert validity(t_s=t_s).valid is valid


def test_uneven_sampling_is_a_caution():
    t_s = times(STEADY)
    gappy = t_s[np.arange(t_s.size) % 12 < 8]  # one interval in eight is five times as long
    found = validity(t_s=gappy)
    assert found.valid
    assert codes(found.cautions) == ["uneven_sampling"]
    assert found.cautions[0].values["median_ms"] == pytest.approx(1000 / 240)


@pytest.mark.parametrize(("gain", "cautions"), [(0.49, ["did_not_follow"]), (0.51, [])])
def test_a_small_circle_is_not_following(gain, cautions):
    found = validity(hand=gain * disc_of(STEADY, times(STEADY)))
    assert found.valid
    assert codes(found.cautions) == cautions


@pytest.mark.parametrize(("share", "cautions"), [(0.28, ["did_not_follow"]), (0.32, [])])
def test_a_hand_with_little_of_the_wander_path_in_it_is_not_following(share, cautions):
    plan = plan_of("wander")
    t_s = times(plan)
    disc = disc_of(plan, t_s - 0.2)
    power = np.mean(np.abs(disc_of(plan, t_s[480:5280])) ** 2)
    own_way = np.sqrt(power * (1 - share) / share) * np.exp(2j * np.pi * 0.35 * t_s)
    found = validity(plan, t_s, disc + own_way)
    assert found.valid
    assert codes(found.cautions) == cautions


def test_all_reasons_are_told_together():
    plan = plan_of("brisk")
    found = validity(plan, hand=wobbling(plan, 1), contact=times(plan) < 6.0, calibrated=False,
                     identity_lost=True, observations=[Observation("wrong_hand")])
    assert codes(found.reasons) == ["little_contact", "not_calibrated", "finger_lost", "wrong_hand"]
    assert codes(found.cautions) == ["contact_below_95"]


@pytest.mark.parametrize(("behind_s", "wobble_mm", "told"), [
    (0.2, 3.0, False), (0.4, 8.0, False), (0.6, 3.0, False), (0.85, 3.0, True), (1.0, 0.0, True),
    (1.5, 8.0, True)])
@pytest.mark.parametrize("number", [1, 2])
def test_a_delay_that_may_be_longer_than_the_path_can_tell_is_cautioned(behind_s, wobble_mm, told, number):
    """Beyond 20 s / 13 / 2 = 0.77 s the fastest line looks as if it were ahead."""
    plan = plan_of("wander", number=number)
    record = record_of(plan, times(plan), wobbling(plan, number, wobble_mm, behind_s))
    cautions = {one.code: one.values for one in score_trial(record).validity.cautions}
    assert ("delay_may_be_longer" in cautions) is told
    if told:
        assert cautions["delay_may_be_longer"]["limit_ms"] == pytest.approx(20_000 / 26)
