"""Dropped frames are refreshes of the display that brought no new picture."""

import pytest

from kiosk.touch.frame_times import Flips

SECOND = 10**9


def flips(refreshes, refresh_hz=60.0, given=None):
    made = Flips(given)
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
