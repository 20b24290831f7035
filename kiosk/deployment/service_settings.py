"""The settings file of an installed kiosk (TOML), as the options of `start` that it stands for.

A passphrase is no setting: the person at the screen opens the store. All faults are told at once.
Decision packaging-3.
"""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

from kiosk.base.errors import Refused


def _text(name: str, value: Any) -> list[str] | None:
    return None if not isinstance(value, str) else [f"--{name}", value] if value else []


def _switch(name: str, value: Any) -> list[str] | None:
    return None if not isinstance(value, bool) else [f"--{name}"] if value else []


def _numbers(count: int) -> Callable[[str, Any], list[str] | None]:
    def numbers(name: str, value: Any) -> list[str] | None:
        fits = isinstance(value, list) and len(value) == count and {*map(type, value)} <= {int, float}
        return [f"--{name}", *map(str, value)] if fits else None

    return numbers


OPTIONS: Final[Mapping[str, Callable[[str, Any], list[str] | None]]] = {
    "place": _text, "language": _text, "paper": _text, "touch": _text, "device_class": _text,
    "pages": _text, "tables": _text, "backups": _text, "tones": _switch,
    "px_per_mm": _numbers(2), "touch_ranges": _numbers(4)}


def options_of(file: Path) -> list[str]:
    """The options a settings file stands for; Refused settings_unreadable, settings_wrong."""
    try:
        read = tomllib.loads(file.read_text("utf-8"))
    except OSError as fault:
        why = fault.strerror or "no access"
        raise Refused("settings_unreadable", {"file": str(file), "found": why}) from fault
    except ValueError as fault:
        raise Refused("settings_unreadable", {"file": str(file), "found": str(fault)}) from fault
    made = {key: OPTIONS[key](key.replace("_", "-"), value) if key in OPTIONS else None
            for key, value in read.items()}
    wrong = tuple(f"{key} = {read[key]}" for key, options in made.items() if options is None)
    if wrong:
        raise Refused("settings_wrong", {"file": str(file), "names": wrong, "known": tuple(OPTIONS)})
    return [option for options in made.values() for option in options or ()]
