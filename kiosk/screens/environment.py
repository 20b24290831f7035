"""Kivy's environment: no arguments, no files, no log of its own, Pillow for text. Imports nothing of Kivy."""

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
    """Set it, with a Kivy folder that goes with the process; what Kivy logs goes nowhere."""
    os.environ.update(_ENVIRONMENT)
    toolkit_log = logging.getLogger("kivy")
    toolkit_log.addHandler(logging.NullHandler())
    toolkit_log.propagate = False
    if "KIVY_HOME" not in os.environ:
        os.environ["KIVY_HOME"] = _own_folder().name


@cache
def _own_folder() -> "TemporaryDirectory[str]":
    return TemporaryDirectory(prefix="kiosk-kivy-")
