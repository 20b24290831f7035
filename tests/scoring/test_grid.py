"""The window on even instants: silence, lifts and edges, worked by hand."""

import numpy as np
import pytest

from kiosk.pursuit.samples import Samples
from kiosk.scoring.grid import instants, on_grid
from tests.scoring.hands import plan_of


def window(rows, latency_s=0.0):
    """Rows of t_s, x_mm, contact; y is 2 x."""
    t_s, x_mm, contact = np.array(rows, float).T
    return on_grid(Samples(t_s, x_mm, 2 * x_mm, contact.astype(bool)), plan_of("steady"), latency_s)


def x_at(seen, t_s):
    return float(seen.hand.real[round((t_s - 2.0) * 240)])


def even(begin_s, end_s, rate_hz=50, speed=10.0):
    """Rows of a hand moving evenly along x at `speed` mm/s, from begin to end inclusive."""
    steps = np.arange(round((end_s - begin_s) * rate_hz) + 1)
    return [[begin_s + k / rate_hz, speed * (begin_s + k / rate_hz), 1] for k in steps]


@pytest.mark.parametrize("window_s", [8.0, 16.0, 20.0])
def test_instants_begin_with_the_window_and_end_before_it_ends(window_s):
    t_s = instants(2.0, window_s)
    assert t_s.size == 240 * window_s
    assert t_s[0] == 2.0
    assert np.diff(t_s) == pytest.approx(1 / 240)
    assert t_s[-1] == pytest.approx(2.0 + window_s - 1 / 240)


def test_neighbouring_samples_are_joined_by_a_straight_line():
    seen = window(even(0.0, 19.0))
    assert seen.hand.real == pytest.approx(10 * seen.t_s)
    assert seen.hand.imag == pytest.approx(20 * seen.t_s)
    assert seen.nominal_s == pytest.approx(0.02)
    assert seen.contact.all()


@pytest.mark.parametrize(("missing", "held"), [(1, False), (2, True), (10, True)])
def test_a_silence_longer_than_two_and_a_half_intervals_holds_until_one_before_the_next(missing, held):
    """At 50/s one missing sample leaves 2 intervals (joined), two leave 3 (held)."""
    gap_s = (missing + 1) * 0.02
    seen = window(even(0.0, 6.0) + even(6.0 + gap_s, 19.0))
    just_before = 6.0 + gap_s - 0.02 - 1 / 240
    t_s = 2.0 + np.floor((just_before - 2.0) * 240) / 240
    assert x_at(seen, t_s) == pytest.approx(60.0 if held else 10 * t_s, abs=1e-6)
    middle_of_last = 6.0 + gap_s - 0.01
    t_s = 2.0 + np.floor((middle_of_last - 2.0) * 240) / 240
    share = (t_s - (6.0 + gap_s - 0.02)) / 0.02
    assert x_at(seen, t_s) == pytest.approx(60.0 + share * 10 * gap_s if held else 10 * t_s, abs=1e-6)


def test_the_nominal_interval_is_that_of_a_moving_hand():
    resting = [[5.0 + 0.5 * k, 50.0, 1] for k in range(1, 11)]  # repeated places while at rest
    seen = window(even(0.0, 5.0) + resting + even(10.5, 19.0, speed=20.0))
    assert seen.nominal_s == pytest.approx(0.02)
    assert window([[0.0, 5.0, 1], [3.0, 5.0, 1], [19.0, 5.0, 1]]).nominal_s is None


@pytest.mark.parametrize("rows_of_a_lift", [1, 5])
@pytest.mark.parametrize(("off_s", "bridged"), [(0.06, True), (0.10, True), (0.12, False), (0.5, False)])
def test_a_lift_up_to_a_tenth_of_a_second_is_bridged_by_a_straight_line(off_s, bridged, rows_of_a_lift):
    begin = 6.0
    off = [[begin + off_s * k / rows_of_a_lift, -500.0, 0] for k in range(rows_of_a_lift)]
    before = even(0.0, begin - 0.02)
    seen = window(before + off + even(begin + off_s, 19.0))
    within = (seen.t_s >= begin - 1e-9) & (seen.t_s < begin + off_s - 1e-9)
    assert seen.lifts == (0 if bridged else 1)
    assert seen.contact[~within].all()
    assert (seen.contact[within] == bridged).all()
    held_mm = 10 * (begin - 0.02)
    if bridged:
        share = (seen.t_s[within] - begin) / off_s
        assert seen.hand.real[within] == pytest.approx(held_mm + share * (10 * (begin + off_s) - held_mm))
    else:
        assert seen.hand.real[within] == pytest.approx(held_mm)


def test_a_lift_to_the_end_counts_and_a_lift_before_the_window_does_not():
    before = [*even(0.0, 0.5), [0.52, 5.0, 0], *even(1.5, 10.0)]
    seen = window(before)
    assert seen.lifts == 0
    seen = window([*before, [10.02, 100.0, 0], [19.0, 100.0, 0]])
    assert seen.lifts == 1
    assert seen.contact.mean() == pytest.approx((10.02 - 2.0) / 16, abs=1e-3)
    assert x_at(seen, 17.0) == pytest.approx(100.0)


def test_before_the_first_and_after_the_last_sample_the_hand_stays():
    seen = window(even(2.05, 17.95))
    assert x_at(seen, 2.0) == pytest.approx(20.5)
    assert float(seen.hand.real[-1]) == pytest.approx(179.5)
    assert (seen.first_s, seen.last_s) == (2.05, pytest.approx(17.95))


def test_latency_moves_the_samples_earlier_on_the_discs_clock():
    seen = window(even(0.0, 19.0), latency_s=0.1)
    assert seen.hand.real == pytest.approx(10 * (seen.t_s + 0.1))


def test_two_samples_at_one_time_leave_the_later_place():
    rows = even(0.0, 19.0, speed=0.0)
    seen = window([*rows[:300], [rows[299][0], 7.0, 1], *rows[300:]])
    assert np.isfinite(seen.hand).all()


def test_a_jump_is_between_neighbours_on_the_glass_and_not_over_a_lift():
    jumped = window(even(0.0, 6.0) + even(6.02, 19.0, speed=16.0))
    assert jumped.jump_mm == pytest.approx(np.sqrt(5) * (96.32 - 60.0))
    lifted = window([*even(0.0, 6.0), [6.02, 60.0, 0], *even(6.5, 19.0, speed=16.0)])
    assert lifted.jump_mm == pytest.approx(np.sqrt(5) * 0.32)
    late = even(0.0, 18.5) + even(18.52, 19.0, speed=16.0)
    assert window(late).jump_mm == pytest.approx(np.sqrt(5) * 0.2)


def test_an_empty_recording_has_no_hand():
    seen = on_grid(Samples(np.empty(0), np.empty(0), np.empty(0), np.empty(0, bool)), plan_of("steady"))
    assert np.isnan(seen.hand).all()
    assert not seen.contact.any()
    assert seen.first_s is None
