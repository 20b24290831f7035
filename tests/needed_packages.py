"""Tests that need a system package: left out by its name where it is missing, and a failure under CI.

`needs("poppler-utils")` marks a test or, as `pytestmark`, a module; a fixture calls `need("postgresql")`. The
packages are those of the one list (kiosk.base.system_packages). What was left out is told at the end.
"""

import os

import pytest

from kiosk.base.system_packages import SYSTEM_PACKAGES, Use, apt_line, package

WINDOW_PACKAGES = tuple(one.name for one in SYSTEM_PACKAGES if one.use is Use.WINDOW)
left_out: dict[str, list[str]] = {}  # package -> what was left out for it, in the order it came


def needs(*names: str) -> pytest.MarkDecorator:
    """A mark for what cannot be tested without these packages."""
    return pytest.mark.needs(*(package(name).name for name in names))


WINDOW = needs(*WINDOW_PACKAGES)


def missing(*names: str) -> list[str]:
    """Which of these packages this machine lacks."""
    return [name for name in names if not package(name).is_there()]


def need(*names: str) -> None:
    """Go on where these packages are there; else the running test is left out, or fails under CI."""
    lacking = missing(*names)
    if not lacking:
        return
    leave_out(os.environ.get("PYTEST_CURRENT_TEST", "a test").rpartition(" ")[0], *lacking)
    told = f"{' and '.join(lacking)} is not installed"
    pytest.fail(f"{told}, and CI leaves out nothing", pytrace=False) if is_ci() else pytest.skip(told)


def leave_out(what: str, *names: str) -> None:
    """Note that something is not tested for want of packages."""
    for name in names:
        left_out.setdefault(name, []).append(what)


def is_ci() -> bool:
    """Whether this is a run on a machine that must lack nothing."""
    return os.environ.get("CI") == "true"


def closing_lines() -> list[str]:
    """What was left out for want of each package, and how to get them all."""
    if not left_out:
        return []
    lines = [f"{name} ({package(name).needed_for}): {len(what)} left out, first {what[0]}"
             for name, what in sorted(left_out.items())]  # fmt: skip
    return [*lines, f"As an administrator: {apt_line(sorted(left_out))}"]
