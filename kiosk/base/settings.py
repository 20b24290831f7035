"""Facts of this machine: where the project's files lie, in a checkout or in an installed wheel.

Nothing about a person, a battery or a screen is set here. In a checkout `locales/` and `demo_norms/`
stand at the top level; in a wheel the same folders lie inside the package.
"""

import os
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]
APPLICATION = "pursuit-kiosk"


def root_folder() -> Path | None:
    """The top of the checkout, or None in an installed wheel."""
    top = PACKAGE.parent
    return top if (top / "pyproject.toml").is_file() and (top / "locales").is_dir() else None


def locales_folder() -> Path:
    """The folder of message catalogues, TAG/LC_MESSAGES/kiosk.po; another where PURSUIT_LOCALES names one."""
    given = os.environ.get("PURSUIT_LOCALES", "")
    return Path(given) if given else _data_folder("locales")


def demo_norms_folder() -> Path:
    """The reference table made from simulated hands, for demo and training only."""
    return _data_folder("demo_norms")


def data_folder() -> Path:
    """The user's folder for what must be kept (not created here)."""
    given = Path(os.environ.get("XDG_DATA_HOME", ""))
    base = given if given.is_absolute() else Path.home() / ".local/share"
    return base / APPLICATION


def _data_folder(name: str) -> Path:
    root = root_folder()
    return (PACKAGE if root is None else root) / name
