"""What the page says about a visit, and where its marks stand."""

from dataclasses import replace

import numpy as np
import pytest

from kiosk.scoring.catalogue import PRIMARY
from kiosk.wording.cautions import fixed_cautions
from kiosk.wording.findings_words import headlines
from kiosk.wording.page_fit import birth_words
from kiosk.wording.page_parts import PathFigure
from norms import Profile, Refusal
from tests.wording.page_samples import (
    Z_STAR,
    change,
    content,
    english,
    findings,
    fullest,
    shortest,
    standing,
    values_only,
)

BRISK = "brisk.preferred.scatter"


def rows(found):
    return {row.measure: row for row in content(found).profile.rows}


def test_the_two_sentences_each_have_their_chance():
    today, changed = headlines(findings(), english())
    assert today.sentence == (
        "2 of 6 scores are low for age 72 (Scatter, brisk circle; Delay, wandering path)."
    )
    assert today.chance == "About 13 in 100 people of the reference group have 2 or more this low."
    assert changed.sentence == (
        "1 of 6 is reliably poorer than at visit 2 (Scatter, brisk circle). None reliably better."
    )
    assert changed.chance == "At most about 20 in 100 people who have not changed show 1 or more poorer."


def test_with_nothing_low_the_chance_of_one_is_told():
    none_low = findings(
        standings={m: standing(m, 0.1) for m in PRIMARY},
        profile=Profile(PRIMARY, 6, 0, (), 28.5, (28.5, 12.7), 200, ()),
    )
    today = headlines(none_low, english())[0]
    assert today.sentence == "None of 6 scores is low for age 72."
    assert "28 in 100" in today.chance or "29 in 100" in today.chance
    assert "1 or more" in today.chance


def test_a_chance_that_cannot_be_given_says_why():
    refused = Refusal(
        "correlation_missing",
        {"measure_1": PRIMARY[0], "measure_2": PRIMARY[1], "kind": "visit", "table": "t"},
    )
    today = headlines(findings(profile=refused), english())[0]
    assert today.chance.startswith("How common that is cannot be said. The table does not say how Scatter")


def test_a_first_visit_has_nothing_earlier_to_compare_with():
    first = findings(visit_number=1, compared_with=None, changes={}, change_profile=None, history=())
    assert headlines(first, english())[1].sentence.startswith("First visit of this kind")
    assert content(first).change is None


def test_changes_without_judgement_give_their_reason_once():
    refused = Refusal("interval_outside_study", {"days": 4.0, "days_min": 20.0, "days_max": 400.0})
    found = findings(changes=dict.fromkeys(PRIMARY, refused), change_profile=None)
    changed = headlines(found, english())[1]
    assert changed.sentence == "Change since visit 2 is shown without judgement."
    assert changed.chance.count("No retest study covers an interval of 4 days") == 1
    assert {row.reading for row in content(found).change.rows} == {"not judged"}


def test_a_lag_further_ahead_is_never_called_better():
    lag = "circles.preferred.lag"
    found = findings(changes={**findings().changes, lag: change(lag, "further_ahead")})
    sentence = headlines(found, english())[1].sentence
    assert "1 is reliably further ahead." in sentence and "None reliably better." in sentence


def test_values_percentiles_and_labels_stand_as_printed():
    found = rows(findings())
    printed = {m: (r.value, r.percentile, r.label, r.standard_score) for m, r in found.items()}
    assert printed[BRISK] == ("11.6 mm", "7", "Below average", "78")
    assert printed["wander.preferred.delay"] == ("302 ms behind", "5", "Below average", "75")
    assert printed["circles.preferred.lag"] == ("105 ms behind", "9", "Low average", "80")
    assert printed["steady.preferred.scatter"] == ("5.3 mm", "34", "Average", "94")


def test_marks_stand_at_the_unrounded_z_star_with_the_interval_and_the_earlier_visit():
    found, given = rows(findings()), findings()
    for measure, row in found.items():
        assert row.z_star == Z_STAR[measure]
        assert row.interval_z == given.standings[measure].z_interval_95
        assert row.z_before == given.compared_with.z[measure]


