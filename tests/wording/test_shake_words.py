"""The page's line on a regular shake: none seen, about 5 Hz, or nothing where it could not be judged."""

from dataclasses import replace

import pytest

from kiosk.scoring.trial_scores import BlockScore, Reason
from kiosk.wording.page_foot import conditions
from kiosk.wording.reasons import sentence
from tests.wording.page_samples import DEVICE, english, findings


def also(**shakes):
    """The words under "Also" when blocks have (Hz, height) of a shake."""
    made = findings()
    scores = {name: one for name, one in made.block_scores.items() if ".tremor_" not in name}
    for block, (hz, height) in shakes.items():
        for name, value in (("hz", hz), ("excess", height)):
            measure = f"{block}.preferred.tremor_{name}"
            reason = None if value else "no_regular_shake"
            scores[measure] = BlockScore(measure, value, value, None, 3, "", reason)
    lines = conditions(replace(made, block_scores=scores), DEVICE, english())
    return next(line.value for line in lines if line.label == "Also")


def test_the_tallest_shake_is_told():
    said = also(steady=(5.2, 1.3), brisk=(6.9, 2.5), wander=(None, 3.0))
    assert "regular shake: about 7 Hz" in said and "5 Hz" not in said


def test_where_none_stands_out_it_is_said():
    assert "regular shake: none seen" in also(steady=(None, 0.4), wander=(None, 0.3))


def test_where_it_could_not_be_judged_nothing_is_said():
    assert "shake" not in also(steady=(None, None))
    assert "shake" not in also()


@pytest.mark.parametrize(
    "code", ["shake_not_judged", "shake_needs_rate", "shake_needs_filter", "no_regular_shake"])
def test_why_there_is_no_figure_of_a_shake_has_a_sentence(code):
    assert sentence(code, {}, english()).endswith(".")


def test_a_delay_that_may_be_longer_is_told_with_its_limit():
    caution = Reason("delay_may_be_longer", {"delay_ms": 140.0, "se_ms": 341.0, "limit_ms": 769.2})
    assert "more than 769 ms behind" in sentence(caution.code, caution.values, english())
