"""A hand that stops while the disc goes on."""

import numpy as np
import pytest

from kiosk.scoring.score import score_trial
from tests.scoring.hands import disc_of, plan_of, record_of, times


def stopping(plan, at_s, length_s, t_s):
    """The hand is with the disc, but rests from at_s for length_s."""
    away = (t_s >= at_s) & (t_s < at_s + length_s)
    return disc_of(plan, np.where(away, at_s, t_s)), away


@pytest.mark.parametrize("block", ["steady", "brisk"])
@pytest.mark.parametrize(("lengths_s", "stalls"), [((0.5,), 1), ((1.0, 0.6), 2), ((0.15,), 0), ((), 0)])
def test_stalls_are_counted_and_timed(block, lengths_s, stalls):
    plan = plan_of(block)
    t_s = times(plan)
    hand = disc_of(plan, t_s)
    for number, length_s in enumerate(lengths_s):
        rest, away = stopping(plan, 5.0 + 6 * number, length_s, t_s)
        hand = np.where(away, rest, hand)
    values = score_trial(record_of(plan, t_s, hand)).values
    assert values["stalls"].value == stalls
    long_s = sum(one for one in lengths_s if one > 0.2)
    assert values["stall_share"].value == pytest.approx(100 * long_s / 16, abs=0.15 * 100 * stalls / 16)


def test_a_silence_of_the_glass_is_a_stall_too():
    """Input layers drop unchanged values: no samples at all while the hand rests."""
    plan = plan_of("brisk")
    t_s = times(plan)
    kept = (t_s <= 7.0) | (t_s >= 7.6)
    values = score_trial(record_of(plan, t_s[kept], disc_of(plan, t_s[kept]))).values
    assert values["stalls"].value == 1


def test_a_lift_is_no_stall():
    plan = plan_of("brisk")
    t_s = times(plan)
    values = score_trial(record_of(plan, t_s, disc_of(plan, t_s), (t_s < 7.0) | (t_s >= 7.6))).values
    assert (values["stalls"].value, values["lifts"].value) == (0, 1)
