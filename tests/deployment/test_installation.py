"""The whole way of an installed kiosk, on a bare Debian 12 under systemd without a network (`--long`).

The bundle is made by the command itself, from this tree. The machine is a minimal system started by
systemd-nspawn, in which the units are the installed ones but for the display server: Xvfb in place of Xorg,
as there is no graphics card. Needs an administrator, mmdebstrap, dpkg-dev and systemd-container.
"""

import hashlib
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from kiosk import __version__
from kiosk.deployment.bundle import own_architecture
from kiosk.deployment.debian_package import make_package
from kiosk.deployment.signed_update import public_of, sign_update
from kiosk.deployment.version_folder import (
    MANIFEST,
    listed,
    make_version,
    manifest_bytes,
    read_manifest,
    site_packages,
)
from kiosk.storage.tables import SCHEMA_REVISION
from tests.bare.minimal_system import MinimalSystem

PROGRAMS = ("mmdebstrap", "systemd-nspawn", "dpkg-scanpackages", "dpkg-deb", "nsenter")
LACKING = [name for name in PROGRAMS if shutil.which(name) is None]
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(bool(LACKING) or os.geteuid() != 0, reason=f"an administrator, and {LACKING}")]
KIOSK, DISPLAY = "pursuit-kiosk", "pursuit-kiosk-display"
AS_KIOSK = "runuser -u pursuit-kiosk -- pursuit-kiosk"
STORE = "/var/lib/pursuit-kiosk/kiosk.store"
DISPLAY_OF_THE_TEST = f"""[Service]
ExecStart=
ExecStart=/usr/bin/Xvfb :0 -screen 0 1280x800x24 -nolisten tcp -auth /run/{DISPLAY}/authority \\
    -fbdir /run/{DISPLAY}
"""
LATER = {
    "0.2.0": ("__init__.py", "", ""),
    "0.3.0": ("cli/start.py", "    if not has_display(", "    os.abort()\n    if not has_display("),
    "0.4.0": ("cli/composition.py", "def run_demo(", "def run_demo(*a, **k): raise OSError\ndef unused(")}
"""Versions to come: one as it is, one that ends as soon as it is started, one that can give no visit."""


class RunningMachine:
    """A root started by systemd; `run` is what an administrator types there."""

    def __init__(self, root: Path) -> None:
        self.root = root
        command = ["systemd-nspawn", "--quiet", "--directory", str(root), "--boot", "--private-network",
                   "--register=no", "--keep-unit", "--console=pipe"]
        self._process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                         stderr=subprocess.DEVNULL)
        self._until(lambda: self._leader() != ""
                    and self.run("systemctl is-active multi-user.target", 99).strip() == "active")

    def run(self, command: str, most_code: int = 0) -> str:
        """What it says; most_code: the highest exit code that will do."""
        inside = ["nsenter", "-t", self._leader(), "-m", "-u", "-i", "-n", "-p", "-r", "-w", "env", "-i"]
        settings = ["PATH=/usr/sbin:/usr/bin:/sbin:/bin", "LANG=C.UTF-8", "DEBIAN_FRONTEND=noninteractive"]
        done = subprocess.run([*inside, *settings, "sh", "-c", command], capture_output=True, text=True)
        assert done.returncode <= most_code, f"{command}: {done.returncode} {done.stdout}{done.stderr}"
        return done.stdout + done.stderr

    def wait_until_it_draws(self, version: str) -> None:
        """The unit is up (it told so after a picture), by the version."""
        self._until(lambda: self.run(f"systemctl is-active {KIOSK}", 3).strip() == "active"
                    and self.run("readlink /opt/pursuit-kiosk/current").strip() == f"versions/{version}")

    def stop(self) -> None:
        """Switch it off."""
        self._process.terminate()
        self._process.wait(60.0)

    def _leader(self) -> str:
        children = Path(f"/proc/{self._process.pid}/task/{self._process.pid}/children")
        return "".join(children.read_text().split()[:1])

    def _until(self, holds: object, longest_s: float = 180.0) -> None:
        end_s = time.monotonic() + longest_s
        while not holds():  # type: ignore[operator]
            assert time.monotonic() < end_s, self.run(f"systemctl status {KIOSK} {DISPLAY}", 99)
            time.sleep(0.5)


