"""Where files lie: in a checkout, in a wheel, in the user's folders."""

from pathlib import Path

import pytest

from kiosk.base import settings


def test_a_checkout_keeps_its_data_at_the_top() -> None:
    assert settings.root_folder() == Path(settings.__file__).parents[2]
    assert (settings.locales_folder() / "en" / "LC_MESSAGES" / "kiosk.po").is_file()
    assert settings.demo_norms_folder() == Path(settings.__file__).parents[2] / "demo_norms"


def test_a_wheel_carries_its_data_inside(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(settings, "PACKAGE", tmp_path / "kiosk")
    assert settings.root_folder() is None
    assert settings.locales_folder() == tmp_path / "kiosk" / "locales"
    assert settings.demo_norms_folder() == tmp_path / "kiosk" / "demo_norms"


@pytest.mark.parametrize(("given", "base"), [("/elsewhere", "/elsewhere"), ("", "/home/x/.local/share"),
                                             ("relative", "/home/x/.local/share")])  # fmt: skip
def test_the_folder_of_data_follows_the_base_directory_specification(
    monkeypatch: pytest.MonkeyPatch, given: str, base: str
) -> None:
    """XDG Base Directory Specification 0.8: unset or empty is the default; relative paths are ignored."""
    monkeypatch.setenv("HOME", "/home/x")
    monkeypatch.setenv("XDG_DATA_HOME", given)
    assert settings.data_folder() == Path(base) / "pursuit-kiosk"
