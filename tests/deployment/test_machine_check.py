"""The ways out of a machine, from folders made for the test: found, closed, and opened again as they were."""

import json
from pathlib import Path

import pytest

from kiosk.base.errors import Refused
from kiosk.cli.main import main
from kiosk.deployment.machine_check import CHECKS, UNIT, Machine, State, site_findings
from kiosk.deployment.machine_fixes import FIXES, RECORD, Outcome, fix, undo
from kiosk.i18n.language import load_language
from kiosk.wording.site_words import WAYS_OUT, finding_line

XORG = '''Section "ServerFlags"
  Option "DontVTSwitch" "true"
  Option "DontZap" "on"
  Option "BlankTime" "0"
  Option "StandbyTime" "0"
  Option "OffTime" "0"
EndSection
'''


def put(root: Path, **texts: str) -> None:
    """Files by their paths below a root; two underscores for a slash, one for a dot."""
    for name, text in texts.items():
        file = root / name.replace("__", "/").replace("_", ".")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)


def states(root: Path, **environment: str) -> dict[str, State]:
    return {one.code: one.state for one in site_findings(Machine(root, environment))}


def files(root: Path) -> dict[str, str]:
    """Everything below a root: a link by where it leads, a file by its text."""
    return {str(path.relative_to(root)): str(path.readlink()) if path.is_symlink() else
            path.read_text() if path.is_file() else "" for path in sorted(root.rglob("*"))}


def test_a_bare_machine_is_open_and_one_set_up_by_hand_is_closed(tmp_path: Path) -> None:
    bare = states(tmp_path)
    assert bare["virtual_terminals"] is bare["magic_keys"] is bare["autologin"] is State.OPEN
    assert bare["spool_kept"] is State.NOT_KNOWN
    put(tmp_path, etc__X11__xorg_conf=XORG, etc__sysctl_conf="kernel.sysrq = 0\n",
        etc__lightdm__kiosk_conf="[Seat:*]\nautologin-user=kiosk\n",
        etc__cups__cupsd_conf="PreserveJobFiles No\n")
    for name, text in (("etc/modprobe.d/kiosk.conf", "blacklist usb-storage\n"),
                       ("etc/systemd/logind.conf", "[Login]\nNAutoVTs=0\nReserveVT=0\n")):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    mask = tmp_path / "etc/systemd/system/getty@tty1.service"
    mask.parent.mkdir()
    mask.symlink_to("/dev/null")
    closed = states(tmp_path, DISPLAY=":0")
    assert {code for code, state in closed.items() if state is not State.CLOSED} <= {"own_user"}
    (tmp_path / "etc/sysctl.conf").write_text("# kernel.sysrq = 0\n")
    assert states(tmp_path)["magic_keys"] is State.OPEN


def test_a_later_file_overrules_and_one_in_etc_hides_its_namesake(tmp_path: Path) -> None:
    for name, value in (("etc/sysctl.d/10-a.conf", 0), ("usr/lib/sysctl.d/50-b.conf", 438)):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(f"kernel.sysrq={value}\n")
    assert states(tmp_path)["magic_keys"] is State.OPEN
    (tmp_path / "etc/sysctl.d/50-b.conf").write_text("")
    assert states(tmp_path)["magic_keys"] is State.CLOSED


def test_the_last_word_of_the_print_server_s_file_counts(tmp_path: Path) -> None:
    (tmp_path / "etc/cups").mkdir(parents=True)
    (tmp_path / "etc/cups/cupsd.conf").write_text("PreserveJobFiles No\nPreserveJobFiles 86400\n")
    assert states(tmp_path)["spool_kept"] is State.OPEN


def test_every_finding_has_words_and_every_fix_a_finding(tmp_path: Path) -> None:
    assert set(CHECKS) == set(WAYS_OUT)
    assert {one.item for one in FIXES} <= set(CHECKS)
    said = finding_line("autologin", State.OPEN.value, load_language("en"))
    assert said.startswith("OPEN: After a restart")


@pytest.fixture
def installed(tmp_path: Path) -> Machine:
    """A plain machine with a print server, on which the kiosk's package was just installed."""
    for name, text in ((f"usr/lib/systemd/system/{UNIT}", "[Service]\n"), ("etc/sysctl.conf", "# none\n"),
                       ("etc/cups/cupsd.conf", "LogLevel warn\nPreserveJobFiles Yes\n")):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    (tmp_path / "var/lib").mkdir(parents=True)
    return Machine(tmp_path, {})


def test_a_fix_closes_what_stood_open_and_undoing_leaves_the_machine_as_it_was(installed: Machine) -> None:
    before = files(installed.root)
    done = fix(installed)
    assert {one.outcome for one in done} == {Outcome.MADE} and len(done) == len(FIXES)
    assert set(states(installed.root).values()) == {State.CLOSED}
    after = files(installed.root)
    assert fix(installed) == [] and files(installed.root) == after  # a second run finds nothing to do
    assert {one.outcome for one in undo(installed)} == {Outcome.UNDONE}
    assert files(installed.root) == before
    assert undo(installed) == []


def test_what_others_wrote_is_left_by_fix_and_by_undo(installed: Machine) -> None:
    taken = installed.root / "etc/modprobe.d/pursuit-kiosk-usb-storage.conf"
    taken.parent.mkdir()
    taken.write_text("# ours, said the clinic\n")
    left = [one for one in fix(installed) if one.outcome is Outcome.LEFT]
    assert [one.change.path for one in left] == ["etc/modprobe.d/pursuit-kiosk-usb-storage.conf"]
    changed = installed.root / "etc/sysctl.d/99-zz-pursuit-kiosk.conf"
    changed.write_text("kernel.sysrq = 4\n")
    undone = {one.change.path: one.outcome for one in undo(installed)}
    assert undone["etc/sysctl.d/99-zz-pursuit-kiosk.conf"] is Outcome.LEFT
    assert changed.read_text() == "kernel.sysrq = 4\n" and taken.read_text() == "# ours, said the clinic\n"
    assert "etc/modprobe.d/pursuit-kiosk-usb-storage.conf" not in undone


def test_a_fix_cut_off_between_record_and_change_is_undone(installed: Machine) -> None:
    before = files(installed.root)
    fix(installed)
    (installed.root / "etc/sysctl.d/99-zz-pursuit-kiosk.conf").unlink()
    assert {one.outcome for one in undo(installed)} == {Outcome.UNDONE}
    assert files(installed.root) == before


def test_a_record_that_is_none_is_refused(installed: Machine) -> None:
    fix(installed)
    (installed.root / RECORD).write_text(json.dumps({"item": 3}))
    with pytest.raises(Refused, match="record_unreadable"):
        undo(installed)


def test_the_command_tells_each_step(installed: Machine, capsys: pytest.CaptureFixture[str]) -> None:
    root = str(installed.root)
    assert main(["check", "--root", root]) == 1
    capsys.readouterr()
    assert main(["check", "--site", "--root", root, "--fix"]) == 0
    said = capsys.readouterr().out
    assert "/etc/sysctl.d/99-zz-pursuit-kiosk.conf" in said and said.count("closed: ") == len(CHECKS)
    assert main(["check", "--root", root, "--undo"]) == 0
    assert "/etc/sysctl.d/99-zz-pursuit-kiosk.conf" in capsys.readouterr().out
    assert main(["check", "--root", root]) == 1


def test_without_the_rights_of_root_nothing_is_changed(
        monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("os.geteuid", lambda: 1000)
    assert main(["check", "--fix"]) == 1
    out, err = capsys.readouterr()
    assert not out and len(err.strip().splitlines()) == 1 and "root" in err
