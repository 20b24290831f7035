"""The values of a reason, put into words one by one before they enter a sentence.

Measures become names, days become dates, numbers are rounded to what a sentence needs, lists are joined.
"""

import re
from collections.abc import Mapping
from contextlib import suppress
from datetime import date, datetime
from math import floor

from kiosk.i18n.language import Language
from kiosk.wording.measures import block_name, measure_name
from kiosk.wording.units import days_apart

_MEASURE = re.compile(r"[a-z]+\.(preferred|other|both)\.[a-z][a-z0-9_]*")
_BLOCK = re.compile(r"[a-z]+\.(preferred|other)")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\S*")
_DECIMALS = {"percent": 1, "ms": 0, "hz": 0, "mm": 1, "s": 1}
_LONGEST = 80


def worded(values: Mapping[str, object], language: Language) -> dict[str, str]:
    """Each value as it stands in a sentence, by its name; `days` is told again as an `interval`."""
    words = {name: _named_fact(name, value, language) for name, value in values.items()}
    age, days = values.get("age_years"), values.get("days")
    if isinstance(age, int | float):
        words["age_years"] = language.number(floor(age))
    if isinstance(days, int | float):
        words["interval"] = days_apart(days, language)
    return words


def _named_fact(name: str, value: object, language: Language) -> str:
    """A fact by the unit in its name: percent with its sign, ms and Hz whole, mm with one decimal."""
    unit = name.rpartition("_")[2]
    if isinstance(value, bool) or not isinstance(value, int | float) or unit not in _DECIMALS:
        return _worded(value, language)
    if unit == "percent":
        return language.percent(value, _DECIMALS[unit])
    return language.number(value, _DECIMALS[unit])


def _worded(value: object, language: Language) -> str:
    if value is None:
        return language.say("not known")
    if isinstance(value, bool):
        return language.say("yes") if value else language.say("no")
    if isinstance(value, int | float):
        return _number(float(value), language)
    if isinstance(value, tuple | list):
        return ", ".join(_worded(one, language) for one in value)
    if isinstance(value, date):
        return language.date(value)
    return _text(str(value), language)


def _number(value: float, language: Language) -> str:
    """At most two decimals, none that say nothing: 72, 8.5, 0.04."""
    decimals = next(d for d in (0, 1, 2) if d == 2 or abs(value - round(value, d)) < 1e-9)
    return language.number(value, decimals)


def _text(text: str, language: Language) -> str:
    if _DAY.fullmatch(text):
        return language.date(date.fromisoformat(text))
    if _MOMENT.fullmatch(text):
        moment = datetime.fromisoformat(text)
        return f"{language.date(moment.date())} {language.time(moment)}"
    return _named(text, language) or plain(text)


def plain(text: str) -> str:
    """Text from outside as it may be shown: printable and not too long."""
    shown = "".join(c if c.isprintable() else "?" for c in text)
    return shown if len(shown) <= _LONGEST else shown[: _LONGEST - 1] + "…"


def _named(text: str, language: Language) -> str:
    """The name of a measure or block the kiosk knows; empty for any other text."""
    for pattern, name in ((_MEASURE, measure_name), (_BLOCK, block_name)):
        if pattern.fullmatch(text):
            with suppress(ValueError):
                return name(text, language)
    return ""
