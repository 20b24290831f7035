"""Whether the task was understood: contact and turning, not accuracy."""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.practice_check import check_practice
from kiosk.pursuit.samples import Samples

BATTERY = load_battery()
PLAN = BATTERY.plan("familiarise", "preferred", 1)
T_S = np.arange(-96, 1320) / 120


def _samples(x_mm, y_mm, contact=None):
    return Samples(T_S, x_mm, y_mm, np.ones(T_S.size, bool) if contact is None else contact)


def test_following_the_disc_is_eight_seconds_and_one_turn():
    measured = check_practice(_samples(*PLAN.position(T_S)), PLAN, BATTERY)
    assert measured.contact_s == pytest.approx(8.0)
    assert measured.turns == pytest.approx(1.0, abs=0.01) and measured.passed


@pytest.mark.parametrize("side", ["right", "left"])
def test_half_the_size_and_far_behind_is_still_understood(side):
    plan = BATTERY.plan("familiarise", "preferred", 1, side=side)
    x, y = plan.position(T_S - 1.0)
    measured = check_practice(_samples(x / 2, y / 2), plan, BATTERY)
    assert measured.turns > 0.8 and measured.passed


def test_a_finger_that_stays_put_or_turns_the_other_way_has_not_understood():
    still = check_practice(_samples(np.zeros(T_S.size), np.full(T_S.size, 40.0)), PLAN, BATTERY)
    x, y = PLAN.position(T_S)
    against = check_practice(_samples(-x, y), PLAN, BATTERY)
    assert (still.turns, still.contact_s, still.passed) == (0.0, pytest.approx(8.0), False)
    assert against.turns == pytest.approx(-1.0, abs=0.01) and not against.passed


@pytest.mark.parametrize(("seconds", "expected"), [(5.9, False), (6.1, True)])
def test_six_of_the_eight_seconds_must_be_in_contact(seconds, expected):
    contact = np.less(T_S, 2.0 + seconds)
    measured = check_practice(_samples(*PLAN.position(T_S), contact), PLAN, BATTERY)
    assert measured.contact_s == pytest.approx(seconds, abs=0.01) and measured.passed is expected


def test_two_still_fingers_in_turn_do_not_make_a_turn_of_the_hand():
    x, y = np.where(T_S < 5, 0.0, 1.0), np.where(T_S < 5, 40.0, -40.0)
    contact = (T_S < 4.9) | (T_S > 5.1)
    assert check_practice(_samples(x, y, contact), PLAN, BATTERY).turns == 0.0


def test_a_path_without_turns_is_refused():
    with pytest.raises(ValueError, match="must be a circle"):
        check_practice(_samples(T_S, T_S), BATTERY.plan("wander", "preferred", 1), BATTERY)
