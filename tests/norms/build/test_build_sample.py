"""What a sample may not hold: each kind is refused by name, or left out by name, with its number of lines."""

import io

import pytest

from norms import TableFaults
from norms.build.build import build_table
from norms.build.sample import read_sample
from norms.build.template import template
from norms.table.table import Measure
from tests.norms.sample_people import COLUMNS, SIX, as_csv, even_ages, lines

Row = list[object]


@pytest.fixture
def rows() -> list[Row]:
    return [*lines(even_ages(40, seed=1), 1, SIX), *lines(even_ages(10, seed=2), 2, SIX, "retest", first=100)]


def at(row: Row, **cells: object) -> Row:
    return [cells.get(name, cell) for name, cell in zip(COLUMNS, row, strict=True)]


def refused(rows: list[Row]) -> str:
    with pytest.raises(TableFaults) as caught:
        read_sample("sample.csv", as_csv(rows))
    return str(caught.value)


def test_wrong_purpose_and_missing_consent_are_left_out_by_name_with_their_number(rows: list[Row]) -> None:
    more = [
        at(row, person=f"X{place}", purpose=("care", "training", "demo")[place % 3])
        for place, row in enumerate(rows[:30])
    ]
    no = [at(row, person="Y", research_use="not_asked") for row in rows[:6]]
    sample = read_sample("sample.csv", as_csv([*rows, *more, *no]))
    assert sample.left_out == {"research use not agreed": 6, "purpose neither reference nor retest": 30}
    assert len(sample.person) == len(rows)


def test_a_later_reference_visit_of_one_person_is_left_out(rows: list[Row]) -> None:
    again = [
        at(
            row,
            visit=2,
            day=400,
            earlier_visits=1,
            age_years=float(str(row[4])) + 400 / 365.25,
            scaled=float(str(row[15])) + 0.01,
        )
        for row in rows[:12]
    ]
    assert read_sample("s", as_csv([*rows, *again])).left_out == {"later reference visit of a person": 12}


def test_one_person_under_two_codes_is_left_out_the_second_time(rows: list[Row]) -> None:
    """All values of a visit the same to the last digit, under another code."""
    twice = [at(row, person="Z1") for row in rows[:6]] + [at(row, person="Z2") for row in rows[6:12]]
    sample = read_sample("s", as_csv([*rows, *twice]))
    assert sample.left_out == {"copy of another visit, every value the same": 12}
    assert "Z1" not in sample.persons


def test_a_line_that_stands_twice_is_refused_with_its_number(rows: list[Row]) -> None:
    said = refused([*rows, rows[3], rows[8], rows[8]])
    assert "must be unique, stands twice (3 lines: rows 362, 363, 364)" in said


@pytest.mark.parametrize(
    ("age", "rule"),
    [
        (-1, "must be 0 or more"),
        (130, "must be below 120"),
        ("nan", "must be a finite number"),
        ("", "must not be empty"),
    ],
)
def test_an_impossible_age_is_refused_by_row_with_the_number_of_lines(
    rows: list[Row], age: object, rule: str
) -> None:
    broken = [at(row, age_years=age) if place in (4, 5, 6) else row for place, row in enumerate(rows)]
    said = refused(broken)
    assert f"sample.csv row 6, age_years: {rule} (3 lines: rows 6, 7, 8)" in said


@pytest.mark.parametrize(
    ("column", "other"),
    [
        ("battery_version", 2),
        ("scoring_version", 3),
        ("input", "stylus"),
        ("device_class", "t15"),
        ("battery", "clinic-stylus"),
    ],
)
def test_mixed_versions_inputs_and_panels_are_refused_with_their_number(
    rows: list[Row], column: str, other: object
) -> None:
    mixed = [at(row, **{column: other}) if place % 60 == 7 else row for place, row in enumerate(rows)]
    said = refused(mixed)
    assert f"sample.csv row 9, {column}: must be " in said and "6 of 360 lines are not" in said
    assert f'found "{other}"' in said


def test_of_two_panels_one_may_be_asked_for(rows: list[Row]) -> None:
    mixed = [at(row, device_class="t15") if place < 60 else row for place, row in enumerate(rows)]
    sample = read_sample("s", as_csv(mixed), device_class="t10")
    assert sample.left_out == {"device class other than t10": 60} and sample.common["device_class"] == "t10"


def test_a_person_has_one_sex_and_grows_older_with_the_days(rows: list[Row]) -> None:
    assert "sex: must be the same in all lines of a person" in refused([*rows[:-1], at(rows[-1], sex="male")])
    aged = refused([*rows[:-1], at(rows[-1], age_years=99)])
    assert "age_years: must grow with the days" in aged


def test_all_faults_are_told_together(rows: list[Row]) -> None:
    said = refused([at(rows[0], age_years=-1), at(rows[1], input="paw"), at(rows[2], value="inf"), *rows[3:]])
    assert all(word in said for word in ("age_years", "input", "value")) and len(said.splitlines()) == 3


