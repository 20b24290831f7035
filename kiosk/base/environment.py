"""The virtual environment: where it stands, whether it is ready, and making it from hash-locked wheels.

A layer is a folder with a requirements.txt: "kiosk" to run, "tests" to test on top of it. A layer is ready
when its stamp in the environment names these locks, this Python, this place and this text. The environment
stands at the root, or in the user's cache folder where the root cannot be written. On Windows (not tried) two
set-ups at once are not kept apart.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from kiosk.base import wheels
from kiosk.base.set_up_commands import CommandRunner, Run
from kiosk.base.set_up_failures import disk_full
from kiosk.base.set_up_progress import Progress
from kiosk.base.supported_machine import refuse_too_little_room

BUILDING = "building"


@dataclass(frozen=True)
class Cost:
    """What a layer takes, in megabytes, as measured on x86_64 (tests --bare measures it again)."""

    fetched_mb: int
    installed_mb: int


COSTS = {"kiosk": Cost(135, 490), "tests": Cost(140, 450)}


def environment_folder(root: Path, layers: Sequence[str]) -> Path:
    """A ready environment at the root; else the root if it can be written; else the user's cache."""
    beside = root / ".venv"
    writable = os.access(beside if beside.exists() else root, os.W_OK)
    if writable or is_ready(beside, root, layers):
        return beside
    given = Path(os.environ.get("XDG_CACHE_HOME", ""))
    cache = given if given.is_absolute() else Path.home() / ".cache"
    return cache / "pursuit-kiosk" / f"venv-{hashlib.sha256(bytes(root)).hexdigest()[:12]}"


def is_ready(environment: Path, root: Path, layers: Sequence[str]) -> bool:
    """Whether every layer was finished from these very locks."""
    if (environment / BUILDING).exists() or not _runs(environment):
        return False
    return all(is_stamped(environment, root, layer) for layer in layers)


def is_stamped(environment: Path, root: Path, layer: str) -> bool:
    """Whether one layer was finished from its lock."""
    return _read(stamp_file(environment, layer)) == stamp(root, layer)


def stamp(root: Path, layer: str) -> str:
    """A hash of all that an environment's layer is made from."""
    parts = (
        lock_of(root, layer).read_bytes(),
        b"%d.%d" % sys.version_info[:2],
        sys.implementation.name.encode(),
        bytes(root),
        Path(__file__).read_bytes(),
        Path(wheels.__file__).read_bytes(),
    )
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def set_up_alone(environment: Path, root: Path, layers: Sequence[str], progress: Progress) -> None:
    """Set up while no other set-up does; a disk that fills up on the way is told."""
    try:
        with alone(environment, progress) as held:
            work = environment / wheels.WORK
            set_up(environment, root, layers, CommandRunner(held, {"TMPDIR": str(work)}), progress)
    except OSError as fault:
        if fault.errno != errno.ENOSPC:
            raise
        raise SystemExit(disk_full(str(environment))) from None


def set_up(environment: Path, root: Path, layers: Sequence[str], run: Run, progress: Progress) -> None:
    """Finish every layer that is not ready; what is stale or half-built is built anew from the wheels."""
    if is_ready(environment, root, layers):
        return
    afresh = not _can_be_added_to(environment, root, layers)
    waiting = [layer for layer in layers if afresh or not is_stamped(environment, root, layer)]
    if afresh:
        _clear(environment)
    refuse_too_little_room(environment, _needed_mb(environment, waiting))
    progress.tell("Setting up: this is done once and takes about a minute.")
    if afresh:
        run([[sys.executable, "-I", "-m", "venv", str(environment)]])
    (environment / BUILDING).touch()
    for layer in waiting:
        _add(layer, environment, root, run, progress)
    if "kiosk" in waiting:
        wheels.leave_out_their_tests(packages_folder(environment))
        packages_folder(environment).joinpath("pursuit-kiosk.pth").write_text(f"{root}\n", "utf-8")
    for layer in waiting:
        stamp_file(environment, layer).write_text(stamp(root, layer), "utf-8")
    for left in (wheels.FETCHED, wheels.WORK):
        shutil.rmtree(environment / left, ignore_errors=True)
    (environment / BUILDING).unlink()


@contextmanager
def alone(environment: Path, progress: Progress) -> Iterator[Sequence[int]]:
    """Hold the folder the environment stands in, so that a second set-up waits for the first.

    What is held can be handed to a command, which then keeps the second waiting as long as it works.
    """
    try:
        environment.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        why = f"{fault.strerror}: {fault.filename}"
        raise SystemExit(f"Set-up needs a folder it can write: set XDG_CACHE_HOME to one ({why}).") from None
    if os.name == "nt":
        yield ()
        return
    import fcntl

    folder = os.open(environment.parent, os.O_RDONLY)
    try:
        try:
            fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            progress.tell("Another set-up is at work here: waiting until it ends.")
            fcntl.flock(folder, fcntl.LOCK_EX)
        yield (folder,)
    finally:
        os.close(folder)


def lock_of(root: Path, layer: str) -> Path:
    """The hash-locked list of a layer's wheels."""
    return root / layer / "requirements.txt"


def python_of(environment: Path) -> Path:
    """The interpreter inside an environment."""
    return environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def stamp_file(environment: Path, layer: str) -> Path:
    """Where it stands what a layer was made from."""
    return environment / f"{layer}.stamp"


def packages_folder(environment: Path) -> Path:
    """Where an environment's packages lie."""
    import sysconfig

    place = {"base": str(environment), "platbase": str(environment)}
    return Path(sysconfig.get_path("purelib", scheme="venv", vars=place))


def _add(layer: str, environment: Path, root: Path, run: Run, progress: Progress) -> None:
    python, lock = python_of(environment), lock_of(root, layer)
    folders = wheels.Folders.of(environment, layer)
    folders.wheels.mkdir(parents=True, exist_ok=True)
    shutil.rmtree(folders.work, ignore_errors=True)
    folders.work.mkdir()
    wheels.fetch(python, lock, COSTS[layer].fetched_mb, folders, run, progress)
    wheels.install(python, lock, packages_folder(environment), folders, run, progress)


def _clear(environment: Path) -> None:
    """Take away a stale or half-built environment, but not what was fetched for it."""
    for inner in environment.iterdir() if environment.is_dir() else ():
        if inner.name == wheels.FETCHED:
            continue
        shutil.rmtree(inner) if inner.is_dir() and not inner.is_symlink() else inner.unlink()


def _needed_mb(environment: Path, layers: Sequence[str]) -> int:
    """The most that set-up takes on the way, less what was fetched before."""
    there = sum(wheels.fetched_mb(wheels.Folders.of(environment, layer)) for layer in layers)
    return round(sum(COSTS[layer].fetched_mb + COSTS[layer].installed_mb for layer in layers) - there)


def _runs(environment: Path) -> bool:
    return os.access(python_of(environment), os.X_OK)


def _can_be_added_to(environment: Path, root: Path, layers: Sequence[str]) -> bool:
    whole = not (environment / BUILDING).exists() and _runs(environment)
    later_are_new = not any(stamp_file(environment, layer).exists() for layer in layers[1:])
    return whole and later_are_new and is_stamped(environment, root, layers[0])


def _read(path: Path) -> str | None:
    return path.read_text("utf-8") if path.is_file() else None