@pytest.fixture(scope="module")
def bundle(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Made by the command, with a key."""
    folder = tmp_path_factory.mktemp("bundle")
    for words in (("update", "--new-key", "maker"), ("bundle", "--out", "out", "--signing-key", "maker")):
        subprocess.run([sys.executable, "-P", "-m", "kiosk", *words], cwd=folder, check=True)
    return folder / "out"


@pytest.fixture(scope="module")
def updates(bundle: Path) -> dict[str, Path]:
    """Signed updates of the versions to come."""
    folder = bundle.parent / "updates"
    wheels = (bundle / "wheels" / own_architecture().wheels).glob("*.whl")
    manifest = make_version(folder / "base", wheels, __version__, own_architecture(), SCHEMA_REVISION)
    for version, change in LATER.items():
        place = folder / version
        subprocess.run(["cp", "-a", folder / "base", place], check=True)
        own = place / site_packages(manifest.python) / "kiosk"
        for name, old, new in (("__init__.py", f'"{__version__}"', f'"{version}"'), change):
            text = (own / name).read_text("utf-8")
            assert old in text
            (own / name).write_text(text.replace(old, new, 1), "utf-8")
        made = replace(manifest, version=version, files=listed(place))
        (place / MANIFEST).write_bytes(manifest_bytes(made))
        sign_update(place, bundle.parent / "maker", folder / f"{version}.update")
        shutil.rmtree(place)
    return {version: folder / f"{version}.update" for version in LATER}


@pytest.fixture(scope="module")
def machine(bundle: Path, updates: dict[str, Path]) -> Iterator[RunningMachine]:
    """Installed without a network, and started."""
    root = bundle.parent / "root"
    system = MinimalSystem.make(root)
    line = "apt-get -qq update && apt-get install -qqy --no-install-recommends systemd systemd-sysv dbus xvfb"
    system.must_run("root", ["sh", "-c", line], DEBIAN_FRONTEND="noninteractive")
    subprocess.run(["cp", "-a", bundle, root / "bundle"], check=True)
    for file in updates.values():
        shutil.copy(file, root / "root")
    installed = system.run("root", ["sh", "/bundle/install.sh"], network=False)
    assert installed.code == 0 and "OPEN" not in installed.said, installed.said[-3000:]
    print(f"installed without a network in {installed.took_s:.0f} s")
    dropped = root / f"etc/systemd/system/{DISPLAY}.service.d/test.conf"
    dropped.parent.mkdir(parents=True)
    dropped.write_text(DISPLAY_OF_THE_TEST)
    started = RunningMachine(root)
    yield started
    started.stop()


def picture(machine: RunningMachine) -> Image.Image:
    """What the display shows: a window dump (X11 file format XWD), as Xvfb keeps one."""
    dump = (Path(f"/proc/{machine._leader()}/root/run/{DISPLAY}/Xvfb_screen0")).read_bytes()
    head = [int.from_bytes(dump[at:at + 4], "big") for at in range(0, 100, 4)]
    size, line_bytes, begin = (head[4], head[5]), head[12], head[0] + head[19] * 12
    pixels = dump[begin:begin + line_bytes * size[1]]
    return Image.frombuffer("RGB", size, pixels, "raw", "BGRX", line_bytes, 1)


def visits(machine: RunningMachine) -> str:
    """The head of the audit of the store, once every line of it has been checked."""
    told = machine.run(f"{AS_KIOSK} audit verify --store {STORE} --passphrase-file /var/tmp/t/pw")
    found = re.search(r"(\d+) lines, head (\S+)\.", told)
    assert found is not None and int(found[1]) > 30, told
    return found[2]


def test_the_whole_way_of_an_installed_kiosk(machine: RunningMachine) -> None:
    machine.wait_until_it_draws(__version__)
    verified = machine.run(f"systemd-analyze verify {KIOSK}.service {DISPLAY}.service")
    assert verified == ""
    assert machine.run(f"stat -c %U /proc/$(systemctl show -p MainPID --value {KIOSK})").strip() == KIOSK
    shown = picture(machine)
    colours = shown.getcolors(1 << 24)
    assert shown.size == (1280, 800)
    assert colours is not None and len(colours) > 100  # letters with their soft edges, not a plain ground
    machine.run("install -d -m 700 -o pursuit-kiosk /var/tmp/t; echo four plain words here > /var/tmp/t/pw; "
                f"chown pursuit-kiosk /var/tmp/t/pw; cd /var/tmp/t; {AS_KIOSK} demo --no-window --visits 2 "
                f"--out out --store {STORE} --passphrase-file pw")
    before = visits(machine)

    told = machine.run(f"{KIOSK} update /root/0.4.0.update", 1)
    assert "did not come through a demo visit" in told
    machine.wait_until_it_draws(__version__)
    assert "Version 0.2.0 runs, on trial." in machine.run(f"{KIOSK} update /root/0.2.0.update")
    machine.wait_until_it_draws("0.2.0")
    machine.run(f"systemctl restart {KIOSK}")  # an orderly end is no crash
    machine.wait_until_it_draws("0.2.0")
    machine.run(f"{KIOSK} update /root/0.3.0.update")
    machine.wait_until_it_draws("0.2.0")  # 0.3.0 ended as soon as it was started: the one before is back
    assert "Version 0.3.0 was left." in machine.run(f"{KIOSK} update")
    assert visits(machine) == before

    machine.run("apt-get -qq remove -y pursuit-kiosk")
    gone = machine.run("ls /opt/pursuit-kiosk /etc/sysctl.d/99-zz-pursuit-kiosk.conf", 2)
    assert gone.count("No such file") == 2
    assert "The store" in machine.run("apt-get -qq purge -y pursuit-kiosk")
    assert machine.run("ls /etc/pursuit-kiosk/kiosk.toml", 2).count("No such file") == 1
    machine.run("dpkg -i /bundle/debs/pursuit-kiosk_*.deb")
    assert visits(machine) == before  # the store still opens, and holds what it held


def test_the_package_has_the_same_bytes_when_it_is_made_in_another_folder(
        bundle: Path, tmp_path: Path) -> None:
    wheels = (bundle / "wheels" / own_architecture().wheels).glob("*.whl")
    manifest = make_version(tmp_path / "version", wheels, __version__, own_architecture(), SCHEMA_REVISION)
    again = make_package(tmp_path / "version", manifest, tmp_path, tmp_path / "work",
                         public_of(bundle.parent / "maker"))
    first = bundle / "debs" / again.name
    assert hashlib.sha256(again.read_bytes()).digest() == hashlib.sha256(first.read_bytes()).digest()
    assert read_manifest(manifest_bytes(manifest)) == manifest
