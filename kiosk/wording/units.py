"""Numbers as people read them: rounded, with their unit. The only place where a figure loses decimals.

Values come in the unit of the scoring catalogue (mm, ms, %, Hz) and unrounded. Lag and delay are told
as behind or ahead of the disc; below 0 ms is ahead.
"""

from math import floor

from kiosk.i18n.language import NO_BREAK_SPACE, Language, as_written
from norms import PrintedPercentile

DECIMALS = {"mm": 1, "ms": 0, "%": 0, "Hz": 1, "": 0}
MOST_DECIMALS = 12  # enough to tell a value from a limit that is 1e-10 SD away
BEHIND_OR_AHEAD = ("lag", "delay")


def amount(value: float, unit: str, language: Language, decimals: int | None = None) -> str:
    """A value with its unit: 5.3 mm, 97 %; with more decimals where they are asked for."""
    decimals = usual_decimals(unit) if decimals is None else decimals
    if unit == "%":
        return language.percent(value, decimals)
    return _with_unit(language.number(value, decimals), unit, language)


def usual_decimals(unit: str) -> int:
    """With how many decimals a unit is written."""
    return DECIMALS.get(unit, 1)


def decimals_that_tell(value: float, limits: tuple[float, float], unit: str) -> int:
    """The decimals with which a value outside its limits is also written outside them.

    Within the limits, and mostly outside, those usual for the unit; more where both would be written alike.

    >>> decimals_that_tell(7.239, (3.8, 7.195), "mm"), decimals_that_tell(7.3, (3.8, 7.195), "mm")
    (2, 1)
    """
    low, high = limits
    decimals = usual_decimals(unit)
    if low <= value <= high:
        return decimals
    nearest = low if value < low else high
    while decimals < MOST_DECIMALS and as_written(value, decimals) == as_written(nearest, decimals):
        decimals += 1
    return decimals


def measured(measure: str, value: float, unit: str, language: Language, decimals: int | None = None) -> str:
    """The value of a measure: 302 ms behind, 12 ms ahead, 5.3 mm."""
    if _is_lag(measure):
        return behind(value, language, usual_decimals(unit) if decimals is None else decimals)
    return amount(value, unit, language, decimals)


def behind(value_ms: float, language: Language, decimals: int = 0) -> str:
    """A lag or delay in words; what rounds to nought is neither behind nor ahead."""
    number = language.number(abs(value_ms), decimals)
    if number == language.number(0, decimals):
        return language.say("%(number)s ms", number=number)
    if value_ms < 0:
        return language.say("%(number)s ms ahead", number=number)
    return language.say("%(number)s ms behind", number=number)


def in_table(measure: str, value: float, unit: str, language: Language, decimals: int | None = None) -> str:
    """The value as a table holds it: what is behind the disc is told in plain ms, what is ahead in words."""
    if value >= 0:
        return amount(value, unit, language, decimals)
    return measured(measure, value, unit, language, decimals)


def span(measure: str, limits: tuple[float, float], unit: str, language: Language,
         decimals: int | None = None) -> str:
    """A range, lower number first, without its unit: 2.8–7.1, 179–285, 12 ahead to 60 behind."""
    decimals = usual_decimals(unit) if decimals is None else decimals
    low, high = limits
    if _is_lag(measure) and as_written(low, decimals) < 0:
        return _lag_span(low, high, language, decimals)
    return between(language.number(low, decimals), language.number(high, decimals), language)


def between(low: str, high: str, language: Language) -> str:
    """Two written numbers as a range."""
    return language.say_in("range", "%(low)s–%(high)s", low=low, high=high)


def percentile(printed: PrintedPercentile, language: Language) -> str:
    """7, 0.4, <0.1, >99.9: the bare number."""
    return printed.sign + language.number(printed.number, printed.decimals)


def people_in_100(chance_percent: float, language: Language) -> str:
    """How many people in 100, whole: never none and never all."""
    return language.number(min(max(chance_percent, 1.0), 99.0))


def unbroken(text: str) -> str:
    """The text with spaces that do not break a line."""
    return text.replace(" ", NO_BREAK_SPACE)


def age_words(age_years: float | None, language: Language) -> str:
    """The age in completed years; not known where no birth date is."""
    return language.say("not known") if age_years is None else language.number(floor(age_years))


def days_apart(days: float, language: Language) -> str:
    """An interval in the largest unit that keeps it to two figures or so: 3 h 10 min, 12 days, 8 months."""
    if days < 1:
        minutes = round(days * 1440)
        return language.say("%(hours)d h %(minutes)d min", hours=minutes // 60, minutes=minutes % 60)
    if days < 61:
        return language.say_n("1 day", "%(n)d days", round(days))
    if days < 730.5:
        return language.say_n("1 month", "%(n)d months", round(days / 30.4375))
    return language.say("%(years)s years", years=language.number(days / 365.25, 1))


def _is_lag(measure: str) -> bool:
    return measure.rsplit(".", 1)[-1] in BEHIND_OR_AHEAD


def _lag_span(low: float, high: float, language: Language, decimals: int) -> str:
    low_text, high_text = (language.number(abs(one), decimals) for one in (low, high))
    if low < 0 < high:
        return language.say("%(ahead)s ahead to %(behind)s behind", ahead=low_text, behind=high_text)
    return language.say("%(from)s–%(to)s ahead", **{"from": low_text, "to": high_text})


def _with_unit(number: str, unit: str, language: Language) -> str:
    if unit == "mm":
        return language.say("%(number)s mm", number=number)
    if unit == "ms":
        return language.say("%(number)s ms", number=number)
    if unit == "Hz":
        return language.say("%(number)s Hz", number=number)
    if unit == "":
        return number
    raise ValueError(f"unit, must be one of {', '.join(DECIMALS)}, got {unit!r}")
