"""The simulated panel: each fault is what it says, and a panel without any reports the truth.

The checks are computed here from the definition of each fault, not with the code under test.
"""

import numpy as np
import pytest

from kiosk.pursuit.samples import Samples
from kiosk.touch.contact_timing import timing, timing_reasons
from kiosk.touch.simulated_panel import SimulatedPanel, reported, touches
from tests.touch.panel import CALIBRATION, RANGES, WINDOW

SPEED = 50.0


def line(seconds=10.0, speed=SPEED, hz=1000.0):
    """An even movement to the right from -100 mm on."""
    t_s = np.arange(0.0, seconds, 1 / hz)
    return Samples(t_s, np.clip(-100.0 + speed * t_s, -100.0, 100.0), np.full(t_s.size, 10.0),
                   np.ones(t_s.size, dtype=bool))


def circle(seconds=20.0, hz=1000.0):
    t_s = np.arange(0.0, seconds, 1 / hz)
    return Samples(t_s, 40 * np.cos(2 * np.pi * t_s / 8), 40 * np.sin(2 * np.pi * t_s / 8),
                   np.ones(t_s.size, dtype=bool))


def seen(panel, hand=None, seed=1):
    return reported(circle() if hand is None else hand, panel, np.random.default_rng(seed))


def test_without_a_fault_the_truth_is_reported_at_the_panel_s_rate():
    found = seen(SimulatedPanel(rate_hz=100.0), line(3.0))
    assert np.allclose(np.diff(found.t_s), 0.01)
    assert np.allclose(found.x_mm[found.t_s < 2.9], -100 + SPEED * found.t_s[found.t_s < 2.9], atol=1e-6)


@pytest.mark.parametrize("latency_s", [0.02, 0.15])
def test_latency_reports_where_the_finger_was(latency_s):
    found = seen(SimulatedPanel(latency_s=latency_s), line(3.0))
    rows = found.t_s < 2.9
    assert np.allclose(found.x_mm[rows], -100 + SPEED * (found.t_s[rows] - latency_s), atol=1e-6)


def test_smoothing_trails_an_even_movement_by_its_time_constant():
    """A first-order filter trails a ramp by its time constant (textbook; half a sample less if digital)."""
    found = seen(SimulatedPanel(rate_hz=240.0, smoothing_s=0.05), line(4.0))
    rows = (found.t_s > 1.0) & (found.t_s < 3.9)
    behind_s = (-100 + SPEED * found.t_s[rows] - found.x_mm[rows]) / SPEED
    assert np.allclose(behind_s, 0.05, atol=0.5 / 240 + 1e-4)


def test_jitter_has_its_size_and_moving_jitter_comes_with_movement_only():
    rest = Samples(np.arange(0, 20, 0.001), np.zeros(20000), np.zeros(20000), np.ones(20000, dtype=bool))
    assert seen(SimulatedPanel(jitter_mm=0.4), rest).x_mm.std() == pytest.approx(0.4, rel=0.05)
    assert seen(SimulatedPanel(moving_jitter_mm=0.4), rest).x_mm.std() == 0.0
    moving = seen(SimulatedPanel(moving_jitter_mm=0.4), line(3.9))
    off = moving.x_mm - (-100 + SPEED * moving.t_s)
    assert off[moving.t_s < 3.8].std() == pytest.approx(0.4, rel=0.12)


def test_an_edge_pulls_a_touch_inwards_and_the_middle_does_not():
    found = seen(SimulatedPanel(edge_bias_mm=3.0, edge_mm=15.0, half_mm=(100.0, 60.0)), line(4.5))
    assert found.x_mm.max() == pytest.approx(97.0, abs=0.01)
    middle = np.abs(found.x_mm) < 80
    assert np.allclose(found.x_mm[middle], -100 + SPEED * found.t_s[middle], atol=1e-6)


def test_a_dead_row_ends_the_contact_where_it_was_last():
    found = seen(SimulatedPanel(dead_rows_mm=(19.0, 22.0)))
    down = found.contact
    assert not np.any((found.y_mm[down] > 19.1) & (found.y_mm[down] < 21.9))
    assert np.sum(~down) == 6  # three times up on the right and down on the left in 2.5 turns


