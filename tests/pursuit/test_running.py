"""The running trial: setting off, whose finger it is, lifts, ends. Seconds of one clock, millimetres."""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.running import RunningTrial

BATTERY = load_battery()
PLAN = BATTERY.plan("steady", "preferred", 1)
TOP = (0.0, 40.0)  # where the disc rests


def _trial():
    return RunningTrial(PLAN, BATTERY.rest_on_disc_s, BATTERY.return_after_lift_s)


def _started(at_s=10.0):
    """A trial whose disc set off at at_s + 0.8, its finger 0 still on the glass."""
    trial = _trial()
    trial.feed(at_s, *TOP, True)
    trial.advance(at_s + 0.8)
    return trial


def _follow(trial, from_s, to_s, identity=0, rate_hz=60):
    """The finger goes with the disc, t_s counted from setting off."""
    for t_s in np.arange(from_s, to_s, 1 / rate_hz):
        x, y = PLAN.position(t_s)
        trial.feed(trial.set_off_s + t_s, float(x), float(y), True, identity)


def test_the_disc_sets_off_exactly_when_the_rest_is_over():
    trial = _trial()
    trial.feed(10.0, *TOP, True)
    trial.advance(10.799)
    assert trial.phase == "resting" and trial.set_off_s is None
    trial.advance(10.8)
    assert trial.phase == "run_in" and trial.set_off_s == 10.0 + 0.8


@pytest.mark.parametrize("frame_s", [1 / 240, 1 / 60, 0.05, 0.7, 3.0])
def test_no_frame_rate_moves_the_setting_off(frame_s):
    trial = _trial()
    frames = iter(np.arange(9.0, 20.0, frame_s))
    frame = next(frames)
    for t_s in np.arange(10.0123, 12.0, 1 / 120):
        while frame < t_s:
            trial.advance(frame)
            frame = next(frames)
        trial.feed(t_s, *TOP, True)
    assert trial.set_off_s == 10.0123 + 0.8


def test_a_finger_beside_the_disc_sets_nothing_off_until_it_comes_on_it():
    trial = _trial()
    trial.feed(0.0, 0.0, 40.0 - 12.01, True)
    trial.advance(5.0)
    assert trial.phase == "waiting"
    trial.feed(6.0, 0.0, 40.0 - 12.0, True)
    trial.advance(6.9)
    assert trial.set_off_s == 6.8


@pytest.mark.parametrize("leaving", [(0.0, 40.0, False), (0.0, 53.1, True)])
def test_lifting_or_sliding_off_during_the_rest_goes_back_to_waiting(leaving):
    trial = _trial()
    trial.feed(1.0, *TOP, True)
    trial.feed(1.5, *leaving)
    trial.advance(3.0)
    assert trial.phase == "waiting" and trial.set_off_s is None
    trial.feed(4.0, *TOP, True)
    trial.advance(4.8)
    assert trial.set_off_s == 4.8


def test_during_the_rest_the_finger_is_held_one_millimetre_beyond_the_edge():
    trial = _trial()
    trial.feed(1.0, *TOP, True)
    trial.feed(1.5, 0.0, 40.0 + 12.9, True)
    trial.advance(1.8)
    assert trial.set_off_s == 1.8


def test_the_phases_follow_the_plan_and_end_with_the_run_on():
    trial = _started()
    seen = []
    for t_s in (0.0, 1.99, 2.0, 17.99, 18.0, 18.99, 19.0):
        trial.advance(trial.set_off_s + t_s)
        seen.append(trial.phase)
    assert seen == ["run_in", "run_in", "window", "window", "run_on", "run_on", "over"]
    assert trial.over_s == trial.set_off_s + 19.0 and trial.outcome == "complete"


def test_the_picture_shows_the_plan_s_disc_and_growing_arcs():
    trial = _trial()
    assert trial.picture(0.0).closing == 0.0 and not trial.picture(0.0).on
    trial.feed(10.0, *TOP, True)
    trial.advance(10.2)
    assert trial.picture(10.2).closing == pytest.approx(0.25) and trial.picture(10.2).on
    trial.advance(15.8)
    x, y = PLAN.position(5.0)
    picture = trial.picture(15.8)
    assert (picture.x_mm, picture.y_mm) == (pytest.approx(x), pytest.approx(y)) and picture.closing == 1.0


def test_the_picture_comes_on_within_twelve_and_goes_off_beyond_thirteen_millimetres():
    trial = _started()
    x, y = (float(v) for v in PLAN.position(5.0))
    trial.advance(trial.set_off_s + 5.0)
    seen = []
    for off_mm in (12.5, 12.0, 12.9, 13.1, 12.5):
        trial.feed(trial.set_off_s + 5.0, x + off_mm, y, True)
        trial.advance(trial.set_off_s + 5.0)
        seen.append(trial.picture(trial.set_off_s + 5.0).on)
    assert seen == [False, True, True, False, False]


def test_a_silent_finger_falls_off_as_the_disc_moves_on():
    trial = _started()
    trial.advance(trial.set_off_s + 3.0)
    assert not trial.picture(trial.set_off_s + 3.0).on


def test_looking_at_the_picture_changes_nothing():
    trial = _started()
    before = dict(vars(trial))
    trial.picture(trial.set_off_s + 18.5)
    assert vars(trial) == before


