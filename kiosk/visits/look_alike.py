"""Two people who look alike on a list: the same birth date, or codes that differ in one character."""

from collections.abc import Sequence

from kiosk.visits.check_character import plain
from kiosk.visits.person import Person

YEAR_ONLY = 4


def look_alikes(person: Person, others: Sequence[Person]) -> tuple[Person, ...]:
    """Everyone else who could be taken for this person."""
    return tuple(one for one in others if one.id != person.id and alike(one, person))


def alike(one: Person, other: Person) -> bool:
    """The same birth date (a year alone is none), or codes one character apart or equal."""
    born = one.birth_date == other.birth_date and len(one.birth_date) > YEAR_ONLY
    return born or one_apart(plain(one.code), plain(other.code))


def one_apart(first: str, second: str) -> bool:
    """At most one character replaced, missing, or more; or two neighbours swapped.

    >>> one_apart("K0412", "K0412"), one_apart("K0412", "K0413"), one_apart("K0412", "K412")
    (True, True, True)
    >>> one_apart("K0412", "K0421"), one_apart("K0412", "K0521")
    (True, False)
    """
    if len(first) == len(second):
        apart = [at for at, (a, b) in enumerate(zip(first, second, strict=True)) if a != b]
        swapped = len(apart) == 2 and apart[1] == apart[0] + 1 and (
            first[apart[0]] + first[apart[1]] == second[apart[1]] + second[apart[0]])
        return len(apart) <= 1 or swapped
    longer, shorter = sorted((first, second), key=len, reverse=True)
    return len(longer) == len(shorter) + 1 and any(
        longer[:at] + longer[at + 1:] == shorter for at in range(len(longer)))
