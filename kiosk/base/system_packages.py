"""The one list of system packages, by Debian's names: what each is for, and how it is found to be there.

Presence is asked of the thing itself (a library that loads, a program on the path), never of the package
manager: it may have come another way. Libraries are looked for on Linux only; wheels for other systems
bring their own.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum
from glob import glob

ADMINISTRATORS_PATH = ("/usr/sbin", "/sbin", "/usr/local/sbin")


class Use(Enum):
    """What a system package is needed to do."""

    SET_UP = "to set up"
    WINDOW = "to draw in a window"
    KIOSK = "for what a kiosk does beside drawing"
    TESTS = "to test"
    BARE = "to try a bare system"


@dataclass(frozen=True)
class SystemPackage:
    """A package, the use it belongs to, what needs it, and whether that is there already."""

    name: str
    use: Use
    needed_for: str
    is_there: Callable[[], bool]


def has_program(*names: str) -> Callable[[], bool]:
    """Whether all these programs are on the path, an administrator's programs included."""
    return lambda: all(program(name) for name in names)


def program(name: str) -> str | None:
    """Where a program lies; None where it is not installed."""
    places = os.pathsep.join((os.environ.get("PATH", os.defpath), *ADMINISTRATORS_PATH))
    return shutil.which(name, path=places)


def loads(*libraries: str) -> Callable[[], bool]:
    """Whether all these libraries load; true where they come with the wheels."""
    return lambda: not sys.platform.startswith("linux") or all(map(_loads, libraries))


def _loads(library: str) -> bool:
    import ctypes

    try:
        return bool(ctypes.CDLL(library))
    except OSError:
        return False


def _can_make_environments() -> bool:
    from importlib.util import find_spec

    return bool(find_spec("ensurepip") and find_spec("venv"))


def _has_postgresql() -> bool:
    return program("initdb") is not None or bool(glob("/usr/lib/postgresql/*/bin/initdb"))


SYSTEM_PACKAGES = (
    SystemPackage("python3-venv", Use.SET_UP, "the environment of the wheels", _can_make_environments),
    SystemPackage("libgl1", Use.WINDOW, "drawing (libGL)", loads("libGL.so.1")),
    SystemPackage("libegl1", Use.WINDOW, "drawing off the screen (libEGL)", loads("libEGL.so.1")),
    SystemPackage("libfribidi0", Use.WINDOW, "shaping of text (raqm)", loads("libfribidi.so.0")),
    SystemPackage("libxi6", Use.KIOSK, "touches through the X server", loads("libXi.so.6")),
    SystemPackage("libxrandr2", Use.KIOSK, "the display's own pace and size", loads("libXrandr.so.2")),
    SystemPackage("libasound2", Use.KIOSK, "spoken instructions and tones", loads("libasound.so.2")),
    SystemPackage("cups-client", Use.KIOSK, "printing on paper (lp)", has_program("lp", "lpstat", "cancel")),
    SystemPackage("cups", Use.TESTS, "a print server", has_program("cupsd")),
    SystemPackage("e2fsprogs", Use.TESTS, "a disk that fails (mkfs.ext4)", has_program("mkfs.ext4")),
    SystemPackage("espeak-ng", Use.TESTS, "drafts of spoken instructions", has_program("espeak-ng")),
    SystemPackage("gettext", Use.TESTS, "an outside check of catalogues (msgfmt)", has_program("msgfmt")),
    SystemPackage("git", Use.TESTS, "which files belong to the project", has_program("git")),
    SystemPackage("poppler-utils", Use.TESTS, "a look at pages", has_program("pdftotext", "pdftoppm")),
    SystemPackage("postgresql", Use.TESTS, "a clinic's server", _has_postgresql),
    SystemPackage("xdotool", Use.TESTS, "a hand at the mouse and keyboard", has_program("xdotool")),
    SystemPackage("xvfb", Use.TESTS, "a display to look at", has_program("Xvfb")),
    SystemPackage("mmdebstrap", Use.BARE, "making a minimal system", has_program("mmdebstrap")),
)  # fmt: skip


def missing(*uses: Use) -> list[SystemPackage]:
    """The packages of these uses that are not there."""
    return [one for one in SYSTEM_PACKAGES if one.use in uses and not one.is_there()]


def package(name: str) -> SystemPackage:
    return next(one for one in SYSTEM_PACKAGES if one.name == name)


def apt_line(names: Iterable[str], options: Iterable[str] = ()) -> str:
    """One line that installs packages on a Debian system, whether or not it has lists of packages."""
    apt = " ".join(("apt-get", *options))
    return " ".join((f"{apt} update && {apt} install -y --no-install-recommends", *names))
