"""A layer's locked wheels: fetched side by side into a folder, then installed from it by their hashes.

What has been fetched stays in the folder until the layer is installed, so a set-up that was interrupted
fetches only the rest. A wheel counts as fetched when its bytes have a hash of the lock.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from kiosk.base.set_up_commands import Run
from kiosk.base.set_up_progress import Progress, TimeLeft

MB = 1_000_000
PIP = ("-m", "pip", "--no-input", "--disable-pip-version-check")
LOCKED = ("--progress-bar", "off", "--require-hashes", "--no-deps", "--only-binary", ":all:")
ARRIVING = re.compile(r"\s*(?:Downloading|Using cached) (?P<file>[^-/\s]+)-\S+ (?P<size>\([^)]*\))")
PINS_A_CALL = 3
FETCHED, WORK = "wheels", "work"


@dataclass(frozen=True)
class Pin:
    """One requirement of a lock with the hashes it may have."""

    name: str
    text: str
    hashes: frozenset[str]


@dataclass(frozen=True)
class Folders:
    """Where wheels lie until they are installed, and where pip works."""

    wheels: Path
    work: Path

    @classmethod
    def of(cls, environment: Path, layer: str) -> Folders:
        """Inside the environment, so that one disk is needed and nothing is left beside it."""
        return cls(environment / FETCHED / layer, environment / WORK)


def pins_of(lock: str) -> list[Pin]:
    """The requirements of a lock file's text."""
    found = []
    for text in re.split(r"\n(?=\S)", lock.strip()):
        name, _, rest = text.partition("==")
        if rest:
            found.append(Pin(name, text, frozenset(re.findall(r"--hash=sha256:([0-9a-f]{64})", rest))))
    return found


def fetch(python: Path, lock: Path, total_mb: int, folders: Folders, run: Run, progress: Progress) -> None:
    """Fetch the wheels of a lock that are not in the folder yet."""
    pins = pins_of(lock.read_text("utf-8"))
    waiting = _still_to_fetch(pins, folders.wheels)
    commands = []
    for number, some in enumerate(_in_calls(waiting)):
        part = folders.work / f"fetch-{number}.txt"
        part.write_text("\n".join(pin.text for pin in some) + "\n", "utf-8")
        to = ("--dest", str(folders.wheels), "-r", str(part))
        commands.append([str(python), *PIP, "download", *LOCKED, *to])
    before, time_left = _megabytes(folders), TimeLeft()
    at_work: list[str] = []

    def hear(line: str) -> None:
        if found := ARRIVING.match(line):
            at_work[:] = [*at_work, f"{found['file']} {found['size']}"][-2:]

    def watch() -> None:
        got = _megabytes(folders)
        left = time_left.words(got - before, max(total_mb, got) - before)
        now = f" Now: {', '.join(at_work)}" if at_work else ""
        progress.show(f"Fetching: {got:.0f} of about {total_mb} MB{left}.{now}")

    run(commands, hear, watch)


def install(python: Path, lock: Path, into: Path, folders: Folders, run: Run, progress: Progress) -> None:
    """Install the fetched wheels of a lock; what is not run is not compiled beforehand."""
    of = len(pins_of(lock.read_text("utf-8")))
    there_before = sum(1 for _ in into.glob("*.dist-info"))

    def watch() -> None:
        done = sum(1 for _ in into.glob("*.dist-info")) - there_before
        progress.show(f"Installing: {done} of up to {of} packages.")

    there = ("--no-compile", "--no-index", "--find-links", str(folders.wheels), "-r", str(lock))
    run([[str(python), *PIP, "install", *LOCKED, *there]], watch=watch)


def leave_out_their_tests(packages: Path) -> None:
    """Take away the tests that wheels bring: nothing here runs them, and they are a twelfth of the disk."""
    for place, folders, _ in os.walk(packages):
        if "tests" in folders:
            folders.remove("tests")
            shutil.rmtree(Path(place, "tests"))


def fetched_mb(folders: Folders) -> float:
    """Megabytes fetched so far."""
    return _size(_wheels_under(folders.wheels)) / MB


def _still_to_fetch(pins: Sequence[Pin], wheels: Path) -> list[Pin]:
    """Pins without a wheel of theirs; a file that is no wheel of theirs was cut short and goes."""
    known = frozenset().union(*(pin.hashes for pin in pins))
    there = {}
    for wheel in wheels.glob("*.whl"):
        with wheel.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        if digest not in known:
            wheel.unlink()
        there[digest] = wheel
    return [pin for pin in pins if not pin.hashes & there.keys()]


def _in_calls(pins: Sequence[Pin]) -> list[list[Pin]]:
    """Pins dealt out to calls of pip, a few each."""
    calls = -(-len(pins) // PINS_A_CALL)
    return [list(pins[number::calls]) for number in range(calls)]


def _megabytes(folders: Folders) -> float:
    """What has arrived, whole or in part; pip keeps a file in its work folder while it arrives."""
    arriving = {file.name: file for file in _wheels_under(folders.work)}
    whole = {file.name: file for file in _wheels_under(folders.wheels)}
    return _size({**arriving, **whole}.values()) / MB


def _wheels_under(folder: Path) -> Iterator[Path]:
    """The wheels in a folder whose own folders pip makes and takes away."""
    for inner, _, names in os.walk(folder):
        yield from (Path(inner, name) for name in names if name.endswith(".whl"))


def _size(files: Iterable[Path]) -> int:
    total = 0
    for file in files:
        try:
            total += file.stat().st_size
        except FileNotFoundError:  # pip moves them
            continue
    return total
