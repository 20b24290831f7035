"""Which row fits, and the first reason why none does."""

from dataclasses import replace
from datetime import date

import pytest

from norms import (
    REFUSALS,
    ByHand,
    Refusal,
    Row,
    Sitting,
    Standing,
    Table,
    find_row,
    read_folder,
    sentence,
    standing,
)
from norms.judge.lookup import age_of
from tests.norms.folders import EXAMPLE

LAG, SCATTER = "circles.preferred.lag", "steady.preferred.scatter"
SITTING = Sitting(
    "demo",
    date(2026, 7, 11),
    "clinic",
    1,
    1,
    "finger",
    "simulated",
    "female",
    True,
    "en",
    birth_date="1956-07-11",
)


@pytest.fixture(scope="module")
def table() -> Table:
    return read_folder(EXAMPLE)


def code(found: Row | Standing | Refusal) -> str | None:
    return found.code if isinstance(found, Refusal) else None


def test_a_sitting_that_fits_finds_the_row_of_its_age(table: Table) -> None:
    row = find_row(table, LAG, 60.0, SITTING)
    assert isinstance(row, Row) and (row.age_from, row.age_to) == (60, 75)
    assert age_of(SITTING).years == 70


@pytest.mark.parametrize(
    ("purpose", "refused"),
    [("care", True), ("reference", True), ("retest", True), ("demo", False), ("training", False)],
)
def test_a_synthetic_table_answers_demonstration_and_training_only(
    table: Table, purpose: str, refused: bool
) -> None:
    found = find_row(table, LAG, 60.0, replace(SITTING, purpose=purpose))
    assert code(found) == ("synthetic_with_real_person" if refused else None)
    local = replace(table, status="local")
    assert code(find_row(local, LAG, 60.0, replace(SITTING, purpose=purpose))) is None


ALONE = [
    ("expired", {"expires": date(2026, 7, 10)}, {}),
    ("other_battery", {}, {"battery": "clinic-stylus"}),
    ("other_battery_version", {}, {"battery_version": 2}),
    ("other_scoring_version", {}, {"scoring_version": 2}),
    ("other_comparison_version", {"comparison_version": 2}, {}),
    ("other_comparison_version", {}, {"comparison_version": 2}),
    ("other_input", {}, {"input": "stylus"}),
    ("other_device_class", {}, {"device_class": "t10"}),
    ("age_outside", {}, {"birth_date": "2018-07-11"}),
    ("age_outside", {}, {"birth_date": "1936-07-11"}),
    ("birth_date_too_coarse", {}, {"birth_date": "1951"}),
    ("latency_unknown", {}, {"latency_known": False}),
    ("n_below_floor", {"floor_n": 201}, {}),
]


@pytest.mark.parametrize(("refusal", "of_table", "of_sitting"), ALONE)
def test_each_thing_that_does_not_fit_is_refused_by_its_code(
    table: Table, refusal: str, of_table: dict, of_sitting: dict
) -> None:
    found = find_row(replace(table, **of_table), LAG, 60.0, replace(SITTING, **of_sitting))
    assert isinstance(found, Refusal) and found.code == refusal
    assert sentence(found).endswith(".") and "%(" not in sentence(found)


def test_the_first_thing_that_does_not_fit_is_the_one_named(table: Table) -> None:
    """Everything is wrong at first; putting right what was named brings up the next of the fixed order."""
    wrong = replace(table, expires=date(2020, 1, 1), floor_n=500)
    sitting = Sitting(
        "care", date(2026, 7, 11), "x", 9, 9, "mouse", "t10", "other", False, "en", birth_date="1900-01-01"
    )
    mend = [
        ("synthetic_with_real_person", {}, {"purpose": "demo"}),
        ("expired", {"expires": None}, {}),
        ("other_battery", {}, {"battery": "clinic"}),
        ("other_battery_version", {}, {"battery_version": 1}),
        ("other_scoring_version", {}, {"scoring_version": 1}),
        ("other_input", {}, {"input": "finger"}),
        ("other_device_class", {}, {"device_class": "simulated"}),
        ("age_outside", {}, {"birth_date": "1956-07-11"}),
        ("n_below_floor", {"floor_n": 30}, {}),
        ("value_outside_scale", {}, {}),
        ("latency_unknown", {}, {"latency_known": True}),
    ]
    value = float("nan")
    for expected, of_table, of_sitting in mend:
        assert code(find_row(wrong, LAG, value, sitting)) == expected
        wrong, sitting = replace(wrong, **of_table), replace(sitting, **of_sitting)
        value = 60.0 if expected == "value_outside_scale" else value
    assert code(find_row(wrong, LAG, value, sitting)) is None


