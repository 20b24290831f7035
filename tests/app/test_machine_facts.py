"""Battery and zone from folders made for the test; the supervisor's rule."""

import pytest

from kiosk.app.machine_facts import read_power, zone_name
from kiosk.app.supervisor import CRASHED, keep_running
from kiosk.base.errors import Refused
from kiosk.visits.power import Power


def supply(folder, name, **facts):
    (folder / name).mkdir()
    for fact, value in facts.items():
        (folder / name / fact).write_text(f"{value}\n")


def test_the_weaker_battery_and_the_mains_count_and_a_stylus_s_battery_does_not(tmp_path):
    assert read_power(tmp_path) == Power()
    supply(tmp_path, "BAT0", type="Battery", capacity=84, status="Discharging")
    supply(tmp_path, "BAT1", type="Battery", capacity=9, status="Discharging")
    supply(tmp_path, "pen", type="Battery", scope="Device", capacity=3, status="Discharging")
    assert read_power(tmp_path) == Power(9.0, False)
    supply(tmp_path, "AC", type="Mains", online=1)
    assert read_power(tmp_path) == Power(9.0, True)


def test_the_zone_is_the_link_s_and_utc_where_none_is_told(tmp_path):
    assert zone_name(tmp_path, {}) == "UTC"
    (tmp_path / "localtime").symlink_to("/usr/share/zoneinfo/Asia/Kathmandu")
    assert zone_name(tmp_path, {}) == "Asia/Kathmandu"
    assert zone_name(tmp_path, {"TZ": "Europe/Berlin"}) == "Europe/Berlin"
    assert zone_name(tmp_path, {"TZ": "No/Such"}) == "Asia/Kathmandu"


def test_a_crash_starts_it_again_and_an_end_on_purpose_does_not():
    codes, seconds = iter([CRASHED, -11, 0]), iter([0.0, 0.0, 100.0, 100.0])
    assert keep_running(lambda: next(codes), lambda: next(seconds)) == 0
    assert keep_running(lambda: 1, lambda: 0.0) == 1


def test_three_crashes_within_a_minute_stop_it():
    runs = []
    with pytest.raises(Refused, match="kiosk_keeps_ending"):
        keep_running(lambda: runs.append(1) or CRASHED, lambda: 10.0 * len(runs))
    assert len(runs) == 3
