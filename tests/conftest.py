"""For all tests: the toolkit draws off the screen and keeps to itself; `--long` adds the heavy runs.

What is left out because this machine lacks a system package is named at the end; under CI it is a failure.
"""

import os
import tempfile

import pytest

from tests.needed_packages import closing_lines, is_ci, left_out, need

TOOLKIT = {
    "SDL_VIDEODRIVER": "offscreen",
    "KIVY_HOME": tempfile.mkdtemp(prefix="kivy-"),
    "KIVY_NO_ARGS": "1",
    "KIVY_NO_CONFIG": "1",
    "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON",
    "KIVY_TEXT": "pil",
}
INTERRUPTED = 130  # what a shell expects after Ctrl-C
# Programs, not tests: they are run by hand or by a test, and doctests need not import them.
collect_ignore = ["bare", "benchmarks", "outside/recompute.py"]
os.environ.update(TOOLKIT)
os.environ.pop("DISPLAY", None)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the heavy seeded runs")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    for item in items:
        if item.get_closest_marker("long"):
            item.add_marker(pytest.mark.skip(reason="a long run: python3 tests --long"))


def pytest_runtest_setup(item: pytest.Item) -> None:
    need(*(name for mark in item.iter_markers("needs") for name in mark.args))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if lines := closing_lines():
        terminalreporter.section("left out: system packages are missing")
        for line in lines:
            terminalreporter.line(line)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    if exitstatus == pytest.ExitCode.INTERRUPTED and session.shouldstop is False:
        session.exitstatus = INTERRUPTED
    elif exitstatus == pytest.ExitCode.OK and left_out and is_ci():
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
