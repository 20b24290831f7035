"""Which version of the kiosk runs here, and the way back to the one before.

Versions stand side by side in /opt/pursuit-kiosk/versions/X; the link `current` names the one that runs and
is replaced in one step. A version that came by an update is on trial until it has run for ten minutes, or for
one and ended orderly. While it is on trial, a crash or a third start brings the version before it back, with
the store as it was before the update where the update changed its layout; the later store is kept beside it.

The unit runs this file by itself (`before-start`, `after-stop`), with the system's Python and nothing of any
version, so that no version can break the way back. Hence the standard library only, and nothing of kiosk.
Decision packaging-4.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

VERSIONS: Final = "opt/pursuit-kiosk/versions"
CURRENT: Final = "opt/pursuit-kiosk/current"
STATE: Final = "var/lib/pursuit-kiosk-machine/versions.json"
STORE: Final = "var/lib/pursuit-kiosk/kiosk.store"
BESIDE_STORE: Final = ("", "-wal", "-shm")  # what the store's engine writes beside the file
SETTLED_AFTER_S: Final = 600.0
ORDERLY_AFTER_S: Final = 60.0
MOST_STARTS: Final = 3


@dataclass(frozen=True)
class Trial:
    """A version that has not proved itself: its starts, and when the last was, by the kernel's clock."""

    version: str
    starts: int = 0
    boot: str = ""
    at_s: float = 0.0


@dataclass(frozen=True)
class Versions:
    """What is remembered beside the link. store_kept: the store before the update, where its layout changed.

    returned_from, why: the version that was left last, and for what.
    """

    previous: str = ""
    trial: Trial | None = None
    store_kept: str = ""
    returned_from: str = ""
    why: str = ""


@dataclass(frozen=True)
class Clock:
    """The kernel's: which start of the machine this is, and the seconds since."""

    boot: str
    now_s: float


class Installation:
    """The versions below a root."""

    def __init__(self, root: Path = Path("/")) -> None:
        self.root = root

    def current(self) -> str:
        """The version that runs; empty where there is none."""
        link = self.root / CURRENT
        return Path(os.readlink(link)).name if link.is_symlink() else ""

    def folder(self, version: str) -> Path:
        """Where a version stands, or would."""
        return self.root / VERSIONS / version

    def store(self) -> Path:
        """The store's file."""
        return self.root / STORE

    def remembered(self) -> Versions:
        """What was written last; nothing where it cannot be read."""
        try:
            read = json.loads((self.root / STATE).read_text("utf-8"))
            trial = read.pop("trial")
            return Versions(trial=None if trial is None else Trial(**trial), **read)
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return Versions()

    def on_trial(self) -> Trial | None:
        """The trial of the version that runs."""
        trial = self.remembered().trial
        return trial if trial is not None and trial.version == self.current() else None

    def switch(self, version: str, store_kept: str = "") -> None:
        """Run another version from the next start on, on trial."""
        self._remember(Versions(previous=self.current(), trial=Trial(version), store_kept=store_kept))
        self._link(version)

    def settle(self) -> None:
        """The version that runs has proved itself."""
        self._remember(replace(self.remembered(), trial=None))

    def can_go_back(self) -> bool:
        """Whether the version before this one is known and still there."""
        previous = self.remembered().previous
        return bool(previous) and self.folder(previous).is_dir()

    def go_back(self, why: str) -> str:
        """The version before, and its store; the version that runs now. LookupError where there is none."""
        kept, left = self.remembered(), self.current()
        if not self.can_go_back():
            raise LookupError("no version before this one")
        if kept.store_kept and (self.root / kept.store_kept).exists():
            self._exchange_store(self.root / kept.store_kept, left)
        self._link(kept.previous)
        self._remember(Versions(returned_from=left, why=why))
        return kept.previous

    def package_installed(self, version: str) -> None:
        """The Debian package brought a version: it runs, unless an update brought a later one."""
        current = self.current()
        if not current or not self.folder(current).is_dir() or numbers(version) >= numbers(current):
            self._remember(Versions())
            self._link(version)

    def before_start(self, clock: Clock) -> None:
        """One start more of a version on trial; the version before instead where this one used them up."""
        trial = self.on_trial()
        if trial is None:
            return
        if trial.starts >= MOST_STARTS:
            self.go_back("starts")
            return
        begun = Trial(trial.version, trial.starts + 1, clock.boot, clock.now_s)
        self._remember(replace(self.remembered(), trial=begun))

    def after_stop(self, orderly: bool, why: str, clock: Clock) -> None:
        """A version on trial has proved itself, or goes on being on trial, or crashed and is left."""
        trial = self.on_trial()
        if trial is None:
            return
        ran_s = clock.now_s - trial.at_s if trial.boot == clock.boot else 0.0
        if ran_s >= SETTLED_AFTER_S or (orderly and ran_s >= ORDERLY_AFTER_S):
            self.settle()
        elif not orderly:
            self.go_back(why)

    def _exchange_store(self, kept: Path, left: str) -> None:
        """The later store is set aside under a name of its own, never removed."""
        store = self.store()
        move_store(store, store.with_name(f"{store.name}.of-{left}"))
        move_store(kept, store)

    def _link(self, version: str) -> None:
        link = self.root / CURRENT
        link.parent.mkdir(parents=True, exist_ok=True)
        beside = link.with_name("current.new")
        beside.unlink(missing_ok=True)
        beside.symlink_to(Path("versions") / version)
        beside.replace(link)
        _synced(link.parent)

    def _remember(self, versions: Versions) -> None:
        file = self.root / STATE
        file.parent.mkdir(parents=True, exist_ok=True)
        beside = file.with_name("versions.json.new")
        with beside.open("w", encoding="utf-8") as new:
            new.write(json.dumps(asdict(versions), indent=1) + "\n")
            new.flush()
            os.fsync(new.fileno())
        beside.replace(file)
        _synced(file.parent)


def numbers(version: str) -> tuple[int, ...]:
    """A version's parts as numbers, for comparison; ValueError for anything but digits and dots.

    >>> numbers("0.10.0") > numbers("0.9.2")
    True
    """
    return tuple(int(part) for part in version.split("."))


def move_store(store: Path, place: Path) -> None:
    """A store with what its engine keeps beside it, under another name in the same folder."""
    for ending in BESIDE_STORE:
        beside = store.with_name(store.name + ending)
        if beside.exists():
            beside.replace(place.with_name(place.name + ending))
    _synced(store.parent)


def read_clock() -> Clock:
    """The kernel's own files (Linux)."""
    boot = Path("/proc/sys/kernel/random/boot_id").read_text("ascii").strip()
    return Clock(boot, float(Path("/proc/uptime").read_text("ascii").split()[0]))


def main(arguments: list[str]) -> int:
    """`before-start`, `after-stop` (by the unit), `package VERSION` (by the Debian package)."""
    here = Installation()
    if arguments[:1] == ["before-start"]:
        here.before_start(read_clock())
    elif arguments[:1] == ["after-stop"]:
        result = os.environ.get("SERVICE_RESULT", "success")
        here.after_stop(result == "success", result, read_clock())
    elif arguments[:1] == ["package"] and len(arguments) == 2:
        here.package_installed(arguments[1])
    else:
        print("usage: installed_versions.py before-start | after-stop | package VERSION", file=sys.stderr)
        return 2
    return 0


def _synced(folder: Path) -> None:
    """A rename is on the disk once the folder is."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
