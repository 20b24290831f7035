"""Write the two lock files anew from the names in pyproject.toml: `python -m tests.lock`.

Needs the resolver `uv` on the path (`pip install uv`); nothing else in the project does.
tests/requirements.txt holds what testing needs beyond kiosk/requirements.txt, at the same versions.

`python -m tests.lock --platforms` only asks where those pins have wheels, and writes platforms.csv beside
this file (some minutes); a new lock does so too. `python -m tests.lock --lowest FOLDER` makes an environment
of the oldest versions that pyproject.toml allows, in which tests can be run.
"""

import argparse
import csv
import hashlib
import re
import subprocess
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
RUN_LOCK, TEST_LOCK = ROOT / "kiosk" / "requirements.txt", ROOT / "tests" / "requirements.txt"
PLATFORMS = ROOT / "tests" / "platforms.csv"
RESOLVE = (
    "uv", "pip", "compile", "--quiet", "--only-binary", ":all:",
    "--no-header", "--no-annotate", "--no-emit-index-url",
)  # fmt: skip
LOCK = ("--universal", "--python-version", "3.11", "--generate-hashes")
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
MACHINES = {  # as the resolver names them; 2_36 is the C library of Debian 12
    "Linux, x86_64": "x86_64-manylinux_2_36",
    "Linux, aarch64": "aarch64-manylinux_2_36",
    "Linux with musl, x86_64": "x86_64-unknown-linux-musl",
    "macOS, arm64": "aarch64-apple-darwin",
    "macOS, x86_64": "x86_64-apple-darwin",
    "Windows, x86_64": "x86_64-pc-windows-msvc",
    "Windows, arm64": "aarch64-pc-windows-msvc",
    "Windows, 32-bit": "i686-pc-windows-msvc",
}


def resolved(*options: str) -> list[str]:
    """The pins, each with its hashes, as blocks of text."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "lock.txt"
        command = [*RESOLVE, *LOCK, *options, "pyproject.toml", "-o", str(out)]
        subprocess.run(command, cwd=ROOT, check=True)
        return blocks(out.read_text("utf-8"))


def blocks(text: str) -> list[str]:
    """One block for each pin: its line and its lines of hashes."""
    return [block for block in re.split(r"\n(?=\S)", text.strip()) if "==" in block]


def write_locks() -> None:
    """Resolve to run, then to test with those pins held."""
    run = resolved()
    RUN_LOCK.write_text("\n".join(run) + "\n", "utf-8")
    test = resolved("--extra", "test", "--constraint", str(RUN_LOCK))
    TEST_LOCK.write_text("\n".join(block for block in test if block not in run) + "\n", "utf-8")


def write_platforms() -> None:
    """Where the pins to run have wheels, with the hash of the lock that was asked about."""
    with PLATFORMS.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(("machine", "python", "resolves", "first_without_a_wheel", "lock_sha256"))
        table.writerows((*row, lock_hash()) for row in _asked())


def lock_hash() -> str:
    """The lock to run, in short."""
    return hashlib.sha256(RUN_LOCK.read_bytes()).hexdigest()[:16]


def make_lowest(environment: Path) -> None:
    """An environment with the oldest versions that are allowed, to run and to test."""
    with tempfile.TemporaryDirectory() as folder:
        pins = Path(folder) / "lowest.txt"
        lowest = ("--python-version", "3.11", "--resolution", "lowest-direct", "--extra", "test")
        subprocess.run([*RESOLVE, *lowest, "pyproject.toml", "-o", str(pins)], cwd=ROOT, check=True)
        subprocess.run(["uv", "venv", "--quiet", "--python", "3.11", str(environment)], check=True)
        install = ["uv", "pip", "install", "--quiet", "--python", str(environment), "--only-binary", ":all:"]
        subprocess.run([*install, "-r", str(pins)], check=True)
    (environment / "lib" / "python3.11" / "site-packages" / "pursuit-kiosk.pth").write_text(f"{ROOT}\n")


def main() -> None:
    """New locks and their platforms; or only what is asked for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--platforms", action="store_true")
    asked.add_argument("--lowest", type=Path, metavar="FOLDER")
    given = asked.parse_args()
    if given.lowest:
        make_lowest(given.lowest)
        return
    if not given.platforms:
        write_locks()
    write_platforms()


def _asked() -> Iterator[tuple[str, str, str, str]]:
    names = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    for machine, platform in MACHINES.items():
        for python in PYTHONS:
            where = ("--python-version", python, "--python-platform", platform)
            command = [*RESOLVE, *where, "--constraint", str(RUN_LOCK), "-"]
            done = subprocess.run(command, input="\n".join(names), text=True, capture_output=True)
            lacking = re.search(r"Because (?:only )?([a-z0-9-]+)[^ ]* has no", done.stderr)
            yield machine, python, "no" if done.returncode else "yes", lacking.group(1) if lacking else ""


if __name__ == "__main__":
    main()
