"""Whole tables from open data: 507 active adults of 18 to 67 years (open_data/SOURCES.md), split anew."""

import csv

import numpy as np
import pytest

from norms import ByHand, Standing, standing
from norms.build.build import build_table
from norms.build.template import template
from tests.norms.folders import OPEN_DATA
from tests.norms.sample_people import sample_of

LAG, SCATTER = "circles.preferred.lag", "steady.preferred.scatter"


def adults() -> list[dict[str, str]]:
    with (OPEN_DATA / "body.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def line(number: int, adult: dict[str, str], measure: str, column: str) -> list[object]:
    """An adult as a line of a sample; the measure only lends its scale (identity, log)."""
    value = float(adult[column])
    scaled = np.log(value) if measure == SCATTER else value
    sex = "male" if adult["sex"] == "1" else "female"
    return [
        f"A{number:03d}",
        1,
        "reference",
        "yes",
        adult["age_years"],
        sex,
        "t10",
        "finger",
        0,
        0,
        "clinic",
        1,
        1,
        measure,
        repr(value),
        repr(float(scaled)),
        "",
        1,
        "",
    ]


def held_out(measure: str, column: str, splits: int) -> np.ndarray:
    """Mean and SD of z of the third that was held out, averaged over splits, by tables of two thirds."""
    people, figures = adults(), []
    for seed in range(splits):
        order = np.random.default_rng(seed).permutation(len(people))
        fitted, others = order[: 2 * len(people) // 3], order[2 * len(people) // 3 :]
        sample = sample_of([line(place, people[place], measure, column) for place in fitted])
        table = build_table(
            sample, template({"reference_table": {"floor_n": 5}}, "2026-01-01T00:00:00Z"), seed
        ).table
        assert table is not None
        asked = [
            (
                people[place],
                ByHand(
                    float(people[place]["age_years"]), "male" if people[place]["sex"] == "1" else "female"
                ),
            )
            for place in others
        ]
        found = [standing(table, measure, float(adult[column]), who) for adult, who in asked]
        z = np.array([one.z for one in found if isinstance(one, Standing)])
        assert len(z) > 0.95 * len(others)
        figures.append((z.mean(), z.std(ddof=1)))
    return np.mean(figures, axis=0)


@pytest.mark.long
def test_two_hundred_tables_from_two_thirds_judge_the_held_out_third_at_mean_0_and_sd_1() -> None:
    """Body height: men and women differ by two SD, so own rows are made every time."""
    mean, sd = held_out(LAG, "height_cm", 200)
    assert abs(mean) <= 0.03 and abs(sd - 1) <= 0.05


def test_some_tables_from_two_thirds_do_so_too() -> None:
    mean, sd = held_out(SCATTER, "knee_cm", 12)
    assert abs(mean) <= 0.08 and abs(sd - 1) <= 0.10  # 12 splits scatter by .03


def test_men_and_women_of_open_data_get_own_rows_at_their_own_means() -> None:
    people = adults()
    sample = sample_of([line(place, adult, LAG, "height_cm") for place, adult in enumerate(people)])
    table = build_table(sample, template({"reference_table": {"floor_n": 30}}, "2026-01-01T00:00:00Z")).table
    assert table is not None
    row = {one.sex: one for one in table.rows if one.age_from == 30}
    of = {
        sex: [
            float(adult["height_cm"])
            for adult in people
            if adult["sex"] == code and 25 <= float(adult["age_years"]) < 36
        ]
        for sex, code in (("male", "1"), ("female", "0"))
    }
    for sex, heights in of.items():
        assert row[sex].mean == pytest.approx(np.mean(heights), abs=1.5)
        assert row[sex].sd == pytest.approx(np.std(heights, ddof=1), rel=0.2)
