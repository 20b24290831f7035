"""Boxes on the glass in millimetres: origin at the window's centre (the field's centre), y up."""

from dataclasses import dataclass

from kiosk.screens.theme import margin_mm
from kiosk.touch.calibration import Calibration

_TOUCHING_MM = 1e-6


@dataclass(frozen=True)
class Box:
    """A rectangle in mm."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """Its top edge."""
        return self.bottom + self.height

    @property
    def x(self) -> float:
        """Its centre, across."""
        return self.left + self.width / 2

    @property
    def y(self) -> float:
        """Its centre, up."""
        return self.bottom + self.height / 2

    def holds(self, other: "Box", slack_mm: float = 0.0) -> bool:
        """Whether the other lies inside, give or take the slack."""
        return (other.left >= self.left - slack_mm and other.right <= self.right + slack_mm
                and other.bottom >= self.bottom - slack_mm and other.top <= self.top + slack_mm)

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share any area; boxes that touch do not."""
        return (min(self.right, other.right) - max(self.left, other.left) > _TOUCHING_MM
                and min(self.top, other.top) - max(self.bottom, other.bottom) > _TOUCHING_MM)


def around(x: float, y: float, width: float, height: float) -> Box:
    """The box of this size about a centre.

    >>> around(0, 0, 150, 125)
    Box(left=-75.0, bottom=-62.5, width=150, height=125)
    """
    return Box(x - width / 2, y - height / 2, width, height)


@dataclass(frozen=True)
class Glass:
    """The window on the glass in mm, and its margin."""

    calibration: Calibration

    @property
    def box(self) -> Box:
        """The whole window."""
        calibration = self.calibration
        return around(0.0, 0.0, calibration.window_width_px / calibration.px_per_mm_x,
                      calibration.window_height_px / calibration.px_per_mm_y)

    @property
    def margin(self) -> float:
        """Free edge around staff screens, and below the person's buttons."""
        return margin_mm(self.box.width)

    @property
    def stop(self) -> float:
        """Free edge around Stop: centred in the rail beside the field, at most the margin."""
        return min((self.box.width - 150.0) / 2 - 28.0, 2 * self.margin) / 2

    def px(self, x: float, y: float) -> tuple[float, float]:
        """Window pixels of a point."""
        x_px, y_px = self.calibration.to_px(x, y)
        return float(x_px), float(y_px)

    def size_px(self, width: float, height: float) -> tuple[float, float]:
        """Lengths across and up in pixels."""
        return self.calibration.length_px_x(width), self.calibration.length_px_y(height)
