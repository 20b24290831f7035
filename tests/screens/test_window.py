"""Where a window may be opened."""

import subprocess
import sys

import pytest

from kiosk.base.errors import Refused
from kiosk.screens import window
from tests.sources import ROOT


def test_a_window_without_a_display_is_refused_not_drawn_invisibly(monkeypatch):
    monkeypatch.setattr(window.sys, "platform", "linux")
    with pytest.raises(Refused, match="no_display"):
        window.prepare(False, {})


def test_a_display_or_drawing_off_the_screen_is_enough(monkeypatch):
    monkeypatch.setattr(window.sys, "platform", "linux")
    monkeypatch.setenv("SDL_VIDEODRIVER", "offscreen")
    window.prepare(False, {"DISPLAY": ":0"})
    assert (
        window.os.environ["SDL_VIDEODRIVER"] == "x11"
    )  # a dead display then fails instead of drawing nowhere
    window.prepare(True, {})
    assert window.os.environ["SDL_VIDEODRIVER"] == "offscreen"


def test_the_toolkit_reads_no_arguments_writes_no_log_and_shapes_text_with_pillow(room):
    from kivy.config import Config
    from kivy.core.text import Label
    from kivy.core.window import Window

    assert Label.__module__.endswith("text_pil")
    assert Config.get("kivy", "exit_on_escape") == "0"
    assert list(Config.items("input")) == []
    assert Window.size == (1280, 800)


def test_the_open_window_keeps_its_size(room):
    with pytest.raises(Refused, match="window_size_fixed"):
        window.open_window(1920, 1080, True)


def test_nothing_closes_the_window_from_outside(room):
    from kivy.core.window import Window

    assert Window.dispatch("on_request_close") is True


def test_a_mouse_on_the_real_path_presses_a_button_and_is_recorded_and_cannot_close_the_window():
    command = [sys.executable, "-m", "tests.screens.mouse_visit"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.stderr == ""
    assert done.stdout.splitlines() == [
        "said begin",
        "touches [(0.5, True), (1.5, True), (2.5, True), (2.5, False)]",
        "open (1280, 800)",
    ]
