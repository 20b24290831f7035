"""What the unit is told and given: readiness and watchdog, its settings, its hardening."""

import re
import shutil
import signal
import socket
import subprocess
from importlib.resources import files
from pathlib import Path

import pytest

from kiosk.base.errors import Refused
from kiosk.cli.main import main, parse
from kiosk.deployment.service_notice import service_notice
from kiosk.deployment.service_settings import OPTIONS, options_of

DATA = files("kiosk.deployment") / "files"
UNITS = ("pursuit-kiosk.service", "pursuit-kiosk-display.service")
S = 1_000_000_000


def test_readiness_is_told_once_and_life_twice_within_the_watchdog_s_time(tmp_path: Path) -> None:
    """The messages and variables of sd_notify(3) and sd_watchdog_enabled(3)."""
    place = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as systemd:
        systemd.bind(str(place))
        systemd.setblocking(False)
        notice = service_notice({"NOTIFY_SOCKET": str(place), "WATCHDOG_USEC": "60000000"})
        for second in range(0, 100, 10):
            notice.frame(second * S)
        told = [systemd.recv(100) for _ in range(4)]
        assert told == [b"READY=1", b"WATCHDOG=1", b"WATCHDOG=1", b"WATCHDOG=1"]  # at 0, 30, 60 and 90 s
        with pytest.raises(BlockingIOError):
            systemd.recv(100)


def test_an_abstract_address_is_understood_and_a_deaf_one_stops_no_frame() -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as systemd:
        systemd.bind("\0pursuit-kiosk-test")
        service_notice({"NOTIFY_SOCKET": "@pursuit-kiosk-test"}).frame(0)
        assert systemd.recv(100) == b"READY=1"
    service_notice({"NOTIFY_SOCKET": "@pursuit-kiosk-test"}).frame(0)
    service_notice({}).frame(0)


def test_the_settings_file_that_is_installed_changes_nothing(tmp_path: Path) -> None:
    """Its defaults are those of `start`, and every setting stands in it, explained."""
    file = tmp_path / "kiosk.toml"
    text = (DATA / "kiosk.toml").read_text("utf-8")
    file.write_text(text)
    given = vars(parse(["start", "--settings", str(file)]))
    assert {name: value for name, value in given.items() if name != "settings"} == {
        name: value for name, value in vars(parse(["start"])).items() if name != "settings"}
    told = set(re.findall(r"^#? ?(\w+) = ", text, re.MULTILINE))
    assert told == set(OPTIONS) - {"touch_ranges"}  # a named pipe of a test stand, not a clinic's panel
    file.write_text(re.sub(r"^# (\w+ = )", r"\1", text, flags=re.MULTILINE))
    told_all = parse(["start", "--settings", str(file)])
    assert told_all.px_per_mm == [5.88, 5.88] and told_all.backups == Path("/var/lib/pursuit-kiosk/backups")


def test_what_stands_after_the_settings_file_overrules_it(tmp_path: Path) -> None:
    file = tmp_path / "kiosk.toml"
    file.write_text('language = "de"\npaper = "Letter"\ntones = true\n')
    given = parse(["start", "--settings", str(file), "--language", "fr"])
    assert (given.language, given.paper, given.tones) == ("fr", "Letter", True)


def test_wrong_settings_are_named_together_in_one_sentence(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "kiosk.toml"
    file.write_text('paper = 4\npasphrase_file = "here"\npx_per_mm = [5.88]\nlanguage = "en"\n')
    with pytest.raises(Refused) as refused:
        options_of(file)
    assert refused.value.values["names"] == ("paper = 4", "pasphrase_file = here", "px_per_mm = [5.88]")
    assert main(["start", "--settings", str(file)]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
    file.write_text("paper = ")
    assert main(["start", "--settings", str(file)]) == 2
    file.write_text('paper = "A3"\n')
    assert main(["start", "--settings", str(file)]) == 2


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="systemd-analyze (systemd)")
@pytest.mark.parametrize("unit", UNITS)
def test_the_units_are_rated_3_or_better_by_systemd_itself(unit: str) -> None:
    done = subprocess.run(["systemd-analyze", "security", "--offline=true", str(DATA / unit)],
                          capture_output=True, text=True)
    rated = re.search(r"exposure level for \S+: ([\d.]+)", done.stdout)
    assert rated is not None and float(rated[1]) <= 3.0, done.stdout[-200:] + done.stderr


def test_a_kiosk_that_was_told_to_end_and_did_is_no_crash() -> None:
    """The code of kiosk.cli.composition.stop_with; else a stop during the trial would undo an update."""
    assert f"\nSuccessExitStatus={128 + signal.SIGTERM}\n" in (DATA / UNITS[0]).read_text("utf-8")
