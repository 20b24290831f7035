"""The battery `clinic` version 1: blocks, plans, mirroring."""

import numpy as np
import pytest

from kiosk.base.errors import WrongUsage
from kiosk.pursuit.battery import load_battery

BATTERY = load_battery()
T_S = np.linspace(0, 19, 500)


def test_the_battery_has_the_blocks_of_the_protocol_in_order():
    listed = [(b.id, b.hand, b.trials, b.window_s, b.scored, b.needs_valid) for b in BATTERY.blocks]
    assert listed == [
        ("familiarise", "preferred", 1, 8.0, False, 0), ("steady", "preferred", 3, 16.0, True, 2),
        ("steady", "other", 2, 16.0, True, 1), ("brisk", "preferred", 3, 16.0, True, 2),
        ("wander", "preferred", 2, 20.0, True, 1)]


@pytest.mark.parametrize(("block", "hand", "turns", "period_s"), [
    ("familiarise", "preferred", [1], 8.0), ("steady", "preferred", [1, -1, 1], 8.0),
    ("steady", "other", [1, -1], 8.0), ("brisk", "preferred", [-1, 1, -1], 4.0)])
def test_circles_turn_as_listed_for_a_right_hand_and_mirrored_for_a_left_one(block, hand, turns, period_s):
    for number, turn in enumerate(turns, start=1):
        right = BATTERY.plan(block, hand, number, side="right").path
        left = BATTERY.plan(block, hand, number, side="left").path
        assert (right.direction, left.direction) == (turn, -turn)
        assert (right.radius_mm, right.period_s) == (40.0, period_s)


def test_a_circle_for_the_left_hand_is_the_mirror_image_of_the_right_hand_s():
    x, y = BATTERY.plan("steady", "preferred", 1, side="right").position(T_S)
    u, v = BATTERY.plan("steady", "preferred", 1, side="left").position(T_S)
    assert np.allclose(u, -x) and np.allclose(v, y)


def test_wander_paths_follow_the_form_and_are_never_mirrored():
    for form in "AB":
        for number in (1, 2):
            right, left = (BATTERY.plan("wander", "preferred", number, form=form, side=side).path
                           for side in ("right", "left"))
            assert right == left and right.name == f"{form}{number}"


def test_without_a_side_the_preferred_hand_is_right_and_the_other_left():
    assert BATTERY.plan("steady", "preferred", 1).hand_side == "right"
    assert BATTERY.plan("steady", "other", 1).hand_side == "left"


def test_a_repeated_trial_keeps_its_path():
    first, again = (BATTERY.plan("brisk", "preferred", 2, attempt=attempt) for attempt in (1, 2))
    assert first.path == again.path and (first.attempt, again.attempt) == (1, 2)


def test_circles_start_at_twelve_o_clock():
    x, y = BATTERY.plan("brisk", "preferred", 1).position(0.0)
    assert (x, y) == (pytest.approx(0.0, abs=1e-12), 40.0)


def test_every_path_and_the_disc_on_it_stay_inside_the_field():
    for block in BATTERY.blocks:
        for number in range(1, block.trials + 1):
            x, y = BATTERY.plan(block.id, block.hand, number).position(np.arange(0, 23, 0.01))
            assert np.abs(x).max() + 12.0 <= 75.0 and np.abs(y).max() + 12.0 <= 62.5


def test_the_plan_describes_itself_in_plain_values():
    plain = BATTERY.plan("wander", "preferred", 1).describe()
    assert plain["path"]["x"][0] == [2, 20.44, 5.328] and plain["window_s"] == 20.0


@pytest.mark.parametrize(("block", "hand", "number", "code"), [
    ("spiral", "preferred", 1, "unknown_block"), ("brisk", "other", 1, "unknown_block"),
    ("steady", "preferred", 99, "unknown_trial"), ("steady", "preferred", 0, "unknown_trial")])
def test_an_unknown_block_or_trial_is_refused_by_name(block, hand, number, code):
    with pytest.raises(WrongUsage) as refused:
        BATTERY.plan(block, hand, number)
    assert refused.value.code == code and refused.value.values["block"].startswith(block)
