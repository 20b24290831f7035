"""Lint and strict types, as tests like the others."""

import subprocess
import sys

from tests.sources import ROOT


def test_the_linter_finds_nothing() -> None:
    assert _told("ruff", "check", "--no-cache", "kiosk", "norms", "tests") == (0, "All checks passed!")


def test_strict_types_hold_in_kiosk_and_norms() -> None:
    code, told = _told("mypy", "--strict")
    assert code == 0, told


def _told(*command: str) -> tuple[int, str]:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)
    return done.returncode, (done.stdout + done.stderr).strip()
