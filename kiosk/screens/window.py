"""The window: where it is drawn, Kivy's settings before it opens, no way out of the kiosk.

All input providers are taken out, so that exactly the source the caller names feeds the window.
"""

import os
import sys
from itertools import pairwise
from pathlib import Path
from statistics import median, quantiles
from typing import TYPE_CHECKING, Final

from kiosk.base.errors import MissingSystemPackages, Refused
from kiosk.base.system_packages import Use, missing

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kivy.core.window import WindowBase


MOUSE: Final = "mouse,disable_multitouch"
FRAMES_TIMED: Final = 24
FRAMES_LEFT_OUT: Final = 4
EVEN_WITHIN: Final = 0.1                       # share of an interval
SLOWEST_HZ, FASTEST_HZ = 20.0, 300.0
_GRAPHICS: Final = {
    "resizable": "0", "borderless": "1", "allow_screensaver": "0",
    "position": "custom", "left": "0", "top": "0", "shaped": "0",
}


def prepare(offscreen: bool, environment: "Mapping[str, str] | None" = None) -> None:
    """Set Kivy's environment; refused `no_display` where a window is wanted and there is nowhere to show it.

    Without that check the toolkit would run invisibly. `environment` is os.environ where not given.
    """
    if not offscreen and not has_display(os.environ if environment is None else environment):
        raise Refused("no_display")
    os.environ["SDL_NO_SIGNAL_HANDLERS"] = "1"  # or Ctrl-C and SIGTERM would end nothing
    if offscreen:
        os.environ["SDL_VIDEODRIVER"] = "offscreen"
    elif sys.platform.startswith("linux"):
        os.environ["SDL_VIDEODRIVER"] = "x11"


def has_display(environment: "Mapping[str, str]") -> bool:
    """Whether there is a display to show a window on (Windows and macOS always have one)."""
    return not sys.platform.startswith("linux") or bool(environment.get("DISPLAY"))


def draws_offscreen(environment: "Mapping[str, str]") -> bool:
    """Whether the environment asks for drawing that nobody sees, as tests do."""
    return environment.get("SDL_VIDEODRIVER") == "offscreen"


def can_draw() -> bool:
    """Whether this machine has the libraries that windows are drawn and their text is shaped with."""
    return not missing(Use.WINDOW)


def open_window(width_px: int, height_px: int, offscreen: bool, *, fullscreen: bool = False,
                touch_device: str = "", any_size: bool = False) -> "WindowBase":
    """The one window of the process, of this size in pixels, started and empty.

    `touch_device` is one input source in the toolkit's own notation ("mouse,disable_multitouch"), none
    where it is empty. A full screen has the display's size, and a window that is open keeps its size; refused
    `window_size_fixed` for another, unless any size will do.
    """
    if lacking := missing(Use.WINDOW):
        raise MissingSystemPackages([one.name for one in lacking])
    prepare(offscreen)
    _configure(width_px, height_px, fullscreen, touch_device)
    from kivy.base import EventLoop, runTouchApp
    from kivy.core.window import Window

    if Window is None:
        raise Refused("no_window")
    opened = EventLoop.status != "started"
    for shown in list(Window.children):
        Window.remove_widget(shown)
    if opened:
        runTouchApp(embedded=True)
        Window.bind(on_request_close=lambda *_, **__: True)
    if not any_size and not (opened and fullscreen) and tuple(Window.size) != (width_px, height_px):
        sizes = {"window_px": tuple(Window.size), "wanted_px": (width_px, height_px)}
        raise Refused("window_size_fixed", sizes)
    return Window


def refresh_waited_for(window: "WindowBase", now_ns: "Callable[[], int]") -> float | None:
    """The refresh rate (Hz) of a display that drawing waits for; None where nothing waits.

    What the display says of itself counts where frames keep to it. Where it says nothing, a wait is proved
    by frames that come at even intervals though nothing is drawn: where nothing waits they come as fast as
    they can.
    """
    interval_s = _frame_intervals_s(window, now_ns)
    tenths = quantiles(interval_s, n=10)
    middle_s, spread_s = median(interval_s), tenths[-1] - tenths[0]
    if spread_s > EVEN_WITHIN * middle_s or not SLOWEST_HZ * middle_s <= 1.0 <= FASTEST_HZ * middle_s:
        return None
    told_hz = _refresh_told()
    return told_hz if told_hz and abs(told_hz * middle_s - 1.0) < EVEN_WITHIN else 1.0 / middle_s


def _frame_intervals_s(window: "WindowBase", now_ns: "Callable[[], int]") -> list[float]:
    """Seconds between frames that show nothing new, the first ones left out."""
    at_ns = []
    for _ in range(FRAMES_TIMED + FRAMES_LEFT_OUT + 1):
        window.flip()
        at_ns.append(now_ns())
    return [(later - earlier) / 1e9 for earlier, later in pairwise(at_ns)][FRAMES_LEFT_OUT:]


def _refresh_told() -> float | None:
    """What the display says of itself, from the SDL library that the toolkit has loaded; None if nothing."""
    import ctypes

    import kivy

    folder = Path(kivy.__file__).parents[1]
    for library in (*folder.glob("[Kk]ivy.libs/libSDL2-2*"), *folder.glob("kivy/.dylibs/SDL2*")):
        mode = (ctypes.c_int * 6)()  # SDL_DisplayMode: format, width, height, refresh rate, driver's pointer
        if ctypes.CDLL(str(library)).SDL_GetCurrentDisplayMode(0, mode) == 0 and mode[3] > 0:
            return float(mode[3])
    return None


def _configure(width_px: int, height_px: int, fullscreen: bool, touch_device: str) -> None:
    from kivy.config import Config

    size = {"width": str(width_px), "height": str(height_px)}
    shown = ({"fullscreen": "auto", "show_cursor": "0", "vsync": "1"} if fullscreen
             else {"fullscreen": "0", "vsync": "0"})
    for name, value in (_GRAPHICS | size | shown).items():
        Config.set("graphics", name, value)
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("postproc", "jitter_distance", "0")
    for name, _ in list(Config.items("input")):
        Config.remove_option("input", name)
    if touch_device:
        Config.set("input", touch_device.split(",")[0], touch_device)
