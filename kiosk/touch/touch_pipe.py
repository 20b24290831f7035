"""A named pipe in place of a touch panel: another process writes the kernel's event bytes into it.

For a panel whose driver is a program, and for tests from outside. A pipe answers no questions, so its ranges
are given; the stamps are the writer's, on the monotonic clock. Device units.
"""

import os
from collections.abc import Sequence
from pathlib import Path
from stat import S_ISFIFO
from typing import Final

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges
from kiosk.touch.input_device import OpenDevice, TouchDevice

SLOTS: Final = 10  # contacts told apart; what a writer numbers higher is read all the same


def pipe_device(path: Path, ranges: Sequence[float]) -> TouchDevice:
    """The panel behind a pipe, with the values at its left, right, bottom and top edge.

    Refused `no_touch_pipe` where the path is no named pipe.
    """
    try:
        is_pipe = S_ISFIFO(path.stat().st_mode)
    except OSError:
        is_pipe = False
    if not is_pipe:
        raise Refused("no_touch_pipe", {"file": path.name})
    left, right, bottom, top = ranges
    return TouchDevice(path.name, str(path), AxisRanges(left, right, bottom, top), None, True, SLOTS)


def open_pipe(device: TouchDevice) -> OpenDevice:
    """Open for reading, whether or not a writer is there yet; OSError where the pipe is gone."""
    return OpenDevice(os.open(device.path, os.O_RDONLY | os.O_NONBLOCK), device)
