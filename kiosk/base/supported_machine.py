"""What the locked wheels run on, and the sentence for a machine, a Python or a disk they do not run on.

Found by resolving the locks for each platform (December 2026): CPython 3.11 to 3.13 (the toolkit has no wheel
for 3.14), 64 bit; Linux on x86_64 and aarch64 with glibc 2.28 or newer (none with musl), macOS on Apple's
processors (cryptography has none for Intel), Windows on x86_64. Written so that Python 3.6 can read it, which
is then told that it is too old.
"""

import platform
import shutil
import sys
from pathlib import Path
from typing import NamedTuple

OLDEST_PYTHON, NEWEST_PYTHON = (3, 11), (3, 13)
OLDEST_GLIBC = (2, 28)
PROCESSORS = {
    "Linux": frozenset({"x86_64", "aarch64"}),
    "Darwin": frozenset({"arm64"}),
    "Windows": frozenset({"AMD64"}),
}
PYTHON_UNFIT, MACHINE_UNFIT = 3, 1  # exit codes: a system package is missing; refused


class Machine(NamedTuple):
    """What decides whether the wheels run here. libc: its name and version, empty where it is not glibc."""

    python: "tuple[int, int]"
    implementation: str
    bits: int
    system: str
    processor: str
    libc: "tuple[str, str]"

    @classmethod
    def here(cls) -> "Machine":
        """The machine and the Python that this runs on."""
        return cls(sys.version_info[:2], sys.implementation.name, 64 if sys.maxsize > 2**32 else 32,
                   platform.system(), platform.machine(), platform.libc_ver())  # fmt: skip


def refuse_what_the_wheels_do_not_run_on(machine: Machine) -> None:
    """End with one sentence where the locks hold nothing for this Python or this machine."""
    for why, code in ((unfit_python(machine), PYTHON_UNFIT), (unfit_machine(machine), MACHINE_UNFIT)):
        if why is not None:
            print(why, file=sys.stderr)
            raise SystemExit(code)


def unfit_python(machine: Machine) -> "str | None":
    """Why this Python cannot be used, and which can."""
    oldest, newest = (".".join(map(str, version)) for version in (OLDEST_PYTHON, NEWEST_PYTHON))
    wanted = f"install CPython {oldest} to {newest} and start with it, for example python{newest} kiosk."
    if machine.implementation != "cpython":
        return f"This is {machine.implementation}, and the locked wheels are for CPython: {wanted}"
    if not OLDEST_PYTHON <= machine.python <= NEWEST_PYTHON:
        version = ".".join(map(str, machine.python))
        return f"This is Python {version}, and the locked wheels are for {oldest} to {newest}: {wanted}"
    return None


def unfit_machine(machine: Machine) -> "str | None":
    """Why this machine cannot be used, and what can."""
    if machine.bits != 64:
        return "This Python is 32-bit, and the locked wheels are 64-bit: use a 64-bit system and its Python."
    if machine.system not in PROCESSORS:
        return f"This is {machine.system}, and the locked wheels are for Linux, macOS and Windows: use one."
    if machine.processor not in PROCESSORS[machine.system]:
        fit = " or ".join(sorted(PROCESSORS[machine.system]))
        name = {"Darwin": "macOS"}.get(machine.system, machine.system)
        return (f"The processor is {machine.processor}, and on {name} the locked wheels are for {fit}: "
                f"use such a machine.")  # fmt: skip
    return unfit_libc(machine.libc) if machine.system == "Linux" else None


def unfit_libc(libc: "tuple[str, str]") -> "str | None":
    """Why this Linux's C library cannot be used, and which can."""
    oldest = ".".join(map(str, OLDEST_GLIBC))
    name, version = libc
    if name != "glibc":
        return (f"This Linux has musl instead of glibc, and the locked wheels need glibc {oldest} or newer: "
                "use Debian 12 or another system with glibc.")  # fmt: skip
    if tuple(map(int, version.split(".")[:2])) < OLDEST_GLIBC:
        return (f"This Linux has glibc {version}, and the locked wheels need {oldest} or newer: "
                "use Debian 12 or newer.")  # fmt: skip
    return None


def refuse_too_little_room(folder: Path, needed_mb: int) -> None:
    """End with one sentence where the disk of a folder has less room than set-up takes."""
    existing = next(one for one in (folder, *folder.parents) if one.is_dir())
    free_mb = shutil.disk_usage(existing).free // 1_000_000
    if free_mb < needed_mb:
        room = f"Set-up needs {needed_mb} MB in {existing}, and {free_mb} MB are free there"
        raise SystemExit(f"{room}: make room, then run the same command again.")
