"""From the printed figures alone the printed words follow: for any values, also a hair beyond a limit.

The findings are made by norms from the demo's table; their words are read back from the content of the page
as a reader would, by numbers and words, with nothing of kiosk.wording.
"""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kiosk.scoring.catalogue import PRIMARY
from kiosk.scoring.trial_scores import BlockScore
from kiosk.visits.findings import Findings
from kiosk.wording.page_parts import PageContent
from kiosk.wording.units import decimals_that_tell
from norms import ByHand, Change, Occasion, Standing, change, read_folder, standing
from tests.sources import ROOT
from tests.wording.page_samples import block_scores, content, findings

TABLE = read_folder(ROOT / "demo_norms")
NEAR = (0.0, 1e-5, 1e-4, 1e-3, 4e-3, 6e-3, 0.02, 0.3)  # shares of the value, beyond or inside a limit
SECOND_READING = {"reliably poorer", "reliably better", "reliably further ahead"}


def number(text: str) -> float:
    """The first number of a text; below 0 where it is ahead of the disc."""
    found = float(re.search(r"[\d.]+", text.replace("−", "-")).group())
    return -found if "ahead" in text else found


def ends(text: str) -> tuple[float, float]:
    """Both ends of a printed range: 3.8–7.2, 12 ahead to 60 behind, 60–12 ahead."""
    low, high = (float(one) for one in re.findall(r"[\d.]+", text))
    if "ahead to" in text:
        return -low, high
    return (-low, -high) if text.endswith("ahead") else (low, high)


def made(age: float, start: dict[str, float], which: dict[str, tuple[int, float]]) -> Findings:
    """Standings and changes of values that begin at z = start and end about a limit of no change."""
    standings, changes, scores = {}, {}, block_scores()
    for measure in PRIMARY:
        row = TABLE.rows_of_measure[measure][0]
        known = TABLE.measure_by_name[measure]
        middle = next(one for one in TABLE.rows_of_measure[measure]
                      if one.age_from <= age < one.age_to and one.sex == row.sex)
        before = float(np.exp(middle.mean + start[measure] * middle.sd)) if known.scale == "log" else (
            middle.mean + start[measure] * middle.sd)
        asked = ByHand(age)
        first = change(TABLE, measure, Occasion(before, asked), Occasion(before, asked), 180.0, 1)
        end, near = which[measure]
        after = before
        if isinstance(first, Change):
            limit = first.limits_value[end % 2]
            after = limit + (1 if end < 2 else -1) * near * abs(limit)
        answer = standing(TABLE, measure, after, asked)
        standings[measure] = answer
        changes[measure] = change(TABLE, measure, Occasion(before, asked), Occasion(after, asked), 180.0, 1)
        scores[measure] = BlockScore(measure, after, 0.0, 0.1, 2, known.unit)
    return findings(age_years=age, block_scores=scores, standings=standings, changes=changes)


def check(page: PageContent, found: Findings) -> int:
    """Read the page; how many rows were judged."""
    judged = 0
    for row in page.change.rows:
        answer = found.changes[row.measure]
        if not isinstance(answer, Change):
            continue
        judged += 1
        today, (low, high) = number(row.today), ends(row.limits)
        assert (not low <= today <= high) == (row.reading in SECOND_READING), (row, answer.limits_value)
    for row in page.profile.rows:
        answer = found.standings[row.measure]
        if not isinstance(answer, Standing):
            continue
        today, (low, high) = number(row.value), ends(row.usual)
        assert row.low == (int(row.standard_score) <= 79)
        assert not row.low or not low <= today <= high, (row.value, row.usual, row.standard_score)
    low = sum(row.low for row in page.profile.rows)
    assert page.headlines[0].sentence.startswith(("None of", "The one") if low == 0 else f"{low} of ")
    return judged


@settings(max_examples=150, deadline=None)
@given(st.floats(20, 88), st.fixed_dictionaries({m: st.floats(-2.5, 2.5) for m in PRIMARY}),
       st.fixed_dictionaries({m: st.tuples(st.integers(0, 3), st.sampled_from(NEAR)) for m in PRIMARY}))
def test_no_printed_word_contradicts_the_printed_figures(age, start, which):
    found = made(age, start, which)
    assert check(content(found), found) >= 1


def test_a_value_a_hair_beyond_its_limit_is_printed_beyond_it():
    found = made(60.0, dict.fromkeys(PRIMARY, 0.0), dict.fromkeys(PRIMARY, (1, 1e-4)))
    rows = {row.measure: row for row in content(found).change.rows}
    row = rows["steady.preferred.scatter"]
    assert row.reading == "reliably poorer"
    assert number(row.today) > ends(row.limits)[1]
    assert len(row.limits.split("–")[1].split(".")[1]) > 1


@pytest.mark.parametrize(("value", "limits", "decimals"), [
    (7.239, (3.8, 7.195), 2), (7.3, (3.8, 7.195), 1), (7.19, (3.8, 7.195), 1), (3.76, (3.8, 7.2), 2),
    (3.84, (3.849, 7.2), 2), (3.84451, (3.8446, 7.2), 4),
])  # fmt: skip
def test_as_many_decimals_as_it_takes(value, limits, decimals):
    assert decimals_that_tell(value, limits, "mm") == decimals
