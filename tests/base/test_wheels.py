"""Fetching wheels: what has a hash of the lock is not fetched twice, what has not goes; how far is told."""

import hashlib
import io
from collections.abc import Sequence
from pathlib import Path

import pytest

from kiosk.base import wheels
from kiosk.base.environment import COSTS
from kiosk.base.set_up_progress import Progress, TimeLeft
from tests.sources import ROOT

BYTES = {"one": b"first wheel", "two": b"second wheel", "three": b"third wheel", "four": b"fourth wheel"}


class Clock:
    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        self.now_s += 1.0
        return self.now_s


@pytest.fixture
def folders(tmp_path: Path) -> wheels.Folders:
    folders = wheels.Folders.of(tmp_path, "kiosk")
    folders.wheels.mkdir(parents=True)
    folders.work.mkdir()
    return folders


@pytest.fixture
def lock(tmp_path: Path) -> Path:
    pins = [f"{name}==1.0 ; python_version > '3' \\\n    --hash=sha256:{hashlib.sha256(data).hexdigest()}"
            for name, data in BYTES.items()]  # fmt: skip
    path = tmp_path / "requirements.txt"
    path.write_text("\n".join(pins) + "\n")
    return path


def fetched(folders: wheels.Folders, lock: Path) -> list[list[str]]:
    """The names that each call of pip is asked for."""
    asked: list[list[str]] = []

    def run(commands: Sequence[Sequence[str]], hear: object = None, watch: object = None) -> None:
        asked.extend([pin.name for pin in wheels.pins_of(Path(words[-1]).read_text())] for words in commands)

    wheels.fetch(Path("python"), lock, 1, folders, run, Progress(io.StringIO()))
    return asked


def test_pins_are_dealt_out_to_a_few_calls(folders: wheels.Folders, lock: Path) -> None:
    assert fetched(folders, lock) == [["one", "three"], ["two", "four"]]


def test_what_was_fetched_before_an_interruption_is_not_fetched_again(
    folders: wheels.Folders, lock: Path
) -> None:
    (folders.wheels / "one-1.0-py3-none-any.whl").write_bytes(BYTES["one"])
    (folders.wheels / "three-1.0-py3-none-any.whl").write_bytes(BYTES["three"])
    assert fetched(folders, lock) == [["two", "four"]]


def test_a_wheel_cut_short_is_fetched_again(folders: wheels.Folders, lock: Path) -> None:
    cut = folders.wheels / "two-1.0-py3-none-any.whl"
    cut.write_bytes(BYTES["two"][:-1])
    assert ["two", "four"] in fetched(folders, lock)
    assert not cut.exists()


def test_with_all_fetched_nothing_is_asked_of_the_network(folders: wheels.Folders, lock: Path) -> None:
    for name, data in BYTES.items():
        (folders.wheels / f"{name}-1.0-py3-none-any.whl").write_bytes(data)
    assert fetched(folders, lock) == []


def test_names_sizes_and_time_left_are_told(
    folders: wheels.Folders, lock: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told, clock = io.StringIO(), Clock()
    monkeypatch.setattr(wheels, "TimeLeft", lambda: TimeLeft(clock))
    clock_of_lines = iter(range(0, 1000, 20))

    def run(commands: object, hear: object, watch: object) -> None:
        assert callable(hear) and callable(watch)
        hear("  Downloading scipy-1.17.1-cp311-cp311-manylinux_2_28_x86_64.whl (35.3 MB)")
        (folders.work / "pip-unpack").mkdir()
        (folders.work / "pip-unpack" / "scipy-1.17.1.whl").write_bytes(bytes(40_000_000))
        clock.now_s = 9.0
        watch()

    wheels.fetch(Path("python"), lock, 160, folders, run, Progress(told, lambda: next(clock_of_lines)))
    assert told.getvalue() == "Fetching: 40 of about 160 MB, about 27 s left. Now: scipy (35.3 MB)\n"


def test_the_tests_that_wheels_bring_are_left_out_and_nothing_else(tmp_path: Path) -> None:
    for name in ("one/tests/test_a.py", "one/in/tests/deep/test_b.py", "one/testing/asserts.py", "two/a.py"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    wheels.leave_out_their_tests(tmp_path)
    left = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*.py"))
    assert left == ["one/testing/asserts.py", "two/a.py"]


def test_the_locks_of_the_project_are_read_whole() -> None:
    for layer in COSTS:
        text = (ROOT / layer / "requirements.txt").read_text()
        assert sum(len(pin.hashes) for pin in wheels.pins_of(text)) == text.count("--hash=sha256:")
        assert all(pin.hashes for pin in wheels.pins_of(text))


def test_on_a_terminal_a_line_is_replaced() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    out = Terminal()
    progress = Progress(out, Clock())
    progress.show("a")
    progress.show("b")
    progress.tell("done")
    assert out.getvalue() == "a\r\x1b[Kb\r\x1b[Kdone\n"


def test_in_a_log_a_line_stays_and_the_next_one_waits() -> None:
    out, clock = io.StringIO(), Clock()
    progress = Progress(out, clock)
    progress.show("left out: a moment after the beginning")
    clock.now_s = 12.0
    progress.show("a")
    progress.tell("done")
    assert out.getvalue() == "a\ndone\n"
