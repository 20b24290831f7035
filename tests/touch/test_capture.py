"""Playback through the capture protocol: every touch once, none before its time. Nanoseconds."""

import pytest

from kiosk.pursuit.samples import AxisRanges
from kiosk.touch.calibration import full_window, nominal
from kiosk.touch.capture import Capture, Playback, Touch


class Clock:
    """A clock that a test sets."""

    now_ns = 0

    def __call__(self):
        return self.now_ns


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def playback(clock):
    return Playback(clock, AxisRanges(0.0, 1.0, 0.0, 1.0), full_window(nominal("A")))


def _touches(*times_ns):
    return [Touch(t_ns, 0.5, 0.5, True) for t_ns in times_ns]


def test_playback_is_a_capture(playback):
    capture: Capture = playback
    for name in ("source", "clock_name", "ranges", "window", "lost_events", "input_fuzz"):
        assert hasattr(capture, name)


def test_a_touch_comes_when_the_clock_has_reached_it_and_only_once(clock, playback):
    playback.load(_touches(10, 20, 30))
    drained = []
    for clock.now_ns in (9, 10, 10, 25, 40, 40):
        drained.append([touch.t_ns for touch in playback.drain()])
    assert drained == [[], [10], [], [20], [30], []]


@pytest.mark.parametrize("step_ns", [1, 3, 7, 50, 1000])
def test_whatever_the_frames_every_touch_is_drained_exactly_once_in_order(clock, playback, step_ns):
    playback.load(_touches(*range(0, 500, 4)))
    drained = []
    for clock.now_ns in range(0, 500 + step_ns, step_ns):
        drained += [touch.t_ns for touch in playback.drain()]
    assert drained == list(range(0, 500, 4))


def test_touches_loaded_later_follow_those_still_queued(clock, playback):
    playback.load(_touches(10, 20))
    clock.now_ns = 15
    playback.drain()
    playback.load(_touches(30))
    clock.now_ns = 30
    assert [touch.t_ns for touch in playback.drain()] == [20, 30]


def test_starting_forgets_what_was_before(clock, playback):
    playback.load(_touches(10, 20, 30))
    clock.now_ns = 20
    playback.start()
    clock.now_ns = 40
    assert [touch.t_ns for touch in playback.drain()] == [30]


def test_after_stopping_nothing_comes(clock, playback):
    playback.load(_touches(10))
    playback.stop()
    clock.now_ns = 40
    assert playback.drain() == []
