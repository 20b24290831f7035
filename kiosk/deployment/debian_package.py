"""The Debian package `pursuit-kiosk`, made by dpkg-deb: the same version folder gives the same bytes.

Below it stand: a version of the kiosk in /opt, the units, a settings file with its defaults explained, the
command, and the program that keeps the way back from an update. The store is made at /var/lib and is never
part of it. Decision packaging-5.
"""

import hashlib
import os
import shutil
import subprocess
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import Final

from kiosk.base.errors import MissingSystemPackages, Refused
from kiosk.base.system_packages import SYSTEM_PACKAGES, Use
from kiosk.deployment import installed_versions
from kiosk.deployment.installed_versions import VERSIONS
from kiosk.deployment.version_folder import Manifest, date_s, finish, set_dates

NAME: Final = "pursuit-kiosk"
UPDATE_KEY: Final = "etc/pursuit-kiosk/update-key.pem"
SCRIPTS: Final = ("postinst", "prerm", "postrm")
PLACES: Final = {
    "pursuit-kiosk.service": "usr/lib/systemd/system/pursuit-kiosk.service",
    "pursuit-kiosk-display.service": "usr/lib/systemd/system/pursuit-kiosk-display.service",
    "logind.conf": "usr/lib/systemd/logind.conf.d/pursuit-kiosk.conf",
    "pursuit-kiosk.sh": "usr/bin/pursuit-kiosk",
    "kiosk.toml": "etc/pursuit-kiosk/kiosk.toml",
}
MASKED: Final = "usr/lib/systemd/system/getty@tty1.service"
EXECUTABLE: Final = ("usr/bin/pursuit-kiosk", *(f"DEBIAN/{name}" for name in SCRIPTS))
DEPENDS: Final = (
    *(one.name for one in SYSTEM_PACKAGES if one.use in (Use.WINDOW, Use.KIOSK)),
    "adduser", "init-system-helpers", "libgl1-mesa-dri", "libxcursor1", "libxext6", "xauth",
    "xserver-xorg-core", "xserver-xorg-input-libinput")
"""What the kiosk and its display need of Debian, beside Python of the version it was made for."""
CONTROL: Final = """Package: {name}
Version: {version}
Architecture: {architecture}
Maintainer: {name} <root@localhost>
Installed-Size: {size_kib}
Depends: {depends}
Recommends: cups
Section: misc
Priority: optional
Description: visually guided hand movement, recorded, scored and set beside a reference table
 A kiosk for a clinic's tablet: it starts with the machine, on a display server of its own without a
 window manager, as a user of its own. The store is kept when the package is removed.
"""


def make_package(version: Path, manifest: Manifest, out: Path, work: Path,
                 update_key: bytes | None = None) -> Path:
    """The package of a version folder, which is moved into it; Refused package_not_made, no dpkg-deb.

    work: an empty folder. update_key: the public key (PEM) by which updates are to be signed.
    """
    if shutil.which("dpkg-deb") is None:
        raise MissingSystemPackages(("dpkg",))
    tree = work / "tree"
    _lay_out(tree, version, manifest, update_key)
    _describe(tree, manifest)
    set_dates(tree, EXECUTABLE)
    file = out / f"{NAME}_{manifest.version}_{manifest.architecture}.deb"
    _run(["dpkg-deb", "--root-owner-group", "--threads-max=1", "-Zzstd", "-z3", "--build", str(tree),
          str(file)])
    return file


def depends(python: str) -> tuple[str, ...]:
    """The relations of the package, as Debian writes them."""
    major, minor = map(int, python.split("."))
    return (f"python3 (>= {major}.{minor})", f"python3 (<< {major}.{minor + 1})", *DEPENDS)


def _lay_out(tree: Path, version: Path, manifest: Manifest, update_key: bytes | None) -> None:
    place = tree / VERSIONS / manifest.version
    place.parent.mkdir(parents=True)
    version.rename(place)
    finish(place)
    for name, target in PLACES.items():
        _put(tree / target, _data(name))
    _put(tree / "usr/lib/pursuit-kiosk/installed_versions.py", Path(installed_versions.__file__).read_bytes())
    if update_key is not None:
        _put(tree / UPDATE_KEY, update_key)
    (tree / MASKED).symlink_to(os.devnull)


def _describe(tree: Path, manifest: Manifest) -> None:
    """The package's own files: what it is, what it does when it comes and goes, its settings files."""
    control = tree / "DEBIAN"
    size_kib = sum(-(-path.lstat().st_size // 1024) for path in tree.rglob("*") if not path.is_dir())
    for name in SCRIPTS:
        _put(control / name, _data(name).replace(b"@VERSION@", manifest.version.encode()))
    _put(control / "control", CONTROL.format(
        name=NAME, version=manifest.version, architecture=manifest.architecture, size_kib=size_kib,
        depends=", ".join(depends(manifest.python))).encode())
    settings = sorted(f"/{path.relative_to(tree).as_posix()}\n" for path in (tree / "etc").rglob("*")
                      if path.is_file())
    _put(control / "conffiles", "".join(settings).encode())
    _put(control / "md5sums", _md5sums(tree))


def _md5sums(tree: Path) -> bytes:
    """By which `dpkg --verify` finds a file that was changed."""
    paths = sorted(path for path in tree.rglob("*") if path.is_file() and not path.is_symlink()
                   and path.relative_to(tree).parts[0] not in ("DEBIAN", "etc"))
    lines = (f"{hashlib.md5(path.read_bytes(), usedforsecurity=False).hexdigest()}  "
             f"{path.relative_to(tree).as_posix()}\n" for path in paths)
    return "".join(lines).encode()


def _data(name: str) -> bytes:
    return (files("kiosk.deployment") / "files" / name).read_bytes()


def _put(place: Path, content: bytes) -> None:
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(content)


def _run(command: Sequence[str]) -> None:
    environment = {**os.environ, "SOURCE_DATE_EPOCH": str(date_s()), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(command, env=environment, capture_output=True, encoding="utf-8", errors="replace")
    if done.returncode:
        told = (done.stderr.strip() or f"exit {done.returncode}").splitlines()[-1]
        raise Refused("package_not_made", {"program": command[0], "found": told})
