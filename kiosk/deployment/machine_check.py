"""Every way out of the kiosk that only the operating system can close, and how it stands on this machine.

Linux only: configuration files below a root folder, so that tests can make their own. Where a file is not
there the fact is not known, which is told as such, never guessed. The folders are read in the order their
programs read them: of files with one name the one in /etc holds, and later names overrule earlier ones.
"""

import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path
from typing import Final

ROOT: Final = Path("/")
UNIT: Final = "pursuit-kiosk.service"
DISPLAY_MANAGER: Final = "etc/systemd/system/display-manager.service"
SERVER_FOLDERS: Final = ("usr/share/X11/xorg.conf.d", "etc/X11/xorg.conf.d")
UNIT_FOLDERS: Final = ("usr/lib/systemd/system", "etc/systemd/system")


class State(Enum):
    """How a way out stands."""

    CLOSED = "closed"
    OPEN = "open"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True)
class SiteFinding:
    """One way out of the kiosk that the operating system must close, and how it stands here."""

    code: str
    state: State


@dataclass(frozen=True)
class Machine:
    """Where the machine's files are, and the environment of who asks."""

    root: Path = ROOT
    environment: Mapping[str, str] = field(default_factory=lambda: os.environ)

    def text(self, path: str) -> str:
        """A file's text; empty where it cannot be read."""
        try:
            return (self.root / path).read_text("utf-8", "replace").strip()
        except OSError:
            return ""

    def layered(self, folder: str, pattern: str = "*.conf") -> Iterator[str]:
        """The texts of /usr/lib/FOLDER, /run/FOLDER and /etc/FOLDER in the order of their names."""
        found = {path.name: path for place in ("usr/lib", "run", "etc")
                 for path in (self.root / place / folder).glob(pattern)}
        return (self.text(str(path.relative_to(self.root))) for _, path in sorted(found.items()))

    def texts(self, folder: str) -> Iterator[str]:
        """The texts of the .conf files of one folder in the order of their names."""
        for path in sorted((self.root / folder).glob("*.conf")):
            yield self.text(str(path.relative_to(self.root)))

    def unit_is_there(self) -> bool:
        """Whether the kiosk's own unit is installed."""
        return any((self.root / folder / UNIT).is_file() for folder in UNIT_FOLDERS)

    def unit_starts(self) -> bool:
        """Whether the kiosk's own unit is started when the machine is."""
        wanted = (self.root / "etc/systemd/system").glob("*.target.wants")
        return self.unit_is_there() and any((folder / UNIT).is_symlink() for folder in wanted)

    def masked(self, unit: str) -> bool:
        """Whether a unit is a link to nowhere, so that nothing can start it."""
        return any((self.root / folder / unit).is_symlink()
                   and os.readlink(self.root / folder / unit) == os.devnull for folder in UNIT_FOLDERS)


def site_findings(machine: Machine) -> tuple[SiteFinding, ...]:
    """Every way out that the kiosk itself cannot close."""
    return tuple(SiteFinding(code, _state(check(machine))) for code, check in CHECKS.items())


def _state(closed: bool | None) -> State:
    return State.NOT_KNOWN if closed is None else State.CLOSED if closed else State.OPEN


def _no_switching(machine: Machine) -> bool:
    """Control, Alt and a function key lead to another console unless the display server is told not to."""
    return _server_option(machine, "DontVTSwitch")


def _no_consoles(machine: Machine) -> bool:
    """A log-in waits on the other consoles unless systemd is told to start none."""
    none_reserved = all(_logind(machine, name) == "0" for name in ("NAutoVTs", "ReserveVT"))
    return none_reserved and machine.masked("getty@tty1.service")


def _logind(machine: Machine, name: str) -> str:
    texts = (machine.text("etc/systemd/logind.conf"), *machine.layered("systemd/logind.conf.d"))
    found = [value for text in texts for value in re.findall(rf"^\s*{name}\s*=\s*(\S+)", text, re.MULTILINE)]
    return found[-1] if found else ""


