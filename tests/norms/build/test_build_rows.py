"""Rows of a built table: whole years of those tested, own rows by sex, the study on z, all as recomputed."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from statistics import fmean, stdev

import numpy as np
import pytest
from scipy.stats import pearsonr

from norms import ByHand, Refusal, Sitting, Standing, Table, standing
from norms.build.build import Built, build_table
from norms.build.retest_study import pairs_of
from norms.build.template import template
from norms.table.folder import read_files
from norms.table.scale import lms_value
from norms.table.table import value_at
from tests.norms.sample_people import ONE, SIX, even_ages, lines, mean_at, sample_of, sd_at

CREATED = "2026-07-11T09:00:00Z"
Rows = Sequence[Sequence[object]]


def built(rows: Rows, **said: object) -> Built:
    return build_table(sample_of(rows), template(said, CREATED))


def table_of(made: Built) -> Table:
    assert made.table is not None, made.verdict
    return made.table


@pytest.fixture(scope="module")
def volunteers() -> list[list[object]]:
    ages = even_ages(420, seed=2)
    return [*lines(ages, 2, SIX), *lines(even_ages(60, 21, 78, 3), 3, SIX, "retest", first=1000)]


@pytest.fixture(scope="module")
def made(volunteers: Rows) -> Built:
    return built(volunteers)


def test_rows_are_whole_years_from_the_youngest_to_the_oldest_and_no_further(
    volunteers: Rows, made: Built
) -> None:
    ages = [float(str(row[4])) for row in volunteers if row[2] == "reference"]
    for measure in SIX:
        rows = table_of(made).rows_of_measure[measure]
        assert [row.age_to - row.age_from for row in rows] == [1.0] * len(rows)
        assert (rows[0].age_from, rows[-1].age_to) == (int(min(ages)), int(max(ages)) + 1)
        assert {row.n for row in rows} == {420}


def test_the_table_finds_the_mean_and_sd_people_were_made_with(made: Built) -> None:
    for row in table_of(made).rows_of_measure[ONE[0]]:
        middle = np.array((row.age_from + row.age_to) / 2)
        n_mean, df_sd = row.n_mean or 0.0, row.df_sd or 0.0
        assert abs(row.mean - mean_at(middle)) < 4 * row.sd / np.sqrt(n_mean)
        assert abs(np.log(row.sd / sd_at(middle))) < 4 / np.sqrt(2 * df_sd)


def test_every_row_says_as_how_many_people_it_is_good_fewest_at_both_ends(made: Built) -> None:
    rows = table_of(made).rows_of_measure[ONE[0]]
    worth = [row.n_mean or 0.0 for row in rows]
    assert max(worth) < 420 and worth[0] < 80 > worth[-1] and max(worth[20:40]) > 120
    assert min(rows, key=lambda row: row.n_mean or 0.0) in (*rows[:3], *rows[-3:])


def test_the_same_seed_gives_the_same_files_and_another_only_other_worth(
    volunteers: Rows, made: Built
) -> None:
    again, other = built(volunteers), build_table(sample_of(volunteers), template({}, CREATED), seed=5)
    assert dict(again.files) == dict(made.files)
    for one, two in zip(table_of(made).rows, table_of(other).rows, strict=True):
        assert (one.mean, one.sd) == (two.mean, two.sd) and one.n_mean != two.n_mean


def test_the_retest_study_is_on_z_of_the_row_of_the_later_visit(volunteers: Rows, made: Built) -> None:
    table, measure = table_of(made), SIX[3]
    rows, z = table.rows_of_measure[measure], {}
    for person in {row[0] for row in volunteers if row[2] == "retest"}:
        visits = {int(str(row[1])): row for row in volunteers if row[0] == person and row[13] == measure}
        row = next((one for one in rows if one.covers(float(str(visits[2][4])))), None)
        if row is not None:
            z[person] = [-(float(str(visits[k][15])) - row.mean) / row.sd for k in (1, 2)]
    first, second = zip(*z.values(), strict=True)
    study = next(one for one in table.retest if one.measure == measure)
    assert (study.n, study.days_min, study.earlier_visits) == (len(z), 180, 0)
    assert (study.mean_1, study.sd_1, study.mean_2, study.sd_2) == pytest.approx(
        (fmean(first), stdev(first), fmean(second), stdev(second)), rel=1e-7
    )
    assert study.r == pytest.approx(pearsonr(first, second)[0], rel=1e-7)
    assert 0.6 < study.r < 0.95  # made with .8


def test_visits_two_years_apart_are_each_read_by_their_own_row(volunteers: Rows) -> None:
    """A person seen again after 730.5 days: z of the first visit by the row of that age, not of the later."""
    sample = sample_of(volunteers)
    late = sample.visit == 2
    aged = replace(
        sample,
        day=np.where(late, 1461.0, sample.day),
        age_years=np.where(late, sample.age_years - 180 / 365.25 + 4, sample.age_years),
    )
    book = build_table(aged, template({}, CREATED)).book
    pairs, rows = pairs_of(aged, SIX[0], book[SIX[0]]), book[SIX[0]][0]
    place = rows.place(aged.age_years[pairs.first])[0]
    own = -(aged.scaled[pairs.first] - rows.mean[place]) / rows.sd[place]
    assert pairs.z_first == pytest.approx(own, abs=1e-12) and len(own) > 50


def test_a_retest_visit_pairs_with_a_reference_visit_just_before_it() -> None:
    """One who came as a reference volunteer and again for the study counts in both."""
    rows = lines(even_ages(300, seed=2), 2)
    again = lines(even_ages(60, 25, 75, 3), 3, ONE, "retest", first=1000)
    for row in again:
        row[2] = "reference" if row[1] == 1 else "retest"
    made = built([*rows, *again])
    assert table_of(made).retest[0].n == 60 and {row.n for row in table_of(made).rows} == {360}


def test_women_and_men_get_own_rows_where_they_surely_differ() -> None:
    rng = np.random.default_rng(6)
    sex = rng.choice(["female", "male"], 600).tolist()
    table = table_of(built(lines(even_ages(600, seed=6), 6, sex=sex, male=0.8)))
    rows = {(row.sex, row.age_from): row for row in table.rows}
    gap = [
        (rows["male", age].mean - rows["female", age].mean) / rows["male", age].sd for age in range(30, 70)
    ]
    assert fmean(gap) == pytest.approx(0.8, abs=0.25)
    assert rows["any", 50].sd > rows["male", 50].sd  # the spread between them is in the rows of any sex only
    assert rows["female", 50].n == sex.count("female") and rows["male", 50].n == sex.count("male")
    assert all((row.n_mean or 0) >= 30 for row in table.rows if row.sex != "any")
    value = float(value_at(table, table.measures[0], rows["male", 50], 0.0))
    asked = {who: standing(table, ONE[0], value, ByHand(50.5, who)) for who in ("male", "female", "other")}
    assert all(isinstance(one, Standing) for one in asked.values())
    z = {who: one.z for who, one in asked.items() if isinstance(one, Standing)}
    assert z["male"] == pytest.approx(0, abs=1e-9) and z["female"] < z["other"] < z["male"] + 0.02


@pytest.mark.parametrize(("n", "male"), [(600, 0.0), (44, 1.5)])
def test_no_own_rows_where_sexes_do_not_differ_or_are_too_few(n: int, male: float) -> None:
    rng = np.random.default_rng(7)
    known = rng.choice(["female", "male"], n).tolist() + ["not_asked"] * (600 - n)
    made = built(lines(even_ages(600, seed=7), 7, sex=known, male=male))
    assert {row.sex for row in table_of(made).rows} == {"any"}


def test_schooling_that_shifts_scores_is_told_as_the_rows_do_not_hold_it() -> None:
    made = built(lines(even_ages(500, seed=8), 8, schooling=0.15))
    assert any("a year of education" in reason for reason in made.verdict.reasons)
    effect = next(one for one in made.verdict.checks[0].effects if one.what == "a year of education")
    assert effect.sure and effect.size == pytest.approx(-0.15, abs=0.05)  # more scatter is poorer
    none = built(lines(even_ages(500, seed=8), 8)).verdict
    assert not any("education" in reason for reason in none.reasons)


def test_skewed_scores_become_lms_rows_that_place_their_people_evenly() -> None:
    ages = even_ages(600, seed=9)
    rows = lines(ages, 9)
    z = np.random.default_rng(9).standard_normal(600)
    for row, age, one in zip(rows, ages, z, strict=True):
        value = float(lms_value(one, -1.0, 4 + 0.03 * age, 0.2))
        row[14], row[15] = repr(value), repr(float(np.log(value)))
    table = table_of(built(rows))
    assert table.measures[0].scale == "lms" and table.measures[0].trial_sd is None
    assert all(row.lms_l is not None for row in table.rows)
    found = [standing(table, ONE[0], float(str(row[14])), ByHand(float(str(row[4])))) for row in rows]
    z_found = np.array([one.z for one in found if isinstance(one, Standing)])
    assert abs(z_found.mean()) < 0.05 and abs(z_found.std() - 1) < 0.05
    assert {row.lms_l for row in table_of(built(rows, lms="never")).rows} == {None}


def test_smoothed_bands_are_rows_of_a_year_too() -> None:
    made = built(
        lines(even_ages(480, seed=4), 4), method="smoothed_bands", bands=[20, 30, 40, 50, 60, 70, 80]
    )
    table = table_of(made)
    assert table.age_method == "smoothed_bands" and len(table.rows) == 60
    continuous = table_of(built(lines(even_ages(480, seed=4), 4)))
    apart = [(one.mean - two.mean) / two.sd for one, two in zip(table.rows, continuous.rows, strict=True)]
    assert max(map(abs, apart)) < 0.25


def test_a_built_folder_reads_back_as_the_table_that_was_judged(made: Built) -> None:
    assert read_files(made.files).rows == table_of(made).rows
    text = io.StringIO(made.files["table.csv"].decode())
    assert len(list(csv.reader(text))) == 1 + len(table_of(made).rows)


def test_a_built_local_table_judges_a_real_visit_on_its_own_panel_only(made: Built) -> None:
    visit = Sitting(
        "care", date(2026, 8, 1), "clinic", 1, 1, "finger", "t10", "female", True, "en", "1956-03"
    )
    found = standing(table_of(made), ONE[0], 5.0, visit)
    assert isinstance(found, Standing) and "synthetic" not in found.warnings and found.n == 420
    refused = standing(table_of(made), ONE[0], 5.0, replace(visit, device_class="t15"))
    assert isinstance(refused, Refusal) and refused.code == "other_device_class"


def test_what_the_descriptor_says_of_the_people_is_what_was_used(made: Built) -> None:
    about: Mapping[str, object] = table_of(made).about
    assert about["age_method"] == "continuous" and about["whole_n"] == 420
