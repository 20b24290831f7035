"""Whether the bare system is to be tried again: the files that decide how set-up goes, as they were when it
last passed. The record is written by a run that passed and committed with them (tests/bare/last_run.json).
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

DECIDING = (
    "kiosk/__main__.py",
    "kiosk/base/bootstrap.py",
    "kiosk/base/environment.py",
    "kiosk/base/package_installation.py",
    "kiosk/base/set_up_*.py",
    "kiosk/base/supported_machine.py",
    "kiosk/base/system_packages.py",
    "kiosk/base/wheels.py",
    "kiosk/requirements.txt",
    "tests/__main__.py",
    "tests/requirements.txt",
    "tests/bare/*.py",
)
PLACE = "tests/bare/last_run.json"


@dataclass(frozen=True)
class UsersRun:
    """What one user's two commands took in a bare system, in seconds and megabytes."""

    demo_s: float
    tests_s: float
    passed: int
    environment_mb: int
    same_files: int


@dataclass(frozen=True)
class Record:
    """A run that passed: the files it was made with, by hash, when, and what it took each user."""

    files: Mapping[str, str]
    day: str
    suite: str
    whole: bool
    users: Mapping[str, UsersRun]


def deciding_files(root: Path) -> dict[str, str]:
    """Path -> SHA-256 of every file that decides how set-up goes."""
    found = sorted(path for pattern in DECIDING for path in root.glob(pattern))
    return {path.relative_to(root).as_posix(): _hash(path) for path in found}


def _hash(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def changed_since(record: Record | None, root: Path) -> list[str]:
    """The files that are not as they were when the bare system last passed; all of them without a record."""
    then, now = (record.files if record else {}), deciding_files(root)
    return sorted(path for path in {*then, *now} if then.get(path) != now.get(path))


def read(root: Path) -> Record | None:
    """The last run that passed."""
    place = root / PLACE
    if not place.is_file():
        return None
    told = json.loads(place.read_text("utf-8"))
    users = {name: UsersRun(**took) for name, took in told.pop("users").items()}
    return Record(users=users, **told)


def write(root: Path, record: Record) -> None:
    """Keep a run that passed."""
    (root / PLACE).write_text(json.dumps(asdict(record), indent=1, sort_keys=True) + "\n", "utf-8")
