"""The bare system: when it is tried again, what counts as the same bytes, a record of a run that passed."""

import json
import re
import shutil
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from kiosk.base.system_packages import SYSTEM_PACKAGES, Use
from tests.bare import record
from tests.bare.__main__ import SUBSET, same_files
from tests.bare.window import faults
from tests.sources import ROOT

TOOK = record.UsersRun(demo_s=87, tests_s=63, passed=351, environment_mb=540, same_files=36)


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A copy of the files that decide."""
    for name in record.deciding_files(ROOT):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(ROOT / name, tmp_path / name)
    return tmp_path


def test_every_module_of_set_up_decides() -> None:
    known = record.deciding_files(ROOT)
    for module in (ROOT / "kiosk" / "base").glob("*.py"):
        sets_up = re.search(r"\bset-up\b", module.read_text("utf-8"), re.IGNORECASE)
        assert not sets_up or module.relative_to(ROOT).as_posix() in known or module.stem in NOT_OF_SET_UP
    assert {"kiosk/requirements.txt", "tests/requirements.txt", "tests/bare/minimal_system.py"} <= set(known)


NOT_OF_SET_UP = {"__init__", "crash_report", "errors", "interruption", "settings"}


def test_the_record_is_of_a_run_that_passed_with_what_it_names() -> None:
    """Written by a run only; a hash that is no file's, a user left out or a run without tests is not one."""
    last = record.read(ROOT)
    if last is None:
        assert record.changed_since(last, ROOT) == sorted(record.deciding_files(ROOT))
        pytest.skip("no run is on record, so CI makes one")
    assert date.fromisoformat(last.day) and last.suite == "bookworm"
    assert set(last.users) == {"person", "root"}
    for took in last.users.values():
        assert took.passed > 100 and took.same_files > 30
        assert took.demo_s > 1 and took.tests_s > 1 and took.environment_mb > 100
    assert all(re.fullmatch(r"[0-9a-f]{64}", digest) for digest in last.files.values())


@pytest.mark.parametrize(
    "name", ["kiosk/base/system_packages.py", "kiosk/requirements.txt", "tests/bare/window.py"]
)
def test_a_changed_file_of_set_up_asks_for_a_new_try(tree: Path, name: str) -> None:
    as_it_is = passed(tree)
    assert record.changed_since(as_it_is, tree) == []
    (tree / name).write_text((tree / name).read_text("utf-8") + "# changed\n", "utf-8")
    assert record.changed_since(as_it_is, tree) == [name]
    (tree / name).unlink()
    assert record.changed_since(as_it_is, tree) == [name]


def passed(tree: Path) -> record.Record:
    """The record of a run that passed in a tree."""
    users = {"person": TOOK, "root": TOOK}
    return record.Record(record.deciding_files(tree), "2026-12-01", "bookworm", False, users)


def test_without_a_record_everything_asks_for_a_try(tree: Path) -> None:
    assert record.changed_since(None, tree) == sorted(record.deciding_files(tree))


def test_a_record_is_read_as_it_was_written(tree: Path) -> None:
    assert record.read(tree) is None
    record.write(tree, passed(tree))
    assert record.read(tree) == passed(tree)


def demo(folder: Path, python: str = "3.11.2", value: float = 1.0) -> Path:
    folder.mkdir()
    (folder / "report.pdf").write_bytes(b"%PDF")
    findings = {"visits": [{"visit": {"software": {"python": python}}, "value": value}]}
    (folder / "findings.json").write_text(json.dumps(findings, separators=(",", ":")))
    return folder


def test_the_same_demo_by_another_python_has_the_same_bytes_and_no_other(tmp_path: Path) -> None:
    outside = demo(tmp_path / "outside")
    assert same_files(outside, demo(tmp_path / "inside", python="3.11.7")) == 2
    with pytest.raises(SystemExit, match=r"not those outside: findings\.json"):
        same_files(outside, demo(tmp_path / "other", value=1.0000001))
    (tmp_path / "inside" / "report.pdf").write_bytes(b"%PDG")
    with pytest.raises(SystemExit, match=r"not those outside: report\.pdf"):
        same_files(outside, tmp_path / "inside")
    (tmp_path / "inside" / "report.pdf").unlink()
    with pytest.raises(SystemExit, match=r"other files inside: \['report\.pdf'\]"):
        same_files(outside, tmp_path / "inside")


def picture(place: Path, change: object = None) -> Path:
    shades = np.linspace(0, 255, 800 * 1280 * 3).reshape(800, 1280, 3).astype(np.uint8)
    if callable(change):
        change(shades)
    Image.fromarray(shades).save(place)
    return place


def test_a_window_is_as_outside_but_for_the_time_of_day(tmp_path: Path) -> None:
    def later(shades: np.ndarray) -> None:
        shades[60:90, 1150:1230] = 255

    def without_a_button(shades: np.ndarray) -> None:
        shades[600:700, 1000:1200] = 0

    def black(shades: np.ndarray) -> None:
        shades[:] = 0

    outside = picture(tmp_path / "outside.png")
    assert faults(picture(tmp_path / "later.png", later), outside) == []
    assert faults(picture(tmp_path / "less.png", without_a_button), outside)
    assert "only 1 shades are shown" in faults(picture(tmp_path / "black.png", black), outside)[0]


def test_the_short_run_has_a_test_for_every_package() -> None:
    """What a test asks for, in the words of tests/needed_packages.py."""
    text = "".join(path.read_text("utf-8") for name in SUBSET for path in _files(ROOT / name))
    text += (ROOT / "tests" / "storage" / "conftest.py").read_text("utf-8")
    for one in SYSTEM_PACKAGES:
        if one.use is Use.TESTS:
            assert f'"{one.name}"' in text, one.name


def _files(place: Path) -> list[Path]:
    return sorted(place.rglob("*.py")) if place.is_dir() else [place]


def test_ci_runs_the_tests_then_the_bare_system_where_it_is_due() -> None:
    lines = (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    assert lines[-2:] == ["python3 tests", "python3 tests --bare --if-due"]
