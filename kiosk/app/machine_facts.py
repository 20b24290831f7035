"""Facts of the machine at work: its battery, its time zone, and what only the operating system can close.

Linux only: files of /sys and /etc, given as folders so that tests can make their own. Where a file is not
there the fact is not known, which is told as such, never guessed.
"""

import os
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal
from zoneinfo import ZoneInfo

from kiosk.visits.power import Power

SUPPLIES: Final = Path("/sys/class/power_supply")
ETC: Final = Path("/etc")
State = Literal["closed", "open", "not_known"]


@dataclass(frozen=True)
class SiteFinding:
    """One way out of the kiosk that the operating system must close, and how it stands here."""

    code: str
    state: State


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


def site_findings(etc: Path = ETC, environment: Mapping[str, str] = os.environ) -> tuple[SiteFinding, ...]:
    """Every way out that the kiosk itself cannot close."""
    checks: tuple[tuple[str, Callable[[Path, Mapping[str, str]], bool | None]], ...] = (
        ("virtual_terminals", _no_terminals), ("server_kill_key", _no_zap), ("magic_keys", _no_magic_keys),
        ("screen_blanking", _no_blanking), ("autologin", _autologin), ("window_manager", _no_desktop),
        ("own_user", _own_user), ("spool_kept", _spool_dropped), ("usb_storage", _no_automount))
    return tuple(SiteFinding(code, _state(check(etc, environment))) for code, check in checks)


def _state(closed: bool | None) -> State:
    return "not_known" if closed is None else "closed" if closed else "open"


def _no_terminals(etc: Path, environment: Mapping[str, str]) -> bool:
    """Control, Alt and a function key lead to a log-in unless the display server is told not to."""
    return _server_option(etc, "DontVTSwitch")


def _no_zap(etc: Path, environment: Mapping[str, str]) -> bool:
    """Control, Alt and Backspace end the display server unless told not to."""
    return _server_option(etc, "DontZap")


def _no_blanking(etc: Path, environment: Mapping[str, str]) -> bool:
    """The display goes dark by itself unless its times are set to 0."""
    found = [re.search(rf'"{name}"\s+"0"', text, re.IGNORECASE) for text in _server_files(etc)
             for name in ("BlankTime", "StandbyTime", "OffTime")]
    return sum(one is not None for one in found) >= 3


def _no_magic_keys(etc: Path, environment: Mapping[str, str]) -> bool:
    """Keys that reach the kernel itself are off where sysctl says 0."""
    values = [found for path in (*_files(etc, "sysctl.d", "*.conf"), etc / "sysctl.conf")
              for found in re.findall(r"^\s*kernel\.sysrq\s*=\s*(\d+)", _text(path), re.MULTILINE)]
    return values[-1:] == ["0"]


def _autologin(etc: Path, environment: Mapping[str, str]) -> bool:
    """The kiosk's user is logged in and the kiosk started without a keyboard after a restart."""
    texts = [_text(path) for path in (*_files(etc, "lightdm", "*.conf"), *_files(etc, "gdm3", "*.conf"),
                                      *_files(etc, "systemd/system/getty@tty1.service.d", "*.conf"))]
    return any(re.search(r"^\s*(autologin-user\s*=|AutomaticLogin\s*=)|--autologin", text, re.MULTILINE)
               for text in texts)


def _no_desktop(etc: Path, environment: Mapping[str, str]) -> bool | None:
    """A desktop around the kiosk has gestures and keys of its own."""
    desktop = environment.get("XDG_CURRENT_DESKTOP", "")
    return None if not environment.get("DISPLAY") else not desktop


def _own_user(etc: Path, environment: Mapping[str, str]) -> bool | None:
    """The kiosk runs as a user of its own, not as the administrator."""
    return os.geteuid() != 0 if hasattr(os, "geteuid") else None


def _spool_dropped(etc: Path, environment: Mapping[str, str]) -> bool | None:
    """The print server keeps the data of printed jobs for a day unless told not to."""
    text = _text(etc / "cups" / "cupsd.conf")
    if not text:
        return None
    dropped = r"^\s*PreserveJobFiles\s+(No|Off|False)\b"
    return re.search(dropped, text, re.MULTILINE | re.IGNORECASE) is not None


def _no_automount(etc: Path, environment: Mapping[str, str]) -> bool:
    """What is plugged in is opened by a desktop unless usb-storage is blocked."""
    texts = [_text(path) for path in _files(etc, "modprobe.d", "*.conf")]
    return any(re.search(r"^\s*(blacklist usb[-_]storage|install usb[-_]storage\s+/bin/(true|false))", text,
                         re.MULTILINE) for text in texts)


def _server_option(etc: Path, name: str) -> bool:
    pattern = rf'^\s*Option\s+"{name}"\s+"(true|on|yes|1)"'
    return any(re.search(pattern, text, re.MULTILINE | re.IGNORECASE) for text in _server_files(etc))


def _server_files(etc: Path) -> Iterator[str]:
    for path in (etc / "X11" / "xorg.conf", *_files(etc, "X11/xorg.conf.d", "*.conf")):
        yield _text(path)


def _files(etc: Path, folder: str, pattern: str) -> list[Path]:
    return sorted((etc / folder).glob(pattern))


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8", "replace").strip()
    except OSError:
        return ""