def _no_zap(machine: Machine) -> bool:
    """Control, Alt and Backspace end the display server unless told not to."""
    return _server_option(machine, "DontZap")


def _no_blanking(machine: Machine) -> bool:
    """The display goes dark by itself unless its times are set to 0."""
    texts = list(_server_texts(machine))
    return all(any(re.search(rf'"{name}"\s+"0"', text, re.IGNORECASE) for text in texts)
               for name in ("BlankTime", "StandbyTime", "OffTime"))


def _no_magic_keys(machine: Machine) -> bool:
    """Keys that reach the kernel itself are off where sysctl says 0."""
    texts = (*machine.layered("sysctl.d"), machine.text("etc/sysctl.conf"))
    values = [found for text in texts
              for found in re.findall(r"^\s*-?kernel[./]sysrq\s*=\s*(\d+)", text, re.MULTILINE)]
    return values[-1:] == ["0"]


def _starts_alone(machine: Machine) -> bool:
    """After a restart the kiosk is there without a keyboard: by its unit, or by a log-in without a word."""
    folders = ("etc/lightdm", "etc/lightdm/lightdm.conf.d", "etc/gdm3",
               "etc/systemd/system/getty@tty1.service.d")
    without_a_word = r"^\s*(autologin-user\s*=|AutomaticLogin\s*=)|--autologin"
    return machine.unit_starts() or any(re.search(without_a_word, text, re.MULTILINE)
                                        for folder in folders for text in machine.texts(folder))


def _no_desktop(machine: Machine) -> bool | None:
    """A desktop around the kiosk has gestures and keys of its own; its unit runs without one."""
    if machine.unit_starts():
        return not (machine.root / DISPLAY_MANAGER).is_symlink()
    desktop = machine.environment.get("XDG_CURRENT_DESKTOP", "")
    return None if not machine.environment.get("DISPLAY") else not desktop


def _own_user(machine: Machine) -> bool | None:
    """The kiosk runs as a user of its own, not as the administrator."""
    if machine.unit_is_there():
        return True
    return os.geteuid() != 0 if hasattr(os, "geteuid") else None


def _spool_dropped(machine: Machine) -> bool | None:
    """The print server keeps the data of printed jobs for a day unless told not to."""
    text = machine.text("etc/cups/cupsd.conf")
    if not text:
        return None
    said = re.findall(r"^\s*PreserveJobFiles\s+(\S+)", text, re.MULTILINE | re.IGNORECASE)
    return [one.lower() in ("no", "off", "false") for one in said[-1:]] == [True]


def _no_plugged_storage(machine: Machine) -> bool:
    """What is plugged in is opened by a desktop unless usb-storage is blocked."""
    blocked = r"^\s*(blacklist usb[-_]storage|install usb[-_]storage\s+(/usr)?/bin/(true|false))"
    return any(re.search(blocked, text, re.MULTILINE) for text in machine.layered("modprobe.d"))


def _server_option(machine: Machine, name: str) -> bool:
    pattern = rf'^\s*Option\s+"{name}"\s+"(true|on|yes|1)"'
    return any(re.search(pattern, text, re.MULTILINE | re.IGNORECASE) for text in _server_texts(machine))


def _server_texts(machine: Machine) -> Iterator[str]:
    yield machine.text("etc/X11/xorg.conf")
    for folder in SERVER_FOLDERS:
        yield from machine.texts(folder)


CHECKS: Final[Mapping[str, Callable[[Machine], bool | None]]] = {
    "virtual_terminals": _no_switching, "consoles": _no_consoles, "server_kill_key": _no_zap,
    "magic_keys": _no_magic_keys, "screen_blanking": _no_blanking, "autologin": _starts_alone,
    "window_manager": _no_desktop, "own_user": _own_user, "spool_kept": _spool_dropped,
    "usb_storage": _no_plugged_storage}
