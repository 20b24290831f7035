"""A machine, a Python or a disk that the locked wheels do not run on is told so in one sentence."""

import ast
import csv
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from kiosk.base import supported_machine
from kiosk.base.supported_machine import Machine, unfit_machine, unfit_python
from tests.sources import ROOT

DEBIAN_12 = Machine((3, 11), "cpython", 64, "Linux", "x86_64", ("glibc", "2.36"))
OLD_PYTHONS = ("python3.6", "python3.7", "python3.8", "python3.9", "python3.10")


@pytest.mark.parametrize("machine", [
    DEBIAN_12,
    DEBIAN_12._replace(python=(3, 13), processor="aarch64"),
    DEBIAN_12._replace(system="Darwin", processor="arm64", libc=("", "")),
    DEBIAN_12._replace(system="Windows", processor="AMD64", libc=("", "")),
])  # fmt: skip
def test_where_the_locks_resolve_nothing_is_said(machine: Machine) -> None:
    assert unfit_python(machine) is None
    assert unfit_machine(machine) is None


@pytest.mark.parametrize(("changed", "named"), [
    ({"python": (3, 10)}, "This is Python 3.10, and the locked wheels are for 3.11 to 3.13"),
    ({"python": (3, 14)}, "This is Python 3.14, and the locked wheels are for 3.11 to 3.13"),
    ({"implementation": "pypy"}, "This is pypy, and the locked wheels are for CPython"),
])
def test_a_python_without_wheels_is_refused_with_what_to_install(
    changed: dict[str, object], named: str
) -> None:
    told = unfit_python(DEBIAN_12._replace(**changed))
    assert told is not None and told.startswith(named)
    assert "python3.13 kiosk" in told


@pytest.mark.parametrize(("changed", "named"), [
    ({"system": "Darwin", "processor": "x86_64"}, "x86_64, and on macOS the locked wheels are for arm64"),
    ({"bits": 32}, "This Python is 32-bit"),
    ({"processor": "i686"}, "The processor is i686"),
    ({"processor": "riscv64"}, "on Linux the locked wheels are for aarch64 or x86_64"),
    ({"system": "FreeBSD"}, "This is FreeBSD"),
    ({"libc": ("", "")}, "musl instead of glibc"),
    ({"libc": ("glibc", "2.27")}, "This Linux has glibc 2.27, and the locked wheels need 2.28 or newer"),
])  # fmt: skip
def test_a_machine_without_wheels_is_refused_by_name(changed: dict[str, object], named: str) -> None:
    told = unfit_machine(DEBIAN_12._replace(**changed))
    assert told is not None and named in told
    assert "use " in told and told.endswith(".") and "\n" not in told


def test_the_project_states_the_same_versions_of_python() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    (oldest, newest), (major, minor) = supported_machine.OLDEST_PYTHON, supported_machine.NEWEST_PYTHON
    assert project["requires-python"] == f">={oldest}.{newest},<{major}.{minor + 1}"


def test_what_is_refused_is_what_the_locks_have_no_wheels_for() -> None:
    """tests/platforms.csv is written by the resolver uv (tests/lock.py), asked for each platform."""
    systems = {"Linux": "Linux", "macOS": "Darwin", "Windows": "Windows"}
    processors = {("Windows", "x86_64"): "AMD64"}
    with (ROOT / "tests" / "platforms.csv").open() as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        named, processor = row["machine"].split(", ")
        system = systems[named.partition(" ")[0]]
        libc = ("", "") if "musl" in named else DEBIAN_12.libc
        python = tuple(map(int, row["python"].split(".")))
        known_as = processors.get((system, processor), processor)
        machine = DEBIAN_12._replace(python=python, system=system, processor=known_as, libc=libc)
        fits = unfit_python(machine) is None and unfit_machine(machine) is None
        assert fits == (row["resolves"] == "yes"), row
    assert {row["resolves"] for row in rows} == {"yes", "no"}


@pytest.mark.parametrize("name", OLD_PYTHONS)
def test_an_old_python_can_read_the_refusal_and_ends_with_3(name: str, tmp_path: Path) -> None:
    """With the real interpreter where this machine has it; its grammar is asked where it has not."""
    python = _interpreter(name)
    if python is None:
        minor = int(name.rpartition(".")[2])
        for module in ("__main__.py", "base/bootstrap.py", "base/supported_machine.py"):
            ast.parse((ROOT / "kiosk" / module).read_text("utf-8"), feature_version=(3, minor))
        return
    done = subprocess.run([python, ROOT / "kiosk", "demo"], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 3
    assert done.stderr.startswith(f"This is Python {name.removeprefix('python')}, and the locked wheels")
    assert done.stderr.count("\n") == 1


def _interpreter(name: str) -> str | None:
    found = shutil.which(name)
    works = found and subprocess.run([found, "--version"], capture_output=True).returncode == 0
    return found if works else None


def test_a_disk_without_room_is_refused_before_anything_is_fetched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(10**9, 10**9, 212_000_000))
    with pytest.raises(SystemExit) as ended:
        supported_machine.refuse_too_little_room(tmp_path / "not" / "there", 700)
    assert ended.value.code == (
        f"Set-up needs 700 MB in {tmp_path}, and 212 MB are free there: "
        "make room, then run the same command again."
    )
    supported_machine.refuse_too_little_room(tmp_path, 212)
