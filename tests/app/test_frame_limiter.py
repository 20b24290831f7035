"""The frame limiter: never in a display's way, and sixty frames a second where nothing waits."""

from itertools import pairwise

import pytest

from kiosk.app.frame_limiter import FrameLimiter

MS = 1_000_000


def frame_starts_ms(limiter, took_ms, count):
    """When each frame begins, in ms, where they take these times in turn and nothing else delays them."""
    now_ns, starts = 0, []
    for at in range(count):
        began_ns = now_ns
        starts.append(began_ns / MS)
        now_ns += round(took_ms[at % len(took_ms)] * MS)
        now_ns += round(limiter.rest_s(began_ns, now_ns) * 1e9)
    return starts


@pytest.mark.parametrize("refresh_hz", [30, 60, 75, 90, 120])
def test_a_display_that_drawing_waits_for_keeps_its_own_refresh(refresh_hz):
    starts = frame_starts_ms(FrameLimiter(refresh_hz), [1000 / refresh_hz], 10 * refresh_hz)
    assert starts[-1] == pytest.approx(10_000 - 1000 / refresh_hz, abs=0.1)


@pytest.mark.parametrize("took_ms", [[0.05], [1.0], [3.5], [8.0, 12.0], [5.0, 14.0, 7.0], [16.0]])
def test_where_nothing_waits_sixty_frames_come_a_second_however_long_one_takes(took_ms):
    starts = frame_starts_ms(FrameLimiter(), took_ms, 601)
    assert starts[-1] == pytest.approx(10_000, abs=0.1)


def test_one_late_frame_delays_none_that_follow():
    starts = frame_starts_ms(FrameLimiter(), [*[2.0] * 30, 29.0], 61)
    assert starts[-1] == pytest.approx(1000.0, abs=0.1)


def test_after_a_long_standstill_frames_do_not_rush_to_catch_up():
    starts = frame_starts_ms(FrameLimiter(), [2.0, 2.0, 500.0, *[2.0] * 57], 60)
    intervals = [late - early for early, late in pairwise(starts[3:])]
    assert sum(interval < 16.0 for interval in intervals) <= 2


@pytest.mark.parametrize("frame_ms", [20.0, 33.0])
def test_a_machine_too_slow_for_sixty_frames_is_given_no_rest(frame_ms):
    assert frame_starts_ms(FrameLimiter(), [frame_ms], 100)[-1] == pytest.approx(99 * frame_ms, abs=1.0)
