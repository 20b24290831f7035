"""The one list of system packages, by Debian's names: what each is for, and how it is found to be there.

Presence is asked of the thing itself (a library that loads, a program on the path), never of the package
manager: it may have come another way. Libraries are looked for on Linux only; wheels for other systems
bring their own. An administrator's call installs what is missing, anyone else is told one line to run.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from glob import glob

from kiosk.base.set_up_commands import Run
from kiosk.base.set_up_progress import Progress

ADMINISTRATORS_PATH = ("/usr/sbin", "/sbin", "/usr/local/sbin")
APT_INSTALL = ("apt-get", "install", "-y", "--no-install-recommends")
APT_OPTIONS = ("-q", "-o", "APT::Status-Fd=1", "-o", "DPkg::Lock::Timeout=120")
STATUS = re.compile(r"(?:dl|pm)status:(?P<package>[^:]*):(?P<percent>[\d.]+):(?P<words>.*)")
SIZES = re.compile(r"Need to get (?P<size>[\d.,]+ ?[kM]?B)")
DRAWS_IN_A_WINDOW = ("start", "demo", "pictures")


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
    """A package of the list by its name."""
    return next(one for one in SYSTEM_PACKAGES if one.name == name)


@dataclass(frozen=True)
class Call:
    """What somebody asked for on the command line: a module and its arguments."""

    module: str
    arguments: Sequence[str]

    @property
    def is_demo(self) -> bool:
        """Whether it is the demo, which can do without a window."""
        return self.module == "kiosk" and self.arguments[:1] == ["demo"]

    @property
    def uses(self) -> tuple[Use, ...]:
        """What it needs beside an environment."""
        if self.module == "tests.bare":
            return (Use.WINDOW, Use.KIOSK, Use.TESTS, Use.BARE)
        if self.module != "kiosk":
            return (Use.WINDOW, Use.KIOSK, Use.TESTS)
        command = self.arguments[0] if self.arguments else "start"
        if command not in DRAWS_IN_A_WINDOW or "--no-window" in self.arguments:
            return ()
        return (Use.WINDOW, Use.KIOSK) if command == "start" else (Use.WINDOW,)


def prepared(call: Call, is_ready: bool, is_administrator: bool, run: Run, progress: Progress) -> list[str]:
    """The arguments to go on with, once the system's packages are there; exit 3 where they cannot be.

    A demo that lacks nothing but its window goes on without one, and a kiosk without what it can do without.
    """
    absent = missing(*(() if is_ready else (Use.SET_UP,)), *call.uses)
    arguments = list(call.arguments)
    if not absent:
        return arguments
    if is_administrator:
        install(absent, run, progress)
        return arguments
    line = apt_line(one.name for one in absent)
    named = ", ".join(f"{one.name} ({one.needed_for})" for one in absent)
    if {one.use for one in absent} == {Use.KIOSK} and call.module == "kiosk":
        progress.tell(f"Going on without {named}. As an administrator: {line}")
        return arguments
    if {one.use for one in absent} <= {Use.KIOSK, Use.TESTS} and program("apt-get") is None:
        progress.tell(f"Going on without {named}: what needs them is left out and named at the end.")
        return arguments
    if {one.use for one in absent} == {Use.WINDOW} and call.is_demo:
        progress.tell(f"Going on without a window. To see one, as an administrator: {line}")
        return [*arguments, "--no-window"]
    print(f"System packages are missing. Run once as an administrator: {line}", file=sys.stderr)
    raise SystemExit(3)


def install(packages: Iterable[SystemPackage], run: Run, progress: Progress) -> None:
    """Install packages of the system, asking nothing, telling how far it is."""
    os.environ["DEBIAN_FRONTEND"] = "noninteractive"
    names = [one.name for one in packages]
    for one in packages:
        progress.tell(f"Installing {one.name}: {one.needed_for}.")
    size = ""

    def hear(line: str) -> None:
        nonlocal size
        if found := SIZES.match(line):
            size = f" ({found['size']})"
        elif found := STATUS.match(line):
            progress.show(f"System packages{size}: {float(found['percent']):.0f} %, {found['words']}")

    run([["dpkg", "--configure", "-a"]], hear)  # an installation that was interrupted goes on
    run([["apt-get", *APT_OPTIONS, "update"]], hear)
    run([[*APT_INSTALL[:1], *APT_OPTIONS, *APT_INSTALL[1:], *names]], hear)


def apt_line(names: Iterable[str]) -> str:
    """One line that installs packages on a Debian system, whether or not it has lists of packages."""
    return " ".join(("apt-get update &&", *APT_INSTALL, *names))


def is_administrator() -> bool:
    """Whether packages of the system may be installed."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None
