"""Dropped frames are pictures that were due and did not come; what is due is never guessed."""

import pytest

from kiosk.touch.recorder import FrameTimes

SECOND = 10**9


def flips(refreshes, refresh_hz=60.0, given=60.0):
    made = FrameTimes(given)
    for at in refreshes:
        made.add(round(at * SECOND / refresh_hz))
    return made


def test_a_gap_counts_every_refresh_it_took():
    shown = [at for at in range(200) if at not in (50, 51, 52, 90)]
    assert flips(shown).dropped(0) == 4


@pytest.mark.parametrize(("late", "dropped"), [(0.0, 0), (0.4, 0), (0.6, 1)])
def test_a_frame_late_by_less_than_half_a_refresh_is_not_dropped(late, dropped):
    shown = [*range(100), *(at + late for at in range(100, 200))]
    assert flips(shown).dropped(0) == dropped


def test_every_second_refresh_without_a_frame_is_half_of_them():
    assert flips(range(0, 200, 2), given=60.0).dropped(0) == 99


def test_flips_before_the_disc_set_off_do_not_count():
    shown = [*range(0, 50), *range(100, 200)]
    assert flips(shown).dropped(2 * SECOND) == 0
    assert flips(shown).dropped(0) == 50


def test_frames_that_run_free_faster_than_sixty_a_second_drop_none():
    rng_ms = [11, 14, 18, 10, 13, 22] * 40  # 68 a second on average, uneven as without a display
    made, at_ns = FrameTimes(60.0), 0
    for ms in rng_ms:
        at_ns += ms * 10**6
        made.add(at_ns)
    assert made.dropped(0) == 0


def test_without_a_known_refresh_nothing_is_said_to_be_dropped():
    made = flips([0, 1, 2, 9, 10], given=None)
    assert made.refresh_hz is None and made.dropped(0) is None


def test_a_faster_display_need_not_show_more_than_sixty_pictures_a_second():
    assert flips(range(0, 240, 2), refresh_hz=120.0, given=120.0).dropped(0) == 0
    assert flips(range(0, 240, 4), refresh_hz=120.0, given=120.0).dropped(0) == 59
