"""The calibration: the only place where pixels become millimetres and back.

Window pixels have their origin at the window's bottom left and y up; the field's centre is the window's
centre, and millimetres count from there. Raw values are fractions of the panel between its edges, so that an
axis may run either way and the window need not cover the panel. Decision trials-4.
"""

from dataclasses import dataclass
from math import isfinite
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges, Floats, RawTouch, Samples, WindowRect

Panel = Literal["A", "B"]


@dataclass(frozen=True)
class Calibration:
    """Pixels per millimetre in both axes, for a window of this size in pixels."""

    px_per_mm_x: float
    px_per_mm_y: float
    window_width_px: int
    window_height_px: int

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if not (isfinite(value) and value > 0):
                raise ValueError(f"{name} must be a finite number above 0, got {value!r}")

    def to_mm(self, raw: RawTouch) -> tuple[Floats, Floats]:
        """The positions of a raw touch (x_mm, y_mm), each (n,)."""
        return self.point_mm(raw.x_raw, raw.y_raw, raw.ranges, raw.window)

    def point_mm(self, x_raw: ArrayLike, y_raw: ArrayLike, ranges: AxisRanges,
                 window: WindowRect) -> tuple[Floats, Floats]:
        """Raw positions in mm, in the shape given.

        Refused `calibration_for_other_window` where the window is not of the calibrated size.
        """
        self._check_window(window)
        x_px = _fraction(x_raw, ranges.left, ranges.right) * window.panel_width_px - window.left_px
        y_px = _fraction(y_raw, ranges.bottom, ranges.top) * window.panel_height_px - window.bottom_px
        return ((x_px - self.window_width_px / 2) / self.px_per_mm_x,
                (y_px - self.window_height_px / 2) / self.px_per_mm_y)

    def to_raw(self, x_mm: ArrayLike, y_mm: ArrayLike, ranges: AxisRanges,
               window: WindowRect) -> tuple[Floats, Floats]:
        """Raw positions of points in mm: the inverse of point_mm, for simulated fingers."""
        self._check_window(window)
        x_px, y_px = self.to_px(x_mm, y_mm)
        across = (x_px + window.left_px) / window.panel_width_px
        up = (y_px + window.bottom_px) / window.panel_height_px
        return (ranges.left + across * (ranges.right - ranges.left),
                ranges.bottom + up * (ranges.top - ranges.bottom))

    def samples(self, raw: RawTouch, set_off_ns: int) -> Samples:
        """A raw touch in mm, and in seconds since set_off_ns."""
        x_mm, y_mm = self.to_mm(raw)
        return Samples((raw.t_ns - set_off_ns) / 1e9, x_mm, y_mm, raw.contact)

    def to_px(self, x_mm: ArrayLike, y_mm: ArrayLike) -> tuple[Floats, Floats]:
        """Window pixels of points in mm (pixels are not rounded)."""
        return (np.asarray(x_mm, dtype=np.float64) * self.px_per_mm_x + self.window_width_px / 2,
                np.asarray(y_mm, dtype=np.float64) * self.px_per_mm_y + self.window_height_px / 2)

    def length_px_x(self, length_mm: float) -> float:
        """A horizontal length in pixels."""
        return length_mm * self.px_per_mm_x

    def length_px_y(self, length_mm: float) -> float:
        """A vertical length in pixels."""
        return length_mm * self.px_per_mm_y

    def _check_window(self, window: WindowRect) -> None:
        size_px = (self.window_width_px, self.window_height_px)
        if (window.width_px, window.height_px) != size_px:
            raise Refused("calibration_for_other_window", {
                "calibrated_px": size_px, "window_px": (window.width_px, window.height_px)})


def _fraction(raw: ArrayLike, at_start: float, at_end: float) -> Floats:
    if at_start == at_end:
        raise ValueError(f"axis range must have two different ends, got {at_start!r} and {at_end!r}")
    return (np.asarray(raw, dtype=np.float64) - at_start) / (at_end - at_start)


PANEL_A: Final = Calibration(5.88, 5.88, 1280, 800)   # 10.1 inch
PANEL_B: Final = Calibration(5.56, 5.56, 1920, 1080)  # 15.6 inch


def nominal(panel: Panel) -> Calibration:
    """The calibration of a panel by its data sheet, before it is measured."""
    return {"A": PANEL_A, "B": PANEL_B}[panel]


def full_window(calibration: Calibration) -> WindowRect:
    """A window that covers the whole panel."""
    width_px, height_px = calibration.window_width_px, calibration.window_height_px
    return WindowRect(0, 0, width_px, height_px, width_px, height_px)
