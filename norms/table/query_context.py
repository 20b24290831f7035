"""Who asks a table: a visit, with all that a table must fit, or a number typed in by hand."""

from dataclasses import dataclass
from datetime import date

from norms.table.age import Age, age_on

COMPARISON_VERSION = 1


@dataclass(frozen=True)
class Sitting:
    """What a table must fit. Give `birth_date` (YYYY-MM-DD, YYYY-MM or YYYY) or else `age_years`."""

    purpose: str
    visit_date: date
    battery: str
    battery_version: int
    scoring_version: int
    input: str
    device_class: str
    sex: str
    latency_known: bool
    language: str
    birth_date: str | None = None
    age_years: float | None = None
    comparison_version: int = COMPARISON_VERSION


@dataclass(frozen=True)
class ByHand:
    """A number without a visit; without a device class the table's only one is taken."""

    age_years: float
    sex: str = "not_asked"
    device_class: str | None = None


def age_of(asker: Sitting | ByHand) -> Age:
    """Age of the person, with the range a coarse birth date allows."""
    if isinstance(asker, Sitting) and asker.birth_date is not None:
        return age_on(asker.birth_date, asker.visit_date)
    if asker.age_years is None:
        raise ValueError("age_years, must be given where there is no birth date, None")
    return Age(asker.age_years, asker.age_years, asker.age_years)
