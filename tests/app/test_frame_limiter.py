"""The pace of the frames: never in a display's way, never faster than a display where nothing waits."""

import pytest

from kiosk.app.frame_limiter import Pace

MS = 1_000_000


def frames_in(seconds, took_ms):
    """How many frames are drawn in so many seconds when each takes so long."""
    pace, now_ns, count = Pace(), 0, 0
    while now_ns < seconds * 1e9:
        began_ns = now_ns
        now_ns += round(took_ms * MS)
        now_ns += round(pace.rest_s(began_ns, now_ns) * 1e9)
        count += 1
    return count


@pytest.mark.parametrize("refresh_hz", [60, 75, 120])
def test_a_display_that_holds_the_frames_keeps_its_own_refresh(refresh_hz):
    assert frames_in(10, 1000 / refresh_hz) == pytest.approx(10 * refresh_hz, abs=2)


@pytest.mark.parametrize("took_ms", [0.05, 1.0, 3.5])
def test_frames_that_nothing_holds_come_sixty_times_a_second(took_ms):
    assert frames_in(10, took_ms) == pytest.approx(625, abs=2)  # 1 / 16 ms


def test_a_display_that_begins_to_hold_the_frames_is_followed_within_sixty_frames():
    pace = Pace()
    for _ in range(100):
        pace.rest_s(0, 1 * MS)
    rests_s = [pace.rest_s(0, 8 * MS) for _ in range(60)]
    assert rests_s[0] == pytest.approx(0.008) and rests_s[-1] == 0.0
