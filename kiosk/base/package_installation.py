"""Getting the system packages that a command needs: an administrator's call installs what is missing.

Anyone else is told one line to run. What can be done without is done without, and said.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kiosk.base.set_up_commands import Run
from kiosk.base.set_up_progress import Progress
from kiosk.base.system_packages import SystemPackage, Use, apt_line, missing, program

APT_OPTIONS = ("-q", "-o", "APT::Status-Fd=1", "-o", "DPkg::Lock::Timeout=120")
STATUS = re.compile(r"(?:dl|pm)status:(?P<package>[^:]*):(?P<percent>[\d.]+):(?P<words>.*)")
SIZES = re.compile(r"Need to get (?P<size>[\d.,]+ ?[kM]?B)")
DRAWS_IN_A_WINDOW = ("start", "demo", "pictures")


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
    run([["sh", "-c", apt_line(names, APT_OPTIONS)]], hear)  # as one: what kept lists away is told by update


def is_administrator() -> bool:
    """Whether packages of the system may be installed."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None
