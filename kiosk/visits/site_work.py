"""What the site lead measures, loads and looks at: the tablet's work in progress, tables, backups.

Pixels and millimetres until a measurement is kept.
"""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from kiosk.touch.card_calibration import CardReading, Measured
from kiosk.touch.cross_check import CrossCheck
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.latency import DeviceLatency
from kiosk.visits.tablet_checks import TabletChecks
from norms import Refusal


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


@dataclass(frozen=True)
class Backups:
    """Copies of the store as the site lead sees them. newest: when the last good one was made, local time.

    running: one is being made. trouble: why the last one was not made, and when it was tried.
    """

    newest: datetime | None = None
    kept: int = 0
    folder: str = ""
    running: bool = False
    trouble: Refusal | None = None
    tried: datetime | None = None
