"""Laws of a trial's scores, published numbers, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest

from kiosk.pursuit.samples import Samples
from kiosk.pursuit.target import Circle
from kiosk.scoring.score import score_trial
from tests.scoring.hands import disc_of, negated, plan_of, record_of, stretched, times, turned, wobbling

CIRCLE_IDS = {"scatter", "along_sd", "across_sd", "lag", "lag_as_recorded", "error_rms", "time_on_target",
              "offset_x", "offset_y", "contact", "lifts", "lift_share", "gain", "stalls", "stall_share"}
WANDER_IDS = CIRCLE_IDS - {"lag", "lag_as_recorded"} | {"delay", "delay_as_recorded", "follow"}
FREE_OF_PLACE = ("scatter", "lag", "error_rms", "time_on_target", "contact")


def figures(record) -> dict[str, float]:
    return {name: scored.value for name, scored in score_trial(record).values.items()}


@pytest.mark.parametrize(("block", "ids"), [
    ("steady", CIRCLE_IDS), ("wander", WANDER_IDS)])
def test_a_trial_has_these_scores(block, ids):
    plan = plan_of(block)
    assert set(score_trial(record_of(plan, times(plan), wobbling(plan, 1))).values) == ids


@pytest.mark.parametrize("angle_rad", [0.3, 1.9, -2.5])
def test_turning_glass_and_hand_together_changes_no_score(angle_rad):
    plan = plan_of("brisk")
    hand = wobbling(plan, 2)
    plain = figures(record_of(plan, times(plan), hand))
    other = figures(record_of(turned(plan, angle_rad), times(plan), hand * np.exp(1j * angle_rad)))
    for name in FREE_OF_PLACE:
        assert other[name] == pytest.approx(plain[name], rel=1e-9), name
    assert complex(other["offset_x"], other["offset_y"]) == pytest.approx(
        complex(plain["offset_x"], plain["offset_y"]) * np.exp(1j * angle_rad), rel=1e-9)


def test_turning_the_wander_path_by_half_a_turn_changes_no_score():
    plan = plan_of("wander")
    hand = wobbling(plan, 3)
    plain = figures(record_of(plan, times(plan), hand))
    other = figures(record_of(negated(plan), times(plan), -hand))
    for name in ("scatter", "delay", "error_rms", "time_on_target"):
        assert other[name] == pytest.approx(plain[name], rel=1e-9), name


@pytest.mark.parametrize("block", ["steady", "wander"])
@pytest.mark.parametrize("latency_ms", [30.0, 87.3])
def test_a_device_that_delays_everything_changes_no_score_once_its_latency_is_known(block, latency_ms):
    plan = plan_of(block)
    hand = wobbling(plan, 4)
    plain = figures(record_of(plan, times(plan), hand))
    late = figures(record_of(plan, times(plan) + latency_ms / 1000, hand, latency_ms=latency_ms))
    kept = {name for name in plain if not name.endswith("_as_recorded")}
    assert {one: late[one] for one in kept} == pytest.approx({one: plain[one] for one in kept}, rel=1e-9)
    timing = "delay" if block == "wander" else "lag"
    assert late[f"{timing}_as_recorded"] == pytest.approx(plain[timing] + latency_ms, rel=1e-9)


def test_unknown_latency_is_taken_for_none_and_lies_in_the_lag():
    plan = plan_of("steady")
    t_s, hand = times(plan) + 0.050, wobbling(plan, 5)
    known = figures(record_of(plan, t_s, hand, latency_ms=50.0))
    unknown = figures(record_of(plan, t_s, hand))
    assert unknown["lag"] - known["lag"] == pytest.approx(50.0, abs=1.0)
    assert unknown["scatter"] == pytest.approx(known["scatter"], rel=5e-3)


@pytest.mark.parametrize("block", ["steady", "wander"])
def test_stretching_glass_hand_and_disc_stretches_lengths_and_nothing_else(block):
    plan = plan_of(block)
    hand = wobbling(plan, 6)
    plain = figures(record_of(plan, times(plan), hand))
    larger = figures(record_of(stretched(plan, 1.25), times(plan), 1.25 * hand))
    timing = "delay" if block == "wander" else "lag"
    for name, by in (("scatter", 1.25), ("error_rms", 1.25), (timing, 1.0), ("time_on_target", 1.0)):
        assert larger[name] == pytest.approx(by * plain[name], rel=1e-9), name


@pytest.mark.parametrize("block", ["steady", "brisk", "wander"])
def test_a_more_wobbling_hand_has_more_scatter_and_error_and_less_time_on_target(block):
    plan = plan_of(block)
    rows = [figures(record_of(plan, times(plan), wobbling(plan, 7, mm))) for mm in (5.0, 7.0, 9.0, 12.0)]
    for name, way in (("scatter", 1), ("error_rms", 1), ("time_on_target", -1)):
        assert np.all(way * np.diff([row[name] for row in rows]) > 0), name


@pytest.mark.parametrize("seed", range(20))
def test_scores_stay_within_their_bounds_whatever_the_hand_does(seed):
    rng = np.random.default_rng(seed)
    plan = plan_of(("steady", "brisk", "wander")[seed % 3])
    t_s = np.sort(np.append(rng.uniform(-1, plan.end_s, 1500), [0.0, plan.end_s]))
    hand = np.cumsum(rng.normal(0, 3, t_s.size) + 1j * rng.normal(0, 3, t_s.size))
    contact = np.repeat(rng.uniform(size=151) > seed / 40, 10)[: t_s.size]
    scores = score_trial(record_of(plan, t_s, hand, contact)).values
    value = {name: scored.value for name, scored in scores.items()}
    assert 0 <= value["time_on_target"] <= value["contact"] <= 100
    assert value["contact"] + value["lift_share"] == pytest.approx(100)
    assert 0 <= value["error_rms"] <= 40
    for name, scored in scores.items():
        assert (scored.value is None) == (scored.reason is not None), name
        assert scored.value is None or np.isfinite(scored.value), name


@pytest.mark.parametrize("block", ["steady", "wander"])
def test_samples_at_negative_times_change_nothing(block):
    plan = plan_of(block)
    t_s, hand = times(plan), wobbling(plan, 8)
    early = np.array([-3.0, -0.5, -0.01])
    more = record_of(plan, np.append(early, t_s), np.append([90 + 0j, 1j, -70], hand),
                     np.append([True, False, True], np.ones(t_s.size, bool)))
    assert score_trial(more) == score_trial(record_of(plan, t_s, hand))


def test_a_finger_that_has_rested_since_before_the_disc_set_off_is_a_hand_at_rest():
    plan = plan_of("steady")
    rest = disc_of(plan, np.array([0.0]))[0]
    t_s = times(plan)
    going = t_s >= 4.0
    silent = record_of(plan, np.append(-0.8, t_s[going]), np.append(rest, disc_of(plan, t_s[going])))
    told = record_of(plan, t_s, np.where(going, disc_of(plan, t_s), rest))
    assert silent.samples.t_s[1] == 4.0
    assert figures(silent)["error_rms"] == pytest.approx(figures(told)["error_rms"], rel=5e-3)


@pytest.mark.parametrize(("gain", "phase_deg"), [(0.8, 0), (0.9, 20), (1.1, -10), (0.6, 15)])
def test_error_of_a_gain_and_a_phase_is_the_published_formula(gain, phase_deg):
    """R sqrt(1 + g^2 - 2 g cos phi): cosine rule on the chord."""
    plan = plan_of("steady")
    hand = gain * disc_of(plan, times(plan)) * np.exp(-1j * np.radians(phase_deg))
    expected = 40 * np.sqrt(1 + gain**2 - 2 * gain * np.cos(np.radians(phase_deg)))
    scores = figures(record_of(plan, times(plan), hand))
    assert scores["error_rms"] == pytest.approx(expected, rel=1e-6)
    assert scores["lag"] == pytest.approx(phase_deg / 360 * 8000, abs=1e-3)
    assert scores["scatter"] == pytest.approx(40 * abs(1 - gain), abs=1e-3)


def test_the_published_lag_at_half_a_turn_a_second():
    """LAG_time: 0.5 rev/s, 0.1 s late: 18 degrees, error 0.3128689 R (chord, recomputed)."""
    plan = replace(plan_of("steady"), path=Circle(40.0, 2.0, 1, 0.0))
    scores = figures(record_of(plan, times(plan) + 0.1, disc_of(plan, times(plan))))
    assert scores["error_rms"] == pytest.approx(0.3128689 * 40, rel=1e-3)
    assert scores["lag"] / 2000 * 360 == pytest.approx(18, abs=0.1)


def test_a_gap_in_contact_leaks_neither_offset_nor_lag_into_scatter():
    plan = plan_of("steady")
    t_s = times(plan)
    hand = disc_of(plan, t_s - 0.3) + 6 - 4j
    contact = (t_s < 9.0) | (t_s >= 12.0)
    scores = figures(record_of(plan, t_s, hand, contact))
    assert scores["contact"] == pytest.approx(81.25, abs=0.05)
    assert scores["lag"] == pytest.approx(300.0, abs=0.5)
    assert scores["scatter"] < 0.05


@pytest.mark.parametrize(("block", "timing"), [("steady", "lag"), ("wander", "delay")])
def test_a_hand_that_never_moves_has_no_timing_but_a_number_for_the_rest(block, timing):
    plan = plan_of(block)
    scores = score_trial(record_of(plan, np.array([0.0, plan.end_s]), np.array([1 + 2j, 1 + 2j])))
    assert scores.values[timing].value is None
    assert scores.values[timing].reason == "hand_did_not_move"
    assert scores.values["error_rms"].value > 20
    assert scores.validity.valid
    assert [caution.code for caution in scores.validity.cautions] == ["did_not_follow"]


@pytest.mark.parametrize("block", ["steady", "wander"])
def test_a_hand_off_the_glass_throughout_has_error_and_no_time_on_target(block):
    plan = plan_of(block)
    t_s = times(plan)
    scores = score_trial(record_of(plan, t_s, disc_of(plan, t_s), np.zeros(t_s.size, bool)))
    assert scores.values["time_on_target"].value == 0.0
    assert scores.values["offset_x"].reason == "no_contact"
    assert scores.values["scatter"].reason == "contact_below_80"
    assert [reason.code for reason in scores.validity.reasons] == ["little_contact"]


@pytest.mark.parametrize("samples", [
    Samples(np.empty(0), np.empty(0), np.empty(0), np.empty(0, bool)),
    Samples(np.array([-1.0, -0.5]), np.zeros(2), np.zeros(2), np.ones(2, bool)),
    Samples(np.array([1.0, 12.0]), np.zeros(2), np.zeros(2), np.ones(2, bool)),
    Samples(np.array([2.2, 19.0]), np.zeros(2), np.zeros(2), np.ones(2, bool)),
])
def test_a_recording_that_does_not_reach_over_the_window_is_not_scored(samples):
    plan = plan_of("steady")
    scores = score_trial(replace(record_of(plan, times(plan), wobbling(plan, 1)), samples=samples))
    assert [reason.code for reason in scores.validity.reasons] == ["window_cut_short"]
    assert {scored.reason for scored in scores.values.values()} == {"window_cut_short"}
    assert not scores.validity.cautions
