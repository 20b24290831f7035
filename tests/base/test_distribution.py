"""What is handed on: one version, and bounds on every dependency: what was tried, and nothing more.

Decision packaging-1.
"""

import csv
import tomllib
from itertools import product

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name
from packaging.version import Version

from kiosk import __version__
from tests.lock import MACHINES, PLATFORMS, PYTHONS, RUN_LOCK, TEST_LOCK, blocks, lock_hash
from tests.sources import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
DECLARED = [
    Requirement(told)
    for told in (
        *PROJECT["build-system"]["requires"],
        *PROJECT["project"]["dependencies"],
        *PROJECT["project"]["optional-dependencies"]["test"],
    )
]
RESOLVED = [*csv.DictReader(PLATFORMS.read_text("utf-8").splitlines())]
NEWEST_IS_WANTED = {"tzdata"}  # the world's time zones, no code


def locked(name: str) -> list[Version]:
    """The versions of a package in both locks, the newest last; several where they depend on Python's."""
    both = RUN_LOCK.read_text("utf-8") + TEST_LOCK.read_text("utf-8")
    pins = [block.split()[0].partition("==") for block in blocks(both)]
    return sorted(Version(pin) for pinned, _, pin in pins if pinned == canonicalize_name(name))


def bound(requirement: Requirement, *operators: str) -> Version | None:
    found = [Version(one.version) for one in requirement.specifier if one.operator in operators]
    return found[0] if len(found) == 1 else None


def test_the_version_stands_once() -> None:
    assert "version" in PROJECT["project"]["dynamic"]
    assert PROJECT["tool"]["hatch"]["version"] == {"path": "kiosk/__init__.py"}
    holding = [
        path.relative_to(ROOT).as_posix()
        for top in ("kiosk", "norms")
        for path in (ROOT / top).rglob("*.py")
        if f'"{__version__}"' in path.read_text("utf-8")
    ]
    assert holding == ["kiosk/__init__.py"]


@pytest.mark.parametrize("requirement", DECLARED, ids=str)
def test_the_locked_version_lies_between_two_bounds(requirement: Requirement) -> None:
    lower, upper = bound(requirement, ">=", "=="), bound(requirement, "<", "==")
    assert lower is not None and upper is not None and lower <= upper
    assert locked(requirement.name)
    assert all(version in requirement.specifier for version in locked(requirement.name))


@pytest.mark.parametrize("requirement", DECLARED, ids=str)
def test_no_series_newer_than_the_locked_one_is_let_in(requirement: Requirement) -> None:
    newest = locked(requirement.name)[-1]
    next_series = Version(f"{newest.major}.{newest.minor + 1}")
    assert next_series not in requirement.specifier or requirement.name in NEWEST_IS_WANTED


def test_where_the_pins_have_wheels_was_asked_of_this_very_lock() -> None:
    """Made by `python -m tests.lock --platforms`."""
    assert {row["lock_sha256"] for row in RESOLVED} == {lock_hash()}
    assert [(row["machine"], row["python"]) for row in RESOLVED] == [*product(MACHINES, PYTHONS)]


def test_every_python_that_is_let_in_resolves_on_the_machines_that_are_named() -> None:
    let_in = SpecifierSet(PROJECT["project"]["requires-python"])
    resolving = {(row["machine"], row["python"]) for row in RESOLVED if row["resolves"] == "yes"}
    named = ("Linux, x86_64", "Linux, aarch64", "macOS, arm64", "Windows, x86_64")
    assert resolving == {(machine, python) for machine in named for python in PYTHONS if python in let_in}
