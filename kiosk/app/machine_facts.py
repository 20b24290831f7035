"""Facts of the machine at work: its battery and its time zone.

Linux only: files of /sys and /etc, given as folders so that tests can make their own. Where a file is not
there the fact is not known, which is told as such, never guessed.
"""

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from kiosk.visits.power import Power

SUPPLIES: Final = Path("/sys/class/power_supply")
ETC: Final = Path("/etc")


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


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8", "replace").strip()
    except OSError:
        return ""
