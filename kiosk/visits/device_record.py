"""What is known of the tablet: its class, its latency, its calibration. Pixels, millimetres, milliseconds."""

from dataclasses import dataclass
from uuid import UUID


@dataclass(frozen=True)
class Device:
    """A tablet. device_class is the panel kind named by the site; `simulated` is reserved."""

    id: UUID
    device_class: str
    label: str
    placement: str
    protector: str
    panel_px_w: int
    panel_px_h: int
    input_fuzz: float | None = None
    serial_sha256: str | None = None
    latency_ms: float | None = None
    latency_sd_ms: float | None = None
    latency_method: str | None = None


@dataclass(frozen=True)
class CalibrationRecord:
    """A stored calibration: pixels a millimetre in both axes, and how it was found."""

    id: UUID
    device_id: UUID
    method: str
    px_per_mm_x: float
    px_per_mm_y: float
    window_px_w: int
    window_px_h: int
    readings: tuple[float, ...] = ()
    display: str = ""

    def fits(self, display: str, window_px: tuple[int, int]) -> bool:
        """Whether it still holds: the same display, and a window of the size it was found for.

        A resolution of which the window is only a part belongs in the display's name.
        """
        return (self.display, self.window_px_w, self.window_px_h) == (display, *window_px)
