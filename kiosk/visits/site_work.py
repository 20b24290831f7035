"""What the site lead measures, loads and looks at: the tablet's work in progress, tables, backups.

Pixels and millimetres until a measurement is kept.
"""

from dataclasses import dataclass, field
from typing import Literal

from kiosk.glass.card_calibration import CardReading, Measured
from kiosk.glass.cross_check import CrossCheck
from kiosk.glass.device_check import DeviceCheck
from kiosk.glass.latency import DeviceLatency
from kiosk.visits.tablet_checks import TabletChecks


@dataclass(frozen=True)
class TableRow:
    """A reference table: in use, or a folder that may be loaded."""

    name: str
    version: str
    title: str
    status: str
    tested: str
    in_use: bool = False
    folder: str = ""


@dataclass(frozen=True)
class SiteWork:
    """What is being measured of the tablet, in pixels and millimetres, until it is kept."""

    window_px: tuple[int, int] = (1280, 800)
    outline_px: tuple[float, float] = (0.0, 0.0)
    axis: Literal["width", "height"] = "width"
    rounds: tuple[CardReading, ...] = ()
    measured: Measured | None = None
    touches_mm: tuple[tuple[float, float], ...] = ()
    crosses: CrossCheck | None = None
    check: DeviceCheck | None = None
    checking: bool = False
    camera_hz: float | None = None
    frames: tuple[float, ...] = ()
    latency: DeviceLatency | None = None
    calibrated: bool = False
    latency_ms: float | None = None
    checks: TabletChecks = field(default_factory=TabletChecks)
