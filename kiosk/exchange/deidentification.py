"""What may be told of a person for research: a running code, an age, days. Years and days, two decimals.

Whoever is of 90 years or more, or whose birth date is not known, is left out: so high an age tells who it is.
"""

from typing import Final

from kiosk.visits.earlier import days_between, local_date
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit
from norms import age_on

TOLD_TO_YEARS: Final = 90.0
DECIMALS: Final = 2


def running_code(number: int) -> str:
    """What stands for who a person is.

    >>> running_code(7)
    'P00007'
    """
    return f"P{number:05d}"


def age_at(person: Person, visit: Visit) -> float | None:
    """The age at a visit in years, None where no birth date is known."""
    return age_on(person.birth_date, local_date(visit)).years if person.birth_date else None


def why_left_out(age_years: float | None) -> str | None:
    """The code of why a visit at this age does not leave; None where it may.

    >>> why_left_out(None), why_left_out(90.0), why_left_out(89.99)
    ('age_not_known', 'age_tells_who', None)
    """
    if age_years is None:
        return "age_not_known"
    return "age_tells_who" if age_years >= TOLD_TO_YEARS else None


def day_since(first: Visit, visit: Visit) -> float:
    """Days since the person's first visit; 0 for that one."""
    return 0.0 if visit.id == first.id else days_between(first, visit)
