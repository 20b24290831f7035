"""All that a clinic's machine needs to be installed without a network, in one folder.

    wheels/x86_64/ wheels/aarch64/   every library by the hash-locked list, for both kinds of machine
    debs/                            the kiosk's package and all it needs of Debian, as a repository
    install.sh                       installs from here; needs no network
    pursuit-kiosk-X-ARCH.update      the same version as a signed update, where a key was given
    CONTENTS.txt SHA256SUMS          what is here, by name and size, and by hash

Wheels and Debian packages are fetched by pip and apt as they are set up on this machine. The wheels for the
other architecture are resolved and listed; nothing of them is run here.
"""

import gzip
import os
import platform
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from email.utils import formatdate
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from kiosk import __version__
from kiosk.base.errors import MissingSystemPackages, Refused
from kiosk.deployment.debian_package import DEPENDS, make_package
from kiosk.deployment.signed_update import public_of, sign_update
from kiosk.deployment.version_folder import Architecture, date_s, make_version, python_minor, sha256_of

PLATFORMS: Final = ("manylinux_2_28", "manylinux_2_27", "manylinux_2_26", "manylinux_2_24", "manylinux_2_17",
                    "manylinux2014", "manylinux_2_12", "manylinux2010", "manylinux_2_5", "manylinux1")
"""What the C library of Debian 12 runs, by the platform tags of the Python packaging guide."""
BESIDE: Final = ("python3", "cups")
PROGRAMS: Final = {"apt-get": "apt", "dpkg-deb": "dpkg", "dpkg-scanpackages": "dpkg-dev"}
WHEELS, DEBS, SUMS, CONTENTS = "wheels", "debs", "SHA256SUMS", "CONTENTS.txt"


@dataclass(frozen=True)
class Step:
    """What is being done, for the one who waits. name: of the architecture, or the version."""

    code: str
    name: str


def make_bundle(checkout: Path, out: Path, private_key: Path | None, layout: int,
                tell: Callable[[Step], None]) -> Path:
    """Fill an empty folder; where the kiosk's package lies in it.

    layout: of the store in this version. Refused: bundle_folder_used, package_not_made, key_unreadable.
    """
    missing = sorted(package for program, package in PROGRAMS.items() if shutil.which(program) is None)
    if missing:
        raise MissingSystemPackages(missing)
    if out.exists() and any(out.iterdir()):
        raise Refused("bundle_folder_used", {"folder": str(out)})
    here = own_architecture()
    for architecture in Architecture:
        tell(Step("wheels", architecture.wheels))
        folder = out / WHEELS / architecture.wheels
        fetch_wheels(checkout / "kiosk" / "requirements.txt", folder, architecture)
        make_wheel(checkout, folder)
    (out / DEBS).mkdir()
    tell(Step("debs", here.debian))
    fetch_debs((*BESIDE, *DEPENDS), out / DEBS)
    tell(Step("package", __version__))
    made = _package(out, here, private_key, layout)
    index_debs(out / DEBS)
    _installer(out, here)
    _list_contents(out)
    return made


def own_architecture() -> Architecture:
    """This machine's; Refused architecture_unknown."""
    for one in Architecture:
        if one.wheels == platform.machine():
            return one
    known = tuple(one.wheels for one in Architecture)
    raise Refused("architecture_unknown", {"found": platform.machine(), "known": known})


def fetch_wheels(lock: Path, folder: Path, architecture: Architecture) -> None:
    """Every library of the lock for an architecture, by pip, each held to its hash."""
    folder.mkdir(parents=True)
    tags = [f"--platform={tag}_{architecture.wheels}" for tag in PLATFORMS]
    digits = python_minor().replace(".", "")
    _run([sys.executable, "-m", "pip", "download", "--quiet", "--no-input", "--require-hashes", "--no-deps",
          "--only-binary", ":all:", *tags, "--implementation=cp", f"--python-version={python_minor()}",
          f"--abi=cp{digits}", "--abi=abi3", "--abi=none", "-r", str(lock), "-d", str(folder)])


def make_wheel(checkout: Path, folder: Path) -> None:
    """The kiosk's own wheel."""
    _run([sys.executable, "-m", "pip", "wheel", "--quiet", "--no-input", "--no-deps", "-w", str(folder),
          str(checkout)])


def fetch_debs(packages: Sequence[str], folder: Path) -> None:
    """Packages with all that they need, as if nothing were installed yet, by apt."""
    with TemporaryDirectory(prefix="pursuit-kiosk-apt-") as work:
        nothing = Path(work) / "status"
        nothing.touch()
        (folder / "partial").mkdir()
        _run(["apt-get", "-q", "-y", "--no-install-recommends", "--download-only", "-o",
              f"Dir::State::status={nothing}", "-o", f"Dir::Cache::archives={folder.resolve()}", "-o",
              f"Dir::Cache::pkgcache={work}/pkg", "-o", f"Dir::Cache::srcpkgcache={work}/src", "-o",
              "Debug::NoLocking=1", "-o", "APT::Sandbox::User=root", "install", *packages])
    shutil.rmtree(folder / "partial")
    (folder / "lock").unlink(missing_ok=True)


def index_debs(folder: Path) -> None:
    """A repository of one folder: Packages by dpkg-scanpackages, and Release with their hashes."""
    listed = _run(["dpkg-scanpackages", "--multiversion", "."], folder)
    (folder / "Packages").write_bytes(listed)
    (folder / "Packages.gz").write_bytes(gzip.compress(listed, mtime=0))
    lines = [f" {sha256_of(path)} {path.stat().st_size} {path.name}"
             for path in (folder / "Packages", folder / "Packages.gz")]
    head = ("Label: pursuit-kiosk", f"Date: {formatdate(date_s(), usegmt=True)}", "SHA256:")
    (folder / "Release").write_text("\n".join([*head, *lines, ""]), "ascii")


def _package(out: Path, here: Architecture, private_key: Path | None, layout: int) -> Path:
    """The Debian package and, where a key is given, the signed update, of one version folder."""
    with TemporaryDirectory(prefix="pursuit-kiosk-package-", dir=out) as work:
        version = Path(work) / "version"
        made = make_version(version, (out / WHEELS / here.wheels).glob("*.whl"), __version__, here, layout)
        if private_key is not None:
            sign_update(version, private_key, out / f"pursuit-kiosk-{__version__}-{here.debian}.update")
        key = None if private_key is None else public_of(private_key)
        return make_package(version, made, out / DEBS, Path(work), key)


def _installer(out: Path, here: Architecture) -> None:
    script = (files("kiosk.deployment") / "files" / "install.sh").read_text("utf-8")
    (out / "install.sh").write_text(script.replace("@ARCHITECTURE@", here.debian), "utf-8")
    (out / "install.sh").chmod(0o755)


def _list_contents(out: Path) -> None:
    paths = sorted(path for path in out.rglob("*") if path.is_file())
    names = [path.relative_to(out).as_posix() for path in paths]
    sizes = "".join(f"{path.stat().st_size:>12} {name}\n" for path, name in zip(paths, names, strict=True))
    (out / CONTENTS).write_text(sizes, "utf-8")
    sums = "".join(f"{sha256_of(out / name)}  {name}\n" for name in (*names, CONTENTS))
    (out / SUMS).write_text(sums, "utf-8")


def _run(command: Sequence[str], folder: Path | None = None) -> bytes:
    environment = {**os.environ, "SOURCE_DATE_EPOCH": str(date_s()), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True)
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip() or f"exit {done.returncode}"
        raise Refused("package_not_made", {"program": Path(command[0]).name, "found": said.splitlines()[-1]})
    return done.stdout
