"""Facts of the machine at work: its battery, its time zone and its touch panel.

Linux only: files of /sys and /etc, given as folders so that tests can make their own. Where a file is not
there the fact is not known, which is told as such, never guessed.
"""

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from kiosk.touch.input_device import TouchDevice
from kiosk.visits.passport import PanelIdentity
from kiosk.visits.power import Power

SUPPLIES: Final = Path("/sys/class/power_supply")
ETC: Final = Path("/etc")
INPUTS: Final = Path("/sys/class/input")


def read_power(supplies: Path = SUPPLIES) -> Power:
    """The lowest of the machine's batteries, and whether power comes in; nothing where there is none."""
    percents, statuses, mains = [], [], []
    for supply in sorted(supplies.iterdir()) if supplies.is_dir() else ():
        kind = _text(supply / "type")
        if kind == "Battery" and _text(supply / "scope") != "Device":
            with suppress(ValueError):
                percents.append(float(_text(supply / "capacity")))
            statuses.append(_text(supply / "status"))
        elif kind in ("Mains", "USB"):
            mains.append(_text(supply / "online") == "1")
    if not percents:
        return Power()
    return Power(min(percents), any(mains) or any(one in ("Charging", "Full") for one in statuses))


def zone_name(etc: Path = ETC, environment: Mapping[str, str] = os.environ) -> str:
    """The zone of the place by its IANA name; UTC where the machine does not say."""
    link = etc / "localtime"
    linked = os.readlink(link).partition("zoneinfo/")[2] if link.is_symlink() else ""
    for name in (environment.get("TZ", "").lstrip(":"), linked, _text(etc / "timezone")):
        with suppress(KeyError, ValueError, OSError):
            if name and ZoneInfo(name):
                return name
    return "UTC"


def panel_identity(device: TouchDevice | None, inputs: Path = INPUTS) -> PanelIdentity:
    """What the system says of a touch panel; the version an input device reports stands for its firmware."""
    kernel = f"{os.uname().sysname} {os.uname().release}"
    if device is None:
        return PanelIdentity(kernel=kernel)
    folder = inputs / Path(device.path).name / "device"
    ids = [_text(folder / "id" / name) for name in ("vendor", "product", "version")]
    driver = folder / "device" / "driver"
    return PanelIdentity(device.name, driver.resolve().name if driver.exists() else "",
                         ":".join(one for one in ids[:2] if one), ids[2], kernel)


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8", "replace").strip()
    except OSError:
        return ""
