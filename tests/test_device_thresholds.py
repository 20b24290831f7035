"""Where a check of the tablet and a trial have the same rule, they have the same threshold.

Their rooms are neighbours and do not know each other; this test knows both.
"""

import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.scoring import validity
from kiosk.touch import cross_check, device_check


@pytest.mark.parametrize("name", ["LEAST_RATE_HZ", "UNEVEN_TIMES_MEDIAN", "MOST_ADDED_AGE_MS",
                                  "MOST_STANDSTILL_MS"])
def test_the_tablet_is_held_to_the_trial_s_threshold(name):
    assert getattr(device_check, name) == getattr(validity, name)


def test_a_touch_off_the_cross_is_a_touch_off_the_disc():
    assert load_battery().plan("steady", "preferred", 1).disc_radius_mm == cross_check.REFUSED_OFFSET_MM


def test_the_crosses_stand_in_the_field():
    for x_mm, y_mm in cross_check.CROSSES_MM:
        assert abs(x_mm) < device_check.FIELD_WIDTH_MM / 2 and abs(y_mm) < device_check.FIELD_HEIGHT_MM / 2
