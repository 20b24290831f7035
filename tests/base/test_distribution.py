"""What is handed on: one version, bounds on every dependency, and locks that keep to them."""

import tomllib

from kiosk import __version__
from tests.sources import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


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
