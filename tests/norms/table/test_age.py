"""Age in years from birth dates of three precisions."""

import itertools
from datetime import date, timedelta

import pytest

from norms.table.age import age_on, age_years, possible_births


def test_age_rises_by_one_from_birthday_to_birthday_and_never_falls() -> None:
    birth = date(1941, 3, 17)
    ages = [age_years(birth, date(2025, 3, 17) + timedelta(days=day)) for day in range(366)]
    assert ages[0] == 84 and ages[365] == 85
    assert all(earlier < later for earlier, later in itertools.pairwise(ages))


def test_the_fraction_is_days_since_the_birthday_over_days_to_the_next() -> None:
    # By hand: 15 May 2026 to 25 November 2026 = 194 days, of 365.
    assert age_years(date(1954, 5, 15), date(2026, 11, 25)) == 72 + 194 / 365


def test_a_birthday_of_29_february_counts_on_1_march_in_other_years() -> None:
    birth = date(1960, 2, 29)
    assert age_years(birth, date(2025, 3, 1)) == 65
    assert age_years(birth, date(2025, 2, 28)) == 64 + 365 / 366  # from 29 Feb 2024: 366 days to 1 Mar 2025
    assert age_years(birth, date(2024, 2, 29)) == 64


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("1954-05-02", (date(1954, 5, 2), date(1954, 5, 2), date(1954, 5, 2))),
        ("1956-02", (date(1956, 2, 1), date(1956, 2, 15), date(1956, 2, 29))),
        ("1954-12", (date(1954, 12, 1), date(1954, 12, 15), date(1954, 12, 31))),
        ("1954", (date(1954, 1, 1), date(1954, 7, 1), date(1954, 12, 31))),
    ],
)
def test_a_coarse_birth_date_is_read_as_the_middle_with_its_possible_days(
    text: str, days: tuple[date, date, date]
) -> None:
    assert possible_births(text) == days


def test_the_youngest_and_oldest_possible_age_stand_beside_the_age() -> None:
    age = age_on("1954", date(2026, 7, 1))
    assert (age.years, age.oldest) == (72, 72 + 181 / 365)
    assert age.youngest == 71 + 182 / 365


@pytest.mark.parametrize("text", ["", "54", "1954-13", "1954-02-30", "1954-5-2", "May 1954", "1954-05-02 "])
def test_what_is_no_birth_date_is_refused_with_its_value(text: str) -> None:
    with pytest.raises(ValueError, match="birth date"):
        possible_births(text)


def test_a_birth_after_the_visit_is_refused() -> None:
    with pytest.raises(ValueError, match="birth date"):
        age_on("2030", date(2026, 1, 1))
