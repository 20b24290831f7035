"""Battery, zone and the ways out of the machine, from folders made for the test; the supervisor's rule."""

import pytest

from kiosk.app.machine_facts import read_power, site_findings, zone_name
from kiosk.app.supervisor import CRASHED, keep_running
from kiosk.base.errors import Refused
from kiosk.i18n.language import load_language
from kiosk.visits.power import Power
from kiosk.wording.site_words import WAYS_OUT, finding_line

XORG = '''Section "ServerFlags"
  Option "DontVTSwitch" "true"
  Option "DontZap" "on"
  Option "BlankTime" "0"
  Option "StandbyTime" "0"
  Option "OffTime" "0"
EndSection
'''


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


def test_a_bare_machine_is_open_and_a_closed_one_closed(tmp_path):
    bare = {one.code: one.state for one in site_findings(tmp_path, {})}
    assert bare["virtual_terminals"] == bare["magic_keys"] == bare["autologin"] == "open"
    assert bare["spool_kept"] == "not_known"
    for name, text in (("X11/xorg.conf.d/kiosk.conf", XORG), ("sysctl.d/kiosk.conf", "kernel.sysrq = 0\n"),
                       ("lightdm/kiosk.conf", "[Seat:*]\nautologin-user=kiosk\n"),
                       ("cups/cupsd.conf", "PreserveJobFiles No\n"),
                       ("modprobe.d/kiosk.conf", "blacklist usb-storage\n")):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    closed = {one.code: one.state for one in site_findings(tmp_path, {"DISPLAY": ":0"})}
    assert {code for code, state in closed.items() if state != "closed"} <= {"own_user"}
    commented = (tmp_path / "sysctl.d" / "kiosk.conf")
    commented.write_text("# kernel.sysrq = 0\n")
    assert {one.code: one.state for one in site_findings(tmp_path, {})}["magic_keys"] == "open"


def test_every_finding_has_words(tmp_path):
    language = load_language("en")
    assert {one.code for one in site_findings(tmp_path, {})} == set(WAYS_OUT)
    assert finding_line("autologin", "open", language).startswith("OPEN: After a restart")


def test_a_crash_starts_it_again_and_an_end_on_purpose_does_not():
    codes, seconds = iter([CRASHED, -11, 0]), iter([0.0, 0.0, 100.0, 100.0])
    assert keep_running(lambda: next(codes), lambda: next(seconds)) == 0
    assert keep_running(lambda: 1, lambda: 0.0) == 1


def test_three_crashes_within_a_minute_stop_it():
    runs = []
    with pytest.raises(Refused, match="kiosk_keeps_ending"):
        keep_running(lambda: runs.append(1) or CRASHED, lambda: 10.0 * len(runs))
    assert len(runs) == 3
