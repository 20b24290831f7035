"""Age in years with its fraction, from birth dates of three precisions.

Age = completed years + days since the last birthday / days from it to the next. A birthday of
29 February counts on 1 March in other years. A birth date 'YYYY-MM' is read as the 15th and 'YYYY' as
1 July; the youngest and the oldest possible age are kept beside it.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta

_DATE = r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?"


@dataclass(frozen=True)
class Age:
    """Age on a day: `years` as read, `youngest` and `oldest` as the birth date allows (all in years)."""

    years: float
    youngest: float
    oldest: float


def age_years(birth: date, on: date) -> float:
    """Age on a day.

    >>> age_years(date(1954, 5, 15), date(2026, 5, 15))
    72.0
    >>> age_years(date(2000, 2, 29), date(2001, 3, 1))
    1.0
    """
    if on < birth:
        raise ValueError(f"birth date, must not be after the visit of {on}, {birth}")
    completed = on.year - birth.year - (on < _birthday(birth, on.year))
    last = _birthday(birth, birth.year + completed)
    following = _birthday(birth, birth.year + completed + 1)
    return completed + (on - last).days / (following - last).days


def age_on(birth_date: str, on: date) -> Age:
    """Age on a day from a birth date 'YYYY-MM-DD', 'YYYY-MM' or 'YYYY'.

    >>> age_on("1954", date(2026, 7, 1)).years
    72.0
    """
    earliest, read_as, latest = possible_births(birth_date)
    if on < earliest:
        raise ValueError(f"birth date, must not be after the visit of {on}, {birth_date}")
    return Age(age_years(min(read_as, on), on), age_years(min(latest, on), on), age_years(earliest, on))


def possible_births(birth_date: str) -> tuple[date, date, date]:
    """Earliest possible day, the day it is read as, latest possible day.

    >>> possible_births("1954-02")
    (datetime.date(1954, 2, 1), datetime.date(1954, 2, 15), datetime.date(1954, 2, 28))
    """
    found = re.fullmatch(_DATE, birth_date)
    if found is None:
        raise ValueError(f"birth date, must be YYYY-MM-DD, YYYY-MM or YYYY, {birth_date}")
    year, month, day = (int(part) if part else 0 for part in found.groups())
    try:
        if day:
            return (date(year, month, day),) * 3
        if month:
            return date(year, month, 1), date(year, month, 15), _month_end(year, month)
        return date(year, 1, 1), date(year, 7, 1), date(year, 12, 31)
    except ValueError:
        raise ValueError(f"birth date, must be a day of the calendar, {birth_date}") from None


def _birthday(birth: date, year: int) -> date:
    try:
        return birth.replace(year=year)
    except ValueError:
        return date(year, 3, 1)


def _month_end(year: int, month: int) -> date:
    return date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
