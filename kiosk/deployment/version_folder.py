"""One version of the kiosk as a folder that runs by itself, and the list of what is in it.

    X/pyvenv.cfg                               the system's Python with the packages of this folder only
    X/bin/python3                              a link to it, made where the version is installed
    X/lib/pythonN.M/site-packages/...          the kiosk and every library it needs, unpacked from wheels
    X/manifest.json                            version, Python, architecture, layout of the store, files

The same wheels give the same bytes: no time, no path of the machine, no order of a folder gets in.
Decision packaging-2.
"""

import hashlib
import json
import os
import stat
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path, PurePosixPath
from typing import Any, Final
from zipfile import BadZipFile, ZipFile

from kiosk.base.errors import Refused

MANIFEST: Final = "manifest.json"
SETTINGS: Final = "pyvenv.cfg"
PYTHON: Final = "bin/python3"
SYSTEM_PYTHON: Final = "/usr/bin/python3"
SETTINGS_TEXT: Final = "home = /usr/bin\ninclude-system-site-packages = false\n"
DATE_S: Final = 1_767_225_600  # 2026-01-01 UTC: of every file, unless SOURCE_DATE_EPOCH names another
FORMAT: Final = 1


class Architecture(Enum):
    """What the wheels and the Debian package are made for, by its name in wheels and in Debian."""

    X86_64 = ("x86_64", "amd64")
    AARCH64 = ("aarch64", "arm64")

    @property
    def wheels(self) -> str:
        """Its name in the file names of wheels."""
        return self.value[0]

    @property
    def debian(self) -> str:
        """Its name in Debian."""
        return self.value[1]


@dataclass(frozen=True)
class Manifest:
    """What a version is. python: such as "3.11"; store_layout: the revision of the store's tables.

    files: every file by its path below the version, with its sha256.
    """

    version: str
    python: str
    architecture: str
    store_layout: int
    files: Mapping[str, str]


def python_minor() -> str:
    """The Python that a version is made for, as that of this process."""
    return "{}.{}".format(*sys.version_info)


def site_packages(python: str) -> PurePosixPath:
    """Where the libraries stand in a version."""
    return PurePosixPath("lib", f"python{python}", "site-packages")


def make_version(folder: Path, wheels: Iterable[Path], version: str, architecture: Architecture,
                 store_layout: int) -> Manifest:
    """Unpack wheels into a new version folder; Refused wheel_unreadable, cannot_write."""
    python = python_minor()
    packages = folder / site_packages(python)
    try:
        packages.mkdir(parents=True)
        for wheel in sorted(wheels):
            unpack_wheel(wheel, packages)
        (folder / SETTINGS).write_text(SETTINGS_TEXT, "utf-8")
        made = Manifest(version, python, architecture.debian, store_layout, listed(folder))
        (folder / MANIFEST).write_bytes(manifest_bytes(made))
    except OSError as fault:
        raise Refused("cannot_write", {"file": str(folder), "why": fault.strerror or "no access"}) from fault
    return made


def unpack_wheel(wheel: Path, packages: Path) -> None:
    """The files of a wheel's packages; its scripts, headers and examples are left out."""
    try:
        with ZipFile(wheel) as archive:
            for name in archive.namelist():
                target = _target(name)
                if target is not None:
                    place = packages / target
                    place.parent.mkdir(parents=True, exist_ok=True)
                    place.write_bytes(archive.read(name))
    except (BadZipFile, ValueError) as fault:
        raise Refused("wheel_unreadable", {"file": wheel.name}) from fault


def _target(name: str) -> PurePosixPath | None:
    """Where a wheel's member belongs, by the binary distribution format of the Python packaging guide."""
    path = inside(name)
    if name.endswith("/"):
        return None
    if path.parts[0].endswith(".data"):
        kept = len(path.parts) > 2 and path.parts[1] in ("purelib", "platlib")
        return PurePosixPath(*path.parts[2:]) if kept else None
    return path


def inside(name: str) -> PurePosixPath:
    """A member's path; ValueError where it would lead out of the folder it is unpacked in."""
    path = PurePosixPath(name)
    if path.is_absolute() or not path.parts or ".." in path.parts or "\\" in name:
        raise ValueError(f"member, must lie inside the archive's folder, got {name!r}")
    return path


def listed(folder: Path) -> dict[str, str]:
    """Every file below a folder but the manifest, with its sha256, in the order of the paths."""
    paths = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*")
                   if path.is_file() and not path.is_symlink())
    return {path: sha256_of(folder / path) for path in paths if path != MANIFEST}


def sha256_of(file: Path) -> str:
    """The sha256 of a file as hexadecimal digits."""
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def manifest_bytes(manifest: Manifest) -> bytes:
    """The manifest as it is kept and signed."""
    content = {"format": FORMAT, "version": manifest.version, "python": manifest.python,
               "architecture": manifest.architecture, "store_layout": manifest.store_layout,
               "files": dict(sorted(manifest.files.items()))}
    return (json.dumps(content, indent=0, sort_keys=True, ensure_ascii=True) + "\n").encode()


def read_manifest(content: bytes) -> Manifest:
    """ValueError where it is none of this format."""
    try:
        read: dict[str, Any] = json.loads(content)
        if read["format"] != FORMAT:
            raise ValueError(f"format, must be {FORMAT}, got {read['format']!r}")
        files = {str(inside(name)): str(digest) for name, digest in read["files"].items()}
        return Manifest(str(read["version"]), str(read["python"]), str(read["architecture"]),
                        int(read["store_layout"]), files)
    except (KeyError, TypeError, AttributeError) as fault:
        raise ValueError("manifest, must hold what a version is") from fault


def finish(version: Path) -> None:
    """The link to the system's Python, which no archive carries."""
    link = version / PYTHON
    link.parent.mkdir(exist_ok=True)
    if not link.is_symlink():
        link.symlink_to(SYSTEM_PYTHON)


def date_s() -> int:
    """The time of every file that is made: SOURCE_DATE_EPOCH where it is set."""
    given = os.environ.get("SOURCE_DATE_EPOCH", "")
    return int(given) if given.isdecimal() else DATE_S


def set_dates(folder: Path, executable: Sequence[str] = ()) -> None:
    """One time, and plain rights, for all below a folder, whatever the umask of who makes it."""
    moment = date_s()
    for path in (*folder.rglob("*"), folder):
        if not path.is_symlink():
            runs = path.is_dir() or path.relative_to(folder).as_posix() in executable
            path.chmod(stat.S_IRUSR | stat.S_IWUSR | stat.S_IRGRP | stat.S_IROTH
                       | (stat.S_IXUSR | stat.S_IXGRP | stat.S_IXOTH if runs else 0))
        os.utime(path, (moment, moment), follow_symlinks=False)
