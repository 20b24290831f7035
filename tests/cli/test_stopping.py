"""Ctrl-C ends whatever runs in one line with exit code 130, SIGTERM ends it too; no traceback.

The signal goes to the whole group of processes, as a terminal and a service manager send it.
"""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.conftest import TOOLKIT
from tests.needed_packages import WINDOW, needs
from tests.outside.kiosk_process import Display
from tests.sources import ROOT

AT_WORK_WITHIN_S, ENDS_WITHIN_S = 60.0, 20.0
WINDOW_OPENS_S = 6.0  # after the folder for its files is made
AtWork = Callable[[int], bool]


@pytest.fixture(scope="module")
def display() -> Iterator[Display]:
    display = Display()
    yield display
    display.close()


def wrote(file: Path) -> AtWork:
    return lambda pid: file.exists()


def drew_on(display: Display) -> AtWork:
    return lambda pid: bool(display.picture().any())


def ended(
    number: signal.Signals,
    arguments: list[str],
    environment: dict[str, str],
    at_work: AtWork,
    wait_s: float = 0.0,
) -> tuple[int, str]:
    """The exit code and the standard error of a command stopped a while after it is at work."""
    own = {name: value for name, value in environment.items() if name not in TOOLKIT}
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", *arguments], cwd=ROOT, env=own, start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler))  # fmt: skip
    try:
        end_s = time.monotonic() + AT_WORK_WITHIN_S
        while not at_work(process.pid):
            assert process.poll() is None and time.monotonic() < end_s, "it never was at work"
            time.sleep(0.05)
        time.sleep(wait_s)
        os.killpg(process.pid, number)
        return process.wait(ENDS_WITHIN_S), process.communicate()[1].strip()
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
            process.communicate()


@WINDOW
@needs("xvfb")
@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, -signal.SIGTERM)])
def test_a_demo_with_a_window_ends(display, tmp_path, number, code):
    """The toolkit would take both signals for itself."""
    arguments = ["kiosk", "demo", "--visits", "400", "--out", str(tmp_path / "out")]
    told = ended(number, arguments, display.environment, drew_on(display), WINDOW_OPENS_S)
    assert told[0] == code and ("Stopped." in told[1]) == (number == signal.SIGINT)
    assert "Traceback" not in told[1]


@needs("xvfb", "xdotool")
def test_a_kiosk_ends(display, tmp_path):
    arguments = ["kiosk", "start", "--memory", "--pages", str(tmp_path)]
    told = ended(signal.SIGINT, arguments, display.environment, drew_on(display))
    assert told[0] == 130
    assert "Traceback" not in told[1]


@WINDOW
def test_what_a_command_started_ends_with_it_and_says_nothing(tmp_path):
    """The pictures of a panel are drawn by a process of their own."""
    arguments = ["kiosk", "pictures", "--out", str(tmp_path / "out")]
    told = ended(signal.SIGINT, arguments, dict(os.environ), wrote(tmp_path / "out"), WINDOW_OPENS_S)
    assert told == (130, "Stopped.")


def test_a_demo_without_a_window_ends(tmp_path):
    arguments = ["kiosk", "demo", "--no-window", "--visits", "400", "--out", str(tmp_path / "out")]
    environment = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    told = ended(signal.SIGINT, arguments, environment, wrote(tmp_path / "out"))
    assert told == (130, "Stopped.")


def test_a_run_of_the_tests_ends(tmp_path):
    slow = tmp_path / "test_slow.py"
    began = tmp_path / "began"
    body = f"pathlib.Path({str(began)!r}).touch(); time.sleep(60)"
    slow.write_text(f"import time, pathlib\ndef test_slow():\n    {body}\n")
    arguments = ["pytest", "-q", "-c", str(ROOT / "pyproject.toml"), "--rootdir", str(ROOT),
                 "--confcutdir", str(ROOT), "-p", "tests.conftest", str(slow)]  # fmt: skip
    code, told = ended(signal.SIGINT, arguments, {**os.environ, "PYTHONPATH": str(ROOT)}, wrote(began))
    assert code == 130
    assert "Traceback" not in told
