"""The contact change never flashes more than three times a second (WCAG 2.2, 2.3.1 and "general flash")."""

from itertools import pairwise

import numpy as np
import pytest

from kiosk.screens.fade import CLOSING_STEPS, ContactFade, closing_step

STEP_S = 0.001


def levels(wanted):
    fade = ContactFade()
    return np.array([fade.level(on, number * STEP_S) for number, on in enumerate(wanted)])


def flashes_in_a_second(course):
    """The most pairs of opposing changes, each of at least a tenth, that end within any one second."""
    ways = [(number, way) for number, way in enumerate(np.sign(np.diff(course)), start=0) if way]
    ends = [before for (before, way), (_, other) in pairwise(ways) if way != other]
    ends.append(ways[-1][0] if ways else 0)
    swings = [end for start, end in pairwise([0, *ends]) if abs(course[end + 1] - course[start + 1]) >= 0.1]
    return max((sum(end <= other < end + 1.0 / STEP_S for other in swings) for end in swings), default=0) // 2


def worst_touch(seconds):
    """A finger that is always where the ring is not: on once it is open, off once it is closed."""
    fade, on, course = ContactFade(), True, []
    for number in range(round(seconds / STEP_S)):
        level = fade.level(on, number * STEP_S)
        course.append(level)
        on = level < 1.0 if on else level <= 0.0
    return np.array(course)


def test_a_finger_that_trembles_on_the_edge_cannot_make_it_flash():
    random = np.random.default_rng(20260112)
    for period_s in (0.005, 0.02, 0.05, 0.1, 0.17, 0.25):
        wanted = np.repeat(random.integers(0, 2, 2000), round(period_s / STEP_S))[:10_000].astype(bool)
        assert flashes_in_a_second(levels(wanted)) <= 3


def test_the_worst_touch_stays_under_three_a_second():
    course = worst_touch(10.0)
    ways = np.sign(np.diff(course))
    changes = np.count_nonzero(np.diff(ways[ways != 0]))
    assert 2.5 < changes / 2 / 10.0 <= 1 / 0.36 + 0.1
    assert flashes_in_a_second(course) <= 3


def test_the_count_of_flashes_would_catch_a_ring_without_the_rule():
    bare = np.tile(np.repeat([0.0, 1.0], 100), 25)
    assert flashes_in_a_second(bare) > 3


def test_on_takes_120_and_off_240_milliseconds():
    course = levels([True] * 500 + [False] * 500)
    assert course[60] == pytest.approx(0.5, abs=0.01)
    assert course[119] < 1.0 == course[121]
    assert course[500 + 120] == pytest.approx(0.5, abs=0.01)
    assert course[500 + 239] > 0.0 == course[500 + 241]


def test_a_fade_that_has_begun_is_finished_before_the_other_begins():
    course = levels([True] * 30 + [False] * 600)
    assert course[120] == 1.0
    assert (np.diff(course[:120]) >= 0).all()
    assert course[-1] == 0.0


def test_arcs_close_in_eight_steps_of_a_tenth_of_a_second():
    steps = [closing_step(number / 800) for number in range(801)]
    assert steps[0] == 0 and steps[-1] == CLOSING_STEPS
    assert [steps.count(step) for step in range(1, 8)] == [99, *[100] * 6]
    assert steps == sorted(steps)
