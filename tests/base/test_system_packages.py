"""The list of system packages: each is found by what it brings."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from kiosk.base import system_packages
from kiosk.base.system_packages import SYSTEM_PACKAGES, apt_line
from tests.sources import ROOT


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="libraries are looked for on Linux only")
def test_a_library_is_there_when_it_loads_and_a_program_when_it_is_on_the_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert system_packages.loads("libc.so.6")()
    assert not system_packages.loads("libc.so.6", "libnosuchthing.so.1")()
    monkeypatch.setenv("PATH", str(tmp_path))
    assert not system_packages.has_program("no-such-program")()
    (tmp_path / "no-such-program").touch(mode=0o755)
    assert system_packages.has_program("no-such-program")()


def test_text_is_shaped_where_the_library_that_is_asked_for_loads() -> None:
    """Pillow itself, the outside witness: raqm works exactly where FriBidi loads."""
    from PIL import features

    assert features.check("raqm") == system_packages.package("libfribidi0").is_there()


def test_the_list_is_in_order_and_every_package_says_what_needs_it() -> None:
    names = [one.name for one in SYSTEM_PACKAGES]
    assert len(set(names)) == len(names)
    assert all(one.needed_for for one in SYSTEM_PACKAGES)
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9+.-]+", name) for name in names)


def test_the_line_runs_as_it_stands(tmp_path: Path) -> None:
    """In a shell, with an apt-get that only writes down how it was called."""
    calls = tmp_path / "calls"
    (tmp_path / "apt-get").write_text(f'#!/bin/sh\necho "$@" >> {calls}\n')
    (tmp_path / "apt-get").chmod(0o755)
    path = {"PATH": f"{tmp_path}:/usr/bin:/bin"}
    assert subprocess.run(["sh", "-c", apt_line(["libgl1", "cups"])], env=path).returncode == 0
    assert calls.read_text().splitlines() == ["update", "install -y --no-install-recommends libgl1 cups"]


def test_ci_asks_for_no_package_by_itself() -> None:
    ci = (ROOT / ".ci" / "run").read_text()
    assert "apt-get" not in ci
    assert "python3 tests" in ci