def test_a_file_of_many_faults_is_told_in_one_sentence_a_kind(rows: list[Row]) -> None:
    said = refused([at(row, scaled="x") for row in rows])
    assert said.count("\n") == 0 and "(360 lines: rows 2, 3, 4, 5, 6 and 355 more)" in said


@pytest.mark.parametrize("data", [b"", b"\xff\xfe\x00", b"person,visit\n", b'"person\n', b"\x00"])
def test_what_is_no_sample_file_is_refused(data: bytes) -> None:
    with pytest.raises(TableFaults):
        read_sample("s", data)


def test_no_line_that_counts_is_refused(rows: list[Row]) -> None:
    assert "holds no line" in refused([at(row, purpose="care") for row in rows])


def test_a_sample_may_leave_schooling_out_as_a_column(rows: list[Row]) -> None:
    text = "\n".join([",".join(COLUMNS[:-1]), *(",".join(map(str, row[:-1])) for row in rows), ""])
    sample = read_sample("s", io.BytesIO(text.encode()))
    assert len(sample.person) == 360 and not (sample.education_years >= 0).any()


def test_reading_tells_how_far_it_is() -> None:
    """The lines are all the same, which is refused only after the last one."""
    told: list[tuple[str, int, int]] = []
    with pytest.raises(TableFaults, match="stands twice"):
        read_sample("s", as_csv(lines([50.0]) * 100_001), progress=lambda *one: told.append(one))
    assert told == [("lines read", 50_000, 0), ("lines read", 100_000, 0)]


def build_refused(rows: list[Row]) -> list[str]:
    with pytest.raises(TableFaults) as caught:
        build_table(read_sample("sample.csv", as_csv(rows)), template({}, "2026-07-11T09:00:00Z"))
    return str(caught.value).splitlines()


def test_a_column_on_the_wrong_scale_is_refused_not_believed(rows: list[Row]) -> None:
    """`scaled` in mm where the logarithm belongs, in every line of a measure on the log scale."""
    wrong = [at(row, scaled=row[14]) for row in rows]
    (said,) = build_refused(wrong)
    assert said.startswith("sample.csv row 2, scaled: must be the natural logarithm of the value (scatter)")
    assert "(240 lines: rows 2, 8, 14, 20, 26 and 235 more)" in said


@pytest.mark.parametrize(
    ("column", "value", "rule"),
    [
        ("value", -3, "must be above 0, to 150 mm for scatter"),
        ("value", 0, "must be above 0, to 150 mm for scatter"),
        ("value", 500, "must be above 0, to 150 mm for scatter"),
        ("value", 1e9, "must be above 0, to 150 mm for scatter"),
        ("value", 1e308, "must be 1e+09 or less"),
        ("scaled", 1e9, "must be the natural logarithm of the value (scatter)"),
        ("trial_variance", 1e9, "must be 42.42 or less for scatter"),
        ("person", "A\0B", "must hold no control character"),
    ],
)
def test_an_impossible_cell_ends_in_one_sentence_with_its_line(
    rows: list[Row], column: str, value: object, rule: str
) -> None:
    said = build_refused([at(row, **{column: value} if place == 6 else {}) for place, row in enumerate(rows)])
    assert len(said) == 1 and said[0].startswith(f"sample.csv row 8, {column}: {rule}")


def test_values_rounded_to_their_decimals_are_read_and_placed_on_the_scale_again(rows: list[Row]) -> None:
    """6.24 mm written as 6.2: the logarithm of 6.2 counts, whatever `scaled` says of 6.24."""
    decimals = [1 if "scatter" in str(row[13]) else 0 for row in rows]
    rounded = [
        at(row, value=f"{float(str(row[14])):.{places}f}") for row, places in zip(rows, decimals, strict=True)
    ]
    more = [*rounded, *lines(even_ages(300, seed=5), 5, SIX, first=200)]
    made = build_table(read_sample("sample.csv", as_csv(more)), template({}, "2026-07-11T09:00:00Z"))
    assert made.table is not None
    (said,) = build_refused([at(rounded[0], value=float(str(rounded[0][14])) + 0.2), *rounded[1:]])
    assert said.startswith("sample.csv row 2, scaled: must be the natural logarithm")


def test_a_template_says_what_a_score_of_its_own_can_be() -> None:
    said = {"scores": {"reach": ["mm", "higher", "identity", 1, 0, 60]}}
    measure = Measure("steady.preferred.reach", "mm", "higher", "identity", 1)
    assert template(said, "2026-07-11T09:00:00Z").domain_of(measure) == (0, 60)
    with pytest.raises(TableFaults, match="or the same with lowest, highest"):
        template({"scores": {"reach": ["mm", "higher", "identity", 1, 60, 0]}}, "2026-07-11T09:00:00Z")