def test_a_lift_of_more_than_a_second_in_the_run_in_returns_to_waiting():
    trial = _started()
    trial.feed(11.0, *TOP, False)
    trial.advance(12.0)
    assert trial.phase == "run_in"
    trial.advance(12.01)
    assert trial.phase == "waiting" and trial.rest_from_s is None and trial.owners == []
    trial.feed(20.0, *TOP, True, 5)
    trial.advance(20.8)
    assert trial.set_off_s == 20.8 and trial.owners == [5]


def test_a_lift_that_reaches_into_the_window_is_a_lift_of_the_window():
    trial = _started()
    trial.feed(trial.set_off_s + 1.5, *TOP, False)
    trial.advance(trial.set_off_s + 6.0)
    assert trial.phase == "window"


def test_the_same_finger_coming_back_near_the_disc_goes_on():
    trial = _started()
    _follow(trial, 0.0, 5.0)
    x, y = (float(v) for v in PLAN.position(5.0))
    trial.feed(trial.set_off_s + 5.0, x, y, False, 0)
    x, y = (float(v) for v in PLAN.position(5.4))
    trial.feed(trial.set_off_s + 5.4, x + 25.0, y, True, 7)
    assert trial.owners == [0, 7] and not trial.identity_lost and trial.others.touches == 0


def test_it_also_goes_on_where_it_lifted_though_the_disc_has_gone():
    trial = _started()
    x, y = (float(v) for v in PLAN.position(5.0))
    trial.feed(trial.set_off_s + 5.0, x, y, True)
    trial.feed(trial.set_off_s + 5.0, x, y, False)
    trial.feed(trial.set_off_s + 8.0, x, y, True, 3)
    assert trial.owners == [0, 3] and not trial.identity_lost


def test_a_contact_that_lands_elsewhere_is_another_one_until_it_takes_the_disc():
    trial = _started()
    trial.feed(trial.set_off_s + 5.0, *TOP, False)
    x, y = (float(v) for v in PLAN.position(6.0))
    trial.feed(trial.set_off_s + 6.0, -x, -y, True, 7)
    assert trial.owners == [0] and trial.others.touches == 1 and not trial.identity_lost
    trial.feed(trial.set_off_s + 6.0, x, y, True, 7)
    assert trial.owners == [0, 7] and trial.identity_lost


def test_with_another_contact_down_nobody_knows_which_finger_came_back():
    trial = _started()
    trial.feed(trial.set_off_s + 3.0, 60.0, -50.0, True, 1)
    trial.feed(trial.set_off_s + 5.0, *TOP, False, 0)
    x, y = (float(v) for v in PLAN.position(5.2))
    trial.feed(trial.set_off_s + 5.2, x, y, True, 2)
    assert trial.identity_lost and trial.owners == [0, 2]


def test_other_contacts_are_counted_and_never_move_the_owner():
    trial = _started()
    s = trial.set_off_s
    trial.feed(s + 1.0, 50.0, 0.0, True, 1)   # 1 s in the run-in does not count
    trial.feed(s + 5.0, 50.0, 0.0, True, 2)   # overlaps: counted once
    trial.feed(s + 6.0, 50.0, 0.0, False, 1)
    trial.feed(s + 7.0, 50.0, 0.0, False, 2)
    trial.feed(s + 17.5, 50.0, 0.0, True, 3)  # still down at the end
    trial.advance(s + 19.0)
    assert trial.others.touches == 3
    assert trial.other_contact_s() == pytest.approx(5.0 + 0.5)
    assert trial.owners == [0] and not trial.identity_lost


def test_a_palm_already_down_before_the_rest_counts_as_another_contact():
    trial = _trial()
    trial.feed(0.0, 60.0, -50.0, True, 1)
    trial.feed(1.0, *TOP, True, 2)
    trial.advance(1.0 + 0.8 + 19.0)
    assert (trial.others.touches, trial.other_contact_s()) == (1, pytest.approx(16.0))


def test_a_finger_that_slid_off_before_the_start_can_come_back_on():
    trial = _trial()
    trial.feed(0.0, *TOP, True, 4)
    trial.feed(0.3, 0.0, 10.0, True, 4)
    trial.feed(1.0, *TOP, True, 4)
    trial.advance(1.8)
    assert trial.set_off_s == 1.8 and trial.others.touches == 0


@pytest.mark.parametrize(("end", "outcome", "reason"), [
    (lambda trial: trial.interrupt("focus_lost"), "interrupted", "focus_lost"),
    (lambda trial: trial.stop(), "stopped", None)])
def test_an_interruption_or_a_stop_ends_the_trial_there_for_good(end, outcome, reason):
    trial = _started()
    trial.advance(trial.set_off_s + 5.0)
    end(trial)
    trial.advance(trial.set_off_s + 40.0)
    assert (trial.phase, trial.outcome, trial.outcome_reason) == ("over", outcome, reason)
    assert trial.over_s == trial.set_off_s + 5.0
    trial.stop()
    assert trial.outcome == outcome
    assert trial.picture(trial.set_off_s + 40.0).x_mm == pytest.approx(float(PLAN.position(5.0)[0]))


def test_a_finished_trial_cannot_be_interrupted_afterwards():
    trial = _started()
    trial.advance(40.0)
    trial.interrupt("focus_lost")
    assert trial.outcome == "complete" and trial.outcome_reason is None
