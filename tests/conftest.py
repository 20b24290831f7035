"""For all tests: the toolkit draws off the screen and keeps to itself; `--long` adds the heavy runs."""

import os
import tempfile

import pytest

TOOLKIT = {
    "SDL_VIDEODRIVER": "offscreen",
    "KIVY_HOME": tempfile.mkdtemp(prefix="kivy-"),
    "KIVY_NO_ARGS": "1",
    "KIVY_NO_CONFIG": "1",
    "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON",
    "KIVY_TEXT": "pil",
}
# Programs, not tests: they are run by hand or by a test, and doctests need not import them.
collect_ignore = ["benchmarks", "outside/recompute.py"]
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
