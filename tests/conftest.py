"""For all tests: the toolkit draws off the screen and keeps to itself; `--long` adds the heavy runs.

What is left out because this machine lacks a system package is named at the end; under CI it is a failure.
What is left out because the machine is too busy is named beside it. Of tests run in parallel, each worker
process tells what it left out.
"""

import os
import tempfile

import pytest

from tests.calm_machine import too_busy, wait_until_calm
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
    parser.addoption("--phase", choices=("parallel", "real-time"), help="only what runs in this phase")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    phase = config.getoption("--phase")
    chosen = [item for item in items if phase in (None, _phase(item))]
    config.hook.pytest_deselected(items=[item for item in items if item not in set(chosen)])
    items[:] = chosen
    if config.getoption("--long"):
        return
    for item in items:
        if item.get_closest_marker("long"):
            item.add_marker(pytest.mark.skip(reason="a long run: python3 tests --long"))


def pytest_runtest_setup(item: pytest.Item) -> None:
    need(*(name for mark in item.iter_markers("needs") for name in mark.args))
    if _phase(item) == "real-time":
        wait_until_calm()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for title, lines in (("left out: system packages are missing", closing_lines()),
                         ("left out: this machine is too busy for them", too_busy)):  # fmt: skip
        if lines:
            terminalreporter.section(title)
            for line in lines:
                terminalreporter.line(line)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object, error: object) -> None:
    """A worker process has ended: what it left out for want of packages was left out of this run."""
    for name, tests in getattr(node, "workeroutput", {}).get("left_out", {}).items():
        left_out.setdefault(name, []).extend(tests)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["left_out"] = left_out
    elif exitstatus == pytest.ExitCode.INTERRUPTED and session.shouldstop is False:
        session.exitstatus = INTERRUPTED
    elif exitstatus == pytest.ExitCode.OK and left_out and is_ci():
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def _phase(item: pytest.Item) -> str:
    return "real-time" if item.get_closest_marker("real_time") else "parallel"