def test_the_chart_shows_the_measure_furthest_from_its_expectation_on_the_z_of_its_judgement():
    chart, judged = content(findings()).change.chart, findings().changes[BRISK]
    assert chart.title.startswith("Scatter, brisk circle")
    assert [point.day for point in chart.points] == [0.0, 243.0, 486.0]
    assert chart.points[-1].z == judged.z_after and chart.points[-2].z == judged.z_before
    assert chart.limits_z == judged.limits


def test_limits_and_word_agree_on_the_chart():
    chart = content(findings()).change.chart
    assert chart.points[-1].z < chart.limits_z[0]


def test_the_five_fixed_cautions_stand_first_and_in_order():
    for found in (findings(), fullest(), shortest(), values_only()):
        assert content(found).cautions[:5] == fixed_cautions(english())


# The exact texts are the project's own (its sheet of screens and words, section 3).
FIXED = (
    "This page describes how one person followed a moving disc on this tablet on this day. It "
    "does not diagnose or "
    "rule out anything, and must not be the only reason for a decision.",
    "For a qualified clinician who knows the person. Low scores also come from tiredness, "
    "pain, poor sight, cold "
    "hands, worry, new surroundings or unclear instructions.",
    "One or two low scores are common in healthy people; the sentence at the top says how common.",
    "'Reliable' means larger than chance and practice usually produce. It does not say why, or "
    "whether it matters to "
    "the person. People whose performance varies more from day to day pass the limits more often.",
    "Compare only with visits on the same kind of tablet, with the same input, hand and "
    "battery version. Differences "
    "between visits in state or set-up are listed above.",
)


def test_the_fixed_cautions_have_their_fixed_words():
    assert fixed_cautions(english()) == FIXED


@pytest.mark.parametrize(
    "said",
    [
        "SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE.",
        "The English instructions have not been checked by a second translator.",
        "The reference group is small (n 38): the ranges are wide.",
        "The practice trial was not completed as shown; scores may reflect that.",
        "Last dose: 2–4 h ago today, not taken today at visit 4.",
        "Brisk circle could not be scored: the finger was on the glass 38.4\N{NO-BREAK SPACE}% of the time",
    ],
)
def test_a_visit_brings_its_own_cautions(said):
    assert any(said in caution for caution in content(fullest()).cautions[5:])


def test_a_stopped_visit_says_after_which_trial_and_how_much_is_scored():
    assert content(shortest()).cautions[5:] == (
        "Stopped by the person before the first scored trial. 0 of 6 measures scored.",
    )


def test_without_a_fitting_group_the_page_has_values_and_the_reason():
    found = content(values_only())
    assert found.profile is None and found.change is None
    assert found.values.explanation == (
        "No reference group fits this visit, so no comparison is shown. Reason: The reference data "
        "are simulated; "
        "they answer demonstration and training visits only. The values below are the person's "
        "own. They can be "
        "compared with this person's other visits of the same kind, by eye."
    )
    assert found.values.cells[3][-1] == "302 ms behind" and len(found.values.heads) == 6


def test_only_a_synthetic_table_marks_the_whole_page():
    assert content(fullest()).watermark == ("SIMULATED", "REFERENCE") and content(findings()).watermark == ()


def test_dots_tell_scored_spoilt_and_not_done_trials():
    states = [dot for group in content(shortest()).fit.groups for dot in group.dots]
    assert states == ["not_scored"] + ["not_done"] * 9
    assert content(shortest()).fit.answer == "no"
    assert content(findings()).fit.answer == "yes"
    assert content(fullest()).fit.answer == "in part"


def test_a_visit_with_one_usable_hand_plans_that_hand_only():
    found = findings(visit=replace(findings().visit, hands_today="left"))
    assert [group.label for group in content(found).fit.groups] == ["other hand"]


@pytest.mark.parametrize(
    ("birth", "said"), [("1954-05-09", "9 May 1954"), ("1954-05", "May 1954"), ("1954", "1954")]
)
def test_a_birth_date_is_told_as_precisely_as_it_is_known(birth, said):
    assert birth_words(birth, english()) == said


def test_the_moment_of_the_visit_bears_its_own_zone():
    assert content(findings()).when == "25 Nov 2026 10:42 (UTC+01:00)"


def test_paths_must_be_points():
    with pytest.raises(ValueError, match="shape"):
        PathFigure("steady 1", np.zeros(4), np.zeros((2, 2)))
