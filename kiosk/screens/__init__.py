"""Screens: the only package that knows Kivy. Millimetres become pixels here through the calibration.

    stage      one window: shows a step's screen, draws frames, reports what the person does
    window     the window itself: size, display, settings; refused without a display
    person, in_field, results, staff_*   the screens;  parts, buttons, target, hand   what they are made of
    painter, figures, text, alpha        drawing in mm;  theme, fade                  numbers alone
    input      touches of a trial, a simulated finger, keyboard;  sounds   tones and speech
    pictures   every screen as a PNG;  walk   whether every screen's words fit

Kivy reads its environment when it is first imported anywhere, so it is fixed here before that: no arguments,
no files, no log of its own, Pillow for text.
"""

import logging
import os
from functools import cache
from tempfile import TemporaryDirectory
from typing import Final

_ENVIRONMENT: Final = {
    "KIVY_NO_ARGS": "1", "KIVY_NO_FILELOG": "1", "KIVY_NO_CONSOLELOG": "1", "KIVY_NO_CONFIG": "1",
    "KIVY_LOG_MODE": "PYTHON", "KIVY_TEXT": "pil",
    "KCFG_GRAPHICS_MAXFPS": "0", "KCFG_GRAPHICS_MULTISAMPLES": "0",  # read once, early: by clock and window
}


def fix_environment() -> None:
    """Set the environment and a Kivy folder that is removed with the process; Kivy logs nothing."""
    os.environ.update(_ENVIRONMENT)
    toolkit_log = logging.getLogger("kivy")
    toolkit_log.addHandler(logging.NullHandler())
    toolkit_log.propagate = False
    if "KIVY_HOME" not in os.environ:
        os.environ["KIVY_HOME"] = _own_folder().name


@cache
def _own_folder() -> "TemporaryDirectory[str]":
    return TemporaryDirectory(prefix="kiosk-kivy-")


fix_environment()
