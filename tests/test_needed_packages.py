"""A test whose system package is missing is left out by name, and fails where CI=true."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from kiosk.base import system_packages
from tests import needed_packages
from tests.needed_packages import need
from tests.sources import ROOT

ASKED = ("tests/report/test_leaflet.py", "-k", "words_are_found_again")


@pytest.fixture
def without_gettext(monkeypatch: pytest.MonkeyPatch) -> None:
    there = tuple(replace(one, is_there=lambda name=one.name: name != "gettext")  # type: ignore[misc]
                  for one in system_packages.SYSTEM_PACKAGES)  # fmt: skip
    monkeypatch.setattr(system_packages, "SYSTEM_PACKAGES", there)
    monkeypatch.setattr(needed_packages, "left_out", {})


def test_it_is_left_out_by_name(without_gettext: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    need("git")
    with pytest.raises(pytest.skip.Exception, match="gettext is not installed"):
        need("git", "gettext")
    name, line = needed_packages.closing_lines()
    assert name.startswith("gettext (an outside check of catalogues (msgfmt)): 1 left out, first tests/test")
    assert line.endswith("apt-get install -y --no-install-recommends gettext")


def test_under_ci_it_fails(without_gettext: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="gettext is not installed, and CI leaves out nothing"):
        need("gettext")


def test_a_package_that_is_not_on_the_list_cannot_be_asked_for() -> None:
    with pytest.raises(StopIteration):
        need("no-such-package")


@pytest.mark.parametrize(("ci", "code"), [("", 0), ("true", 1)])
def test_a_run_on_a_machine_without_poppler_closes_with_its_name(ci: str, code: int, tmp_path: Path) -> None:
    command = [sys.executable, "-P", "-m", "pytest", "-q", "-p", "no:cacheprovider", *ASKED]
    lacking = os.environ | {"PATH": str(tmp_path), "CI": ci}
    done = subprocess.run(command, cwd=ROOT, env=lacking, capture_output=True, text=True)
    assert done.returncode == code, done.stdout
    assert "left out: system packages are missing" in done.stdout
    assert "poppler-utils (a look at pages): " in done.stdout
