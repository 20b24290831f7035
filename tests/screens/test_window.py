"""Where a window may be opened."""

import subprocess
import sys

import pytest

from kiosk.base.errors import MissingSystemPackages, Refused
from kiosk.base.system_packages import package
from kiosk.screens import window
from tests.sources import ROOT


def test_a_window_without_a_display_is_refused_not_drawn_invisibly(monkeypatch):
    monkeypatch.setattr(window.sys, "platform", "linux")
    with pytest.raises(Refused, match="no_display"):
        window.prepare(False, {})


def test_without_what_shapes_text_no_window_opens(monkeypatch):
    monkeypatch.setattr(window, "missing", lambda use: [package("libfribidi0")])
    with pytest.raises(MissingSystemPackages) as refused:
        window.open_window(1280, 800, True)
    assert refused.value.values["names"] == ("libfribidi0",)
    assert not window.can_draw()


def test_a_display_or_drawing_off_the_screen_is_enough(monkeypatch):
    monkeypatch.setattr(window.sys, "platform", "linux")
    monkeypatch.setenv("SDL_VIDEODRIVER", "offscreen")
    window.prepare(False, {"DISPLAY": ":0"})
    assert window.os.environ["SDL_VIDEODRIVER"] == "x11"
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
        "said CourseAction.BEGIN",
        "touches [(0.5, True), (1.5, True), (2.5, True), (2.5, False)]",
        "open (1280, 800)",
    ]


class FakeWindow:
    """A window whose frames take these times in ms, in turn."""

    def __init__(self, took_ms):
        self.now_ns, self._took_ms, self._count = 0, took_ms, 0

    def flip(self):
        self.now_ns += round(self._took_ms[self._count % len(self._took_ms)] * 1e6)
        self._count += 1


@pytest.mark.parametrize(("took_ms", "told_hz", "refresh_hz"), [
    ([16.6, 16.7], None, 60.0), ([16.7], 60.0, 60.0), ([16.68], 59.94, 59.94), ([8.33], 120.0, 120.0),
    ([33.3], 60.0, 30.0),              # waits for every second refresh: what is seen counts
    ([0.12, 0.15, 0.3], 60.0, None),   # as on a virtual display: nothing waits
    ([11.0, 14.0, 10.0, 13.0], None, None), ([11.0, 14.0, 10.0, 13.0], 75.0, None),
])
def test_a_refresh_rate_is_what_the_display_says_or_a_wait_proves(monkeypatch, took_ms, told_hz, refresh_hz):
    shown = FakeWindow(took_ms)
    monkeypatch.setattr(window, "_refresh_told", lambda: told_hz)
    found = window.refresh_waited_for(shown, lambda: shown.now_ns)
    assert found == (None if refresh_hz is None else pytest.approx(refresh_hz, rel=0.002))
