"""Versions side by side: switched in one step, on trial, and back, on a made-up root."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from kiosk.deployment import installed_versions
from kiosk.deployment.installed_versions import (
    CURRENT,
    MOST_STARTS,
    SETTLED_AFTER_S,
    STATE,
    Clock,
    Installation,
    numbers,
)

AT_START = Clock("boot 1", 100.0)


@pytest.fixture
def here(tmp_path: Path) -> Installation:
    """0.1.0 came by the package; 0.2.0 by an update, and is on trial."""
    made = Installation(tmp_path)
    for version in ("0.1.0", "0.2.0"):
        made.folder(version).mkdir(parents=True)
    made.store().parent.mkdir(parents=True)
    made.package_installed("0.1.0")
    made.switch("0.2.0")
    return made


def later(seconds: float, boot: str = "boot 1") -> Clock:
    return Clock(boot, AT_START.now_s + seconds)


def test_the_link_names_what_runs_and_is_never_missing_while_it_is_replaced(
        here: Installation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert here.current() == "0.2.0" and (tmp_path / CURRENT).resolve() == here.folder("0.2.0").resolve()

    def cut_off(*_: object) -> None:
        raise OSError("power cut")

    monkeypatch.setattr(Path, "replace", cut_off)
    with pytest.raises(OSError):
        here.switch("0.1.0")
    assert here.current() == "0.2.0"


def test_a_switch_cut_off_before_the_link_leaves_the_old_version_without_a_trial(
        here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    here.settle()
    monkeypatch.setattr(Installation, "_link", lambda self, version: None)
    here.switch("0.3.0")
    assert here.current() == "0.2.0" and here.on_trial() is None


def test_a_crash_on_trial_brings_the_version_before_back_at_once(here: Installation) -> None:
    here.before_start(AT_START)
    here.after_stop(False, "exit-code", later(5.0))
    assert here.current() == "0.1.0" and here.on_trial() is None
    assert (here.remembered().returned_from, here.remembered().why) == ("0.2.0", "exit-code")


def test_a_crash_after_ten_minutes_is_no_longer_the_update_s(here: Installation) -> None:
    here.before_start(AT_START)
    here.after_stop(False, "signal", later(SETTLED_AFTER_S))
    assert here.current() == "0.2.0" and here.on_trial() is None
    here.after_stop(False, "signal", later(SETTLED_AFTER_S + 1.0))
    assert here.current() == "0.2.0"


def test_an_orderly_end_after_a_minute_proves_it_and_one_before_does_not(here: Installation) -> None:
    here.before_start(AT_START)
    here.after_stop(True, "success", later(59.0))
    assert here.on_trial() is not None
    here.before_start(AT_START)
    here.after_stop(True, "success", later(60.0))
    assert here.on_trial() is None and here.current() == "0.2.0"


def test_starts_that_never_end_orderly_are_counted(here: Installation) -> None:
    """The machine is switched off each time the new version hangs: no stop is ever seen."""
    for start in range(MOST_STARTS):
        here.before_start(later(0.0, f"boot {start}"))
        assert here.current() == "0.2.0"
    here.before_start(later(0.0, "boot 9"))
    assert here.current() == "0.1.0"


def test_the_clock_of_another_start_of_the_machine_proves_nothing(here: Installation) -> None:
    here.before_start(AT_START)
    here.after_stop(False, "signal", later(SETTLED_AFTER_S, "boot 2"))
    assert here.current() == "0.1.0"


def test_going_back_over_a_changed_layout_keeps_both_stores(here: Installation) -> None:
    store = here.store()
    store.write_text("layout 2, a visit more")
    store.with_name("kiosk.store-wal").write_text("its journal")
    kept = store.with_name("kiosk.store.before-0.2.0")
    kept.write_text("layout 1")
    here.go_back("so that the update can be made again")
    here.switch("0.2.0", "var/lib/pursuit-kiosk/kiosk.store.before-0.2.0")
    assert here.go_back("asked") == "0.1.0"
    assert store.read_text() == "layout 1" and not store.with_name("kiosk.store-wal").exists()
    assert store.with_name("kiosk.store.of-0.2.0").read_text() == "layout 2, a visit more"
    assert store.with_name("kiosk.store.of-0.2.0-wal").read_text() == "its journal"


def test_there_is_one_way_back_only(here: Installation) -> None:
    here.go_back("asked")
    with pytest.raises(LookupError):
        here.go_back("asked")
    assert here.current() == "0.1.0"


def test_a_package_does_not_displace_a_later_update_but_a_later_package_does(here: Installation) -> None:
    here.package_installed("0.1.0")
    assert here.current() == "0.2.0"
    here.folder("0.10.0").mkdir()
    here.package_installed("0.10.0")
    assert here.current() == "0.10.0" and here.on_trial() is None


def test_a_state_that_cannot_be_read_stops_no_start(here: Installation, tmp_path: Path) -> None:
    for text in ("", "[]", json.dumps({"trial": {"what": 1}})):
        (tmp_path / STATE).write_text(text)
        here.before_start(AT_START)
        here.after_stop(False, "signal", later(1.0))
        assert here.current() == "0.2.0"


def test_versions_are_compared_as_numbers() -> None:
    assert numbers("0.10.0") > numbers("0.9.9")
    with pytest.raises(ValueError):
        numbers("0.1.0rc1")


def test_it_runs_by_itself_with_nothing_of_any_version() -> None:
    """As the unit runs it: isolated, so that no package of the environment can be found."""
    file = installed_versions.__file__
    done = subprocess.run([sys._base_executable, "-I", "-S", file], capture_output=True, text=True)
    assert done.returncode == 2 and done.stderr.startswith("usage: ")