def test_a_palm_is_another_contact_of_the_panel_s_own_kind():
    panel = SimulatedPanel(palm_s=(1.0, 2.0))
    found = touches(line(3.0), panel, CALIBRATION, RANGES, WINDOW, 10**9, np.random.default_rng(1))
    palms = [one for one in found if one.tool == "palm"]
    assert [(one.t_ns, one.contact) for one in palms] == [(2 * 10**9, True), (3 * 10**9, False)]
    assert {one.identity for one in palms}.isdisjoint(one.identity for one in found if one.tool == "finger")
    assert [one.t_ns for one in found] == sorted(one.t_ns for one in found)


def test_the_same_seed_gives_the_same_reports():
    panel = SimulatedPanel(jitter_mm=0.3, gap_s=0.04)
    assert np.array_equal(seen(panel).x_mm, seen(panel).x_mm)
    assert not np.array_equal(seen(panel).x_mm[:50], seen(panel, seed=2).x_mm[:50])


@pytest.mark.parametrize("wrong", [{"rate_hz": 0.0}, {"jitter_mm": -1.0}, {"cluster": 0},
                                   {"latency_s": float("nan")}])
def test_a_panel_that_cannot_be_is_refused_by_name(wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        SimulatedPanel(**wrong)


def codes(panel, hand=None):
    return {one.code: (one.verdict, one.values) for one in timing_reasons(timing([seen(panel, hand)]))}


@pytest.mark.parametrize("rate_hz", [60.0, 100.0, 240.0])
def test_a_panel_without_fault_is_not_said_to_have_one(rate_hz):
    assert codes(SimulatedPanel(rate_hz=rate_hz, jitter_mm=0.1)) == {}


def test_a_panel_of_a_hundred_a_second_with_gaps_of_40_ms_is_named_with_their_length():
    found = codes(SimulatedPanel(rate_hz=104.0, gap_s=0.040))
    assert set(found) == {"touch_gaps"}
    assert found["touch_gaps"][1]["gap_ms"] == pytest.approx(45, abs=6)  # 40 ms and the interval around
    whole = timing([seen(SimulatedPanel(rate_hz=104.0, gap_s=0.040))])
    assert whole.least_rate_hz == pytest.approx(100, abs=1)


def test_stamps_in_clusters_are_named_and_their_spacing_is_that_of_the_clusters():
    found = codes(SimulatedPanel(rate_hz=120.0, cluster=3))
    assert set(found) == {"stamps_clustered"}
    assert found["stamps_clustered"][1]["cluster_ms"] == pytest.approx(25.0, abs=0.1)
    assert found["stamps_clustered"][1]["clustered_percent"] == pytest.approx(100 * 2 / 3, abs=0.5)


def test_the_slowest_contact_counts_not_the_average():
    fast, slow = seen(SimulatedPanel(120.0), line(4.0)), seen(SimulatedPanel(40.0), line(4.0))
    lifts = np.append(fast.contact[:-1], False)
    both = Samples(np.append(fast.t_s, slow.t_s + 5), np.append(fast.x_mm, slow.x_mm),
                   np.append(fast.y_mm, slow.y_mm), np.append(lifts, slow.contact))
    assert timing([both]).least_rate_hz == pytest.approx(40, abs=0.5)
    assert "contact_rate_low" in {one.code for one in timing_reasons(timing([both]))}


def test_a_finger_that_rests_makes_no_gap():
    t_s = np.arange(0, 6, 0.001)
    x_mm = np.interp(t_s, [0, 2, 4, 6], [0, 80, 80, 0])
    found = seen(SimulatedPanel(), Samples(t_s, x_mm, 0 * t_s, np.ones(t_s.size, dtype=bool)))
    changed = np.append(True, np.diff(found.x_mm) != 0)  # as a kernel drops unchanged places
    kept = Samples(found.t_s[changed], found.x_mm[changed], found.y_mm[changed], found.contact[changed])
    assert timing([kept]).gap_ms == 0
