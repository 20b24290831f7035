"""The window on the glass in millimetres: origin at its centre (the field's centre), y up."""

from dataclasses import dataclass

from kiosk.figures.marks import Box, around
from kiosk.screens.theme import margin_mm
from kiosk.touch.calibration import Calibration


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
