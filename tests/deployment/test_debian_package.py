"""A version folder from wheels, and the Debian package of it: what is inside, and the same bytes twice."""

import os
import re
import shutil
import subprocess
from pathlib import Path
from zipfile import ZipFile, ZipInfo

import pytest

from kiosk.base.errors import Refused
from kiosk.deployment.debian_package import make_package
from kiosk.deployment.version_folder import (
    Architecture,
    Manifest,
    make_version,
    manifest_bytes,
    python_minor,
    read_manifest,
    site_packages,
)

debian = pytest.mark.skipif(shutil.which("dpkg-deb") is None, reason="dpkg-deb (dpkg)")
WHEEL = {
    "thing/__init__.py": b"here = True\n",
    "thing-1.0.dist-info/METADATA": b"Name: thing\nVersion: 1.0\n",
    "thing-1.0.data/purelib/beside.py": b"",
    "thing-1.0.data/scripts/thing": b"#!python\n",
    "thing-1.0.data/data/share/example": b"",
}


def wheel(folder: Path, members: dict[str, bytes], hour: int = 0) -> Path:
    """A wheel whose members bear an hour of their own, in the order given."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "thing-1.0-py3-none-any.whl"
    with ZipFile(file, "w") as archive:
        for name, content in members.items():
            archive.writestr(ZipInfo(name, (2026, 3, 1, hour, 0, 0)), content)
    return file


def version(folder: Path, members: dict[str, bytes] = WHEEL, hour: int = 0) -> Manifest:
    """A version folder from one wheel."""
    made = wheel(folder / "wheels", members, hour)
    return make_version(folder / "version", [made], "1.2.3", Architecture.X86_64, 1)


def package(folder: Path, **how: object) -> Path:
    """A package made in a folder."""
    manifest = version(folder, **how)  # type: ignore[arg-type]
    (folder / "out").mkdir()
    return make_package(folder / "version", manifest, folder / "out", folder / "work", b"a public key\n")


def field(file: Path, *part: str) -> str:
    """What the package says of itself, or one of its own files."""
    return subprocess.run(["dpkg-deb", "-I", file, *part], capture_output=True, text=True, check=True).stdout


def test_a_version_holds_the_packages_of_its_wheels_and_nothing_else_of_them(tmp_path: Path) -> None:
    manifest = version(tmp_path)
    packages = str(site_packages(python_minor()))
    assert set(manifest.files) == {"pyvenv.cfg", *(f"{packages}/{name}" for name in (
        "thing/__init__.py", "thing-1.0.dist-info/METADATA", "beside.py"))}
    assert read_manifest(manifest_bytes(manifest)) == manifest
    assert (tmp_path / "version/manifest.json").read_bytes() == manifest_bytes(manifest)


@pytest.mark.parametrize("name", ["../outside.py", "/etc/passwd", "a/../../outside.py", "a\\b.py"])
def test_a_member_that_leads_out_of_the_folder_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(Refused, match="wheel_unreadable"):
        version(tmp_path, {name: b""})
    assert not (tmp_path / "outside.py").exists()


@debian
def test_the_same_wheels_give_the_same_package_whatever_the_folder_order_hour_and_umask(
        tmp_path: Path) -> None:
    first = package(tmp_path / "a").read_bytes()
    before = os.umask(0o077)
    try:
        again = package(tmp_path / "another folder", members=dict(reversed(WHEEL.items())), hour=9)
    finally:
        os.umask(before)
    assert again.read_bytes() == first
    assert package(tmp_path / "c", members={**WHEEL, "beside.py": b"# "}).read_bytes() != first


@debian
def test_the_package_s_files_belong_to_root_and_only_programs_run(tmp_path: Path) -> None:
    file = package(tmp_path)
    told = subprocess.run(["dpkg-deb", "-c", file], capture_output=True, text=True, check=True).stdout
    lines = [line.split(maxsplit=5) for line in told.splitlines()]
    assert {line[1] for line in lines} == {"root/root"}
    runs = {line[5] for line in lines if line[0].startswith("-") and "x" in line[0]}
    assert runs == {"./usr/bin/pursuit-kiosk"}
    assert {line[0] for line in lines} <= {"drwxr-xr-x", "-rw-r--r--", "-rwxr-xr-x", "lrwxrwxrwx"}
    assert not [line[5] for line in lines if line[5].startswith(("./var", "./run"))]  # no store, no state
    assert any(line[5].endswith("getty@tty1.service -> /dev/null") for line in lines)


@debian
def test_the_package_names_what_it_needs_and_its_settings(tmp_path: Path) -> None:
    file = package(tmp_path)
    told = field(file)
    major, minor = map(int, python_minor().split("."))
    assert f"python3 (>= {major}.{minor}), python3 (<< {major}.{minor + 1})" in told
    assert "Version: 1.2.3" in told and "Architecture: amd64" in told
    settings = ["/etc/pursuit-kiosk/kiosk.toml", "/etc/pursuit-kiosk/update-key.pem"]
    assert field(file, "conffiles").split() == settings
    for script in ("postinst", "prerm", "postrm"):
        text = field(file, script)
        assert "@VERSION@" not in text
        assert subprocess.run(["sh", "-n"], input=text, text=True).returncode == 0
        assert not re.search(r"rm -rf /var/lib", text)  # the store is nobody's to remove