def test_a_measure_the_table_does_not_hold_is_missing(table: Table) -> None:
    assert code(find_row(table, "wander.preferred.error_rms", 9.0, SITTING)) == "measure_missing"


def test_unknown_latency_refuses_only_the_scores_it_shifts(table: Table) -> None:
    blind = replace(SITTING, latency_known=False)
    refused = {name for name in table.measure_by_name if code(find_row(table, name, 50.0, blind)) is not None}
    assert refused == {LAG, "wander.preferred.delay", "steady.preferred.time_on_target"}


def test_rows_are_half_open(table: Table) -> None:
    for age, row_from in ((20.0, 20), (39.999, 20), (40.0, 40), (89.99, 75)):
        row = find_row(table, LAG, 60.0, ByHand(age))
        assert isinstance(row, Row) and row.age_from == row_from
    assert code(find_row(table, LAG, 60.0, ByHand(90.0))) == "age_outside"
    assert code(find_row(table, LAG, 60.0, ByHand(19.99))) == "age_outside"


def test_a_coarse_birth_date_counts_where_its_days_fall_in_one_row(table: Table) -> None:
    for birth_date, outcome in (
        ("1957", None),
        ("1951", "birth_date_too_coarse"),
        ("1951-07", "birth_date_too_coarse"),
        ("1951-06", None),
        ("1951-07-12", None),
        ("1951-07-11", None),
    ):
        assert code(find_row(table, LAG, 60.0, replace(SITTING, birth_date=birth_date))) == outcome


def test_the_persons_sex_comes_first_then_any_then_a_refusal(table: Table) -> None:
    women = tuple(replace(row, sex="female", n=99) for row in table.rows)
    both, only = replace(table, rows=table.rows + women), replace(table, rows=women)
    for sex, n in (("female", 99), ("male", 200), ("other", 200), ("not_asked", 200)):
        row = find_row(both, LAG, 60.0, replace(SITTING, sex=sex))
        assert isinstance(row, Row) and row.n == n
        assert code(find_row(only, LAG, 60.0, replace(SITTING, sex=sex))) == (
            None if sex == "female" else "no_row_for_sex"
        )


def test_the_precision_at_the_age_decides_the_floor_not_the_whole_sample(table: Table) -> None:
    rows = tuple(replace(row, n=600, n_mean=29.9, df_sd=60.0) for row in table.rows)
    assert (
        code(find_row(replace(table, age_method="continuous", rows=rows), LAG, 60.0, SITTING))
        == "n_below_floor"
    )


@pytest.mark.parametrize(
    ("measure", "value"),
    [
        (SCATTER, 0.0),
        (SCATTER, -3.0),
        (SCATTER, float("inf")),
        ("steady.preferred.time_on_target", 100.5),
        ("steady.preferred.time_on_target", -1.0),
        (LAG, float("nan")),
    ],
)
def test_a_value_its_scale_cannot_hold_is_refused(table: Table, measure: str, value: float) -> None:
    assert code(find_row(table, measure, value, SITTING)) == "value_outside_scale"


def test_a_number_by_hand_names_the_device_class_where_there_are_several(table: Table) -> None:
    two = replace(
        table, rows=table.rows + tuple(replace(row, device_class="t10", n=77) for row in table.rows)
    )
    assert code(find_row(two, LAG, 60.0, ByHand(70))) == "device_class_not_named"
    row = find_row(two, LAG, 60.0, ByHand(70, device_class="t10"))
    assert isinstance(row, Row) and row.n == 77
    assert code(find_row(table, LAG, 60.0, ByHand(70, device_class="t10"))) == "other_device_class"


def test_a_language_the_table_does_not_know_is_noted_not_refused(table: Table) -> None:
    found = standing(table, LAG, 60.0, replace(SITTING, language="pt"))
    assert isinstance(found, Standing) and "language_not_listed" in found.warnings
    at_home = standing(table, LAG, 60.0, SITTING)
    assert isinstance(at_home, Standing) and "language_not_listed" not in at_home.warnings


def test_every_refusal_is_one_plain_sentence() -> None:
    for text in REFUSALS.values():
        assert (text.endswith(".") and text[0].isupper()) or text.startswith("%(measure)s")
