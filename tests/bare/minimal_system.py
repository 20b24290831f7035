"""A minimal Debian 12 in a folder: python3 and ca-certificates, and what it takes to reach packages.

The mirror, proxy, certificates and package index are this machine's own, found as it runs. Commands run in it
with mounts and processes of their own (unshare), so that nothing stays mounted or at work whatever ends them.
Needs an administrator.
"""

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

SUITE = "bookworm"
PATH = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
CERTIFICATES = "/etc/ssl/certs/ca-certificates.crt"
OF_THE_NETWORK = re.compile(r"(https?|no|ftp|all)_proxy", re.IGNORECASE)
OF_THE_INDEX = ("index-url", "extra-index-url", "trusted-host", "proxy", "timeout", "default-timeout")
ENTER = """
set -e
root=$1; user=$2; shift 2
mount -t proc proc "$root/proc"
mount -t tmpfs -o mode=755 none "$root/dev"
mkdir "$root/dev/pts" "$root/dev/shm"
chmod 1777 "$root/dev/shm"
mount -t devpts -o newinstance,ptmxmode=0666,mode=620 devpts "$root/dev/pts"
for node in null zero full random urandom tty; do
    touch "$root/dev/$node"; mount --bind "/dev/$node" "$root/dev/$node"
done
ln -s /proc/self/fd "$root/dev/fd"
ln -s pts/ptmx "$root/dev/ptmx"
exec chroot --userspec="$user" "$root" "$@"
"""


@dataclass(frozen=True)
class Done:
    """What came of a command: its exit code, all it said, and how long it took."""

    code: int
    said: str
    took_s: float


class MinimalSystem:
    """A root folder in which commands run as its root or as another user of its own."""

    def __init__(self, root: Path) -> None:
        self.root = root

    @classmethod
    def make(cls, root: Path) -> "MinimalSystem":
        """From this machine's mirror, able to reach what this machine reaches."""
        options = [f"--aptopt={line}" for line in _apt_proxies()]
        packages = ("--variant=minbase", "--include=python3,ca-certificates")
        command = ["mmdebstrap", "--quiet", *packages, *options, SUITE, str(root), *_mirrors()]
        _checked(command)
        system = cls(root)
        shutil.copyfile("/etc/resolv.conf", root / "etc" / "resolv.conf")
        for certificate in Path("/usr/local/share/ca-certificates").glob("**/*.crt"):
            shutil.copyfile(certificate, root / "usr/local/share/ca-certificates" / certificate.name)
        system.must_run("root", ["update-ca-certificates"])
        (root / "etc" / "pip.conf").write_text(_pip_settings())
        return system

    def copy(self, root: Path) -> "MinimalSystem":
        """Another one like it."""
        _checked(["cp", "-a", str(self.root), str(root)])
        return MinimalSystem(root)

    def run(self, user: str, command: Sequence[str], folder: str = "/", *, network: bool = True,
            **variables: str) -> Done:  # fmt: skip
        """Run a command inside, as root or another user of its own, with this machine's network or none."""
        home = "/root" if user == "root" else f"/home/{user}"
        own = {"HOME": home, "USER": user, "PATH": PATH, "LANG": "C.UTF-8"}
        own |= _network_variables() | variables
        inside = ["env", "-i", *(f"{name}={value}" for name, value in own.items()),
                  "sh", "-c", 'cd "$1" && shift && exec "$@"', "sh", folder, *command]  # fmt: skip
        apart = ["--mount", "--pid", "--fork", "--kill-child", *(() if network else ("--net",))]
        alone = ["unshare", *apart, "sh", "-c", ENTER, "sh"]
        began_s = time.monotonic()
        done = subprocess.run(
            [*alone, str(self.root), user, *inside], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, text=True, errors="replace")  # fmt: skip
        return Done(done.returncode, done.stdout, time.monotonic() - began_s)

    def must_run(self, user: str, command: Sequence[str], folder: str = "/", **variables: str) -> Done:
        """The same, where nothing else than success will do."""
        done = self.run(user, command, folder, **variables)
        if done.code:
            raise SystemExit(f"In the bare system, as {user}, {' '.join(command)} ended with {done.code}:\n"
                             + "\n".join(done.said.splitlines()[-60:]))  # fmt: skip
        return done

    def inside(self, path: str) -> Path:
        """Where a path of its own lies from outside."""
        return self.root / path.lstrip("/")


def size_mb(folder: Path) -> int:
    """What a folder takes on the disk, in megabytes; a file with several names counts once."""
    seen = {}
    for place, _, names in os.walk(folder):
        for name in names:
            status = os.lstat(os.path.join(place, name))
            seen[status.st_dev, status.st_ino] = status.st_blocks * 512
    return round(sum(seen.values()) / 1e6)


def _checked(command: Sequence[str]) -> str:
    done = subprocess.run(command, capture_output=True, text=True, errors="replace")
    if done.returncode:
        raise SystemExit(f"{' '.join(command)} ended with {done.returncode}:\n{done.stderr[-3000:]}")
    return done.stdout


def _mirrors() -> list[str]:
    """This machine's own sources of the suite; none where it is another system: mmdebstrap knows its own."""
    told = _checked(["apt-get", "indextargets", "--format", "$(REPO_URI) $(RELEASE) $(COMPONENT)",
                     "Created-By: Packages"])  # fmt: skip
    lines = (line.split() for line in told.splitlines())
    return [f"deb {uri} {suite} {component}" for uri, suite, component in lines if suite.startswith(SUITE)]


def _apt_proxies() -> list[str]:
    told = _checked(["apt-config", "dump", "--format", "%f %v%n", "Acquire"])
    found = (line.split(" ", 1) for line in told.splitlines() if "::Proxy" in line)
    return [f'{name} "{value}"' for name, value in found if value.strip()]


def _network_variables() -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if OF_THE_NETWORK.fullmatch(name)}


def _pip_settings() -> str:
    """pip's own settings here that name where packages come from; folders of this machine are left out."""
    told = _checked([sys.executable, "-m", "pip", "config", "list"])
    lines = ["[global]"]
    for line in told.splitlines():
        key, _, value = line.partition("=")
        name, given = key.rpartition(".")[2], value.strip("'\"")
        if name == "cert":
            lines.append(f"cert = {CERTIFICATES}")
        elif name in OF_THE_INDEX and "file:" not in given:
            lines.append(f"{name} = {given}")
    return "\n".join(dict.fromkeys(lines)) + "\n"
