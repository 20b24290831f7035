"""A tablet's passport: everything that was measured of it, what changed since the time before, and its kind.

Milliseconds, millimetres, hertz, as in the measurements. A measurement that was never made is not there.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from kiosk.touch.verdict import DeviceReason, Verdict
from kiosk.visits.device_record import Device


class MeasuredBy(StrEnum):
    """What was done to find it."""

    CARD = "card"
    PANEL = "panel"
    CROSSES = "crosses"
    LINES = "lines"
    FILM = "film"
    SLIDE = "slide"


@dataclass(frozen=True)
class Measurement:
    """One measurement as it was kept: when, by whom, its figures by name, its verdict where it has one."""

    by: MeasuredBy
    made_at: datetime
    made_by: str
    figures: Mapping[str, float]
    verdict: Verdict | None = None
    reasons: tuple[DeviceReason, ...] = ()


@dataclass(frozen=True)
class PanelIdentity:
    """What the system says of the touch panel and of itself; empty where it says nothing."""

    name: str = ""
    driver: str = ""
    vendor_product: str = ""
    firmware: str = ""
    kernel: str = ""


@dataclass(frozen=True)
class FigureChange:
    """A figure that is not as it was at the measurement before."""

    by: MeasuredBy
    figure: str
    before: float
    now: float
    before_at: datetime


@dataclass(frozen=True)
class Passport:
    """The newest measurement of each kind; proposed_class is a name for tablets of this kind."""

    device: Device
    panel: PanelIdentity
    proposed_class: str
    newest: tuple[Measurement, ...]
    changes: tuple[FigureChange, ...]


def make_passport(device: Device, panel: PanelIdentity, measured: Sequence[Measurement]) -> Passport:
    """The passport from every measurement of the tablet, oldest first."""
    newest, changes = [], []
    for by in MeasuredBy:
        of_kind = [one for one in measured if one.by is by]
        newest += of_kind[-1:]
        if len(of_kind) > 1:
            changes += _changes(of_kind[-2], of_kind[-1])
    return Passport(device, panel, proposed_class(device, panel), tuple(newest), tuple(changes))


def _changes(before: Measurement, now: Measurement) -> list[FigureChange]:
    return [FigureChange(now.by, name, before.figures[name], value, before.made_at)
            for name, value in now.figures.items() if before.figures.get(name, value) != value]


def proposed_class(device: Device, panel: PanelIdentity) -> str:
    """A device class that tablets of one make share: panel, firmware and resolution; else the one it has.

    >>> from uuid import UUID
    >>> tablet = Device(UUID(int=1), "ten_inch", "", "", "", 1280, 800)
    >>> proposed_class(tablet, PanelIdentity("Invented Panel 10", firmware="0102"))
    'invented_panel_10_0102_1280x800'
    >>> proposed_class(tablet, PanelIdentity())
    'ten_inch'
    """
    name = re.sub(r"[^a-z0-9]+", "_", f"{panel.name} {panel.firmware}".lower()).strip("_")
    return f"{name}_{device.panel_px_w}x{device.panel_px_h}" if name else device.device_class
