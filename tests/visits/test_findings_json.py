"""findings.json: plain facts, one canonical text, nothing rounded."""

import json
from dataclasses import replace

import pytest

from kiosk.visits.comparison import make_findings
from kiosk.visits.findings_json import findings_dict, findings_text, trial_stem
from tests.visits.examples import blocks, device, earlier, ended_trial, person, seen, table

BRISK = "brisk.preferred.scatter"


@pytest.fixture(scope="module")
def found():
    today = seen(1, scores=blocks({BRISK: -3.0}), trials=[ended_trial(1, "familiarise"), ended_trial(2),
                                                         ended_trial(5, attempt=2)])
    return make_findings(today, person(), device(), table(), [earlier()])


def test_the_text_is_canonical_and_holds_what_the_dictionary_holds(found):
    text = findings_text(found)
    assert json.loads(text) == findings_dict(found)
    assert text == json.dumps(json.loads(text), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert findings_text(found) == text


def test_it_holds_the_parts_of_the_data_model(found):
    told = findings_dict(found)
    assert set(told) >= {"visit", "versions", "age_years", "trials", "block_scores", "standings", "profile",
                         "changes", "change_profile", "table", "observations", "cautions"}
    assert (told["visit"]["number"], told["visit"]["form"], told["visit"]["purpose"]) == (2, "A", "care")
    assert told["visit"]["started_at"] == "2026-07-11T09:00:00Z"
    assert told["versions"] == {"battery": 1, "scoring": 1, "comparison": 1, "findings_format": 1}
    assert "steady.preferred.error_rms" in told["standings"]


def test_numbers_are_not_rounded(found):
    told = findings_dict(found)
    assert told["standings"][BRISK]["z"] == found.standings[BRISK].z
    assert told["block_scores"][BRISK] == {
        "value": found.block_scores[BRISK].value, "unit": "mm", "se": 0.05,
        "scaled": found.block_scores[BRISK].scaled, "n_trials": 3, "reason": None}
    assert told["changes"][BRISK]["reliable"] == "worse"
    assert len(repr(told["changes"][BRISK]["t_regression"])) > 8


def test_trials_bear_the_names_of_their_files_and_their_scores(found):
    told = findings_dict(found)["trials"]
    assert [one["file"] for one in told] == [
        "trials/v2-01-familiarise-preferred-1.csv", "trials/v2-02-steady-preferred-1.csv",
        "trials/v2-05-steady-preferred-1-r.csv"]
    assert (told[1]["side"], told[1]["trial"], told[1]["valid"]) == ("right", 1, True)
    assert told[1]["scores"] == {
        "scatter": {"value": 5.25, "unit": "mm", "se": None, "reason": None},
        "lag": {"value": None, "unit": "ms", "se": None, "reason": "latency_unknown"}}
    assert trial_stem(1, found.trials[2]) == "v1-05-steady-preferred-1-r"


def test_a_refusal_is_its_code_with_its_values():
    missing = {BRISK: "too_few_valid_trials"}
    told = findings_dict(make_findings(seen(scores=blocks(missing=missing)), person(), device(), table()))
    assert told["standings"][BRISK] == {"refused": "too_few_valid_trials", "values": {"measure": BRISK}}
    without = findings_dict(make_findings(seen(), person(), device(), None))
    assert without["table_refusal"] == {"refused": "no_table_loaded", "values": {}}
    assert (without["standings"], without["profile"]) == ({}, None)


def test_no_name_and_no_birth_date_is_told(found):
    text = findings_text(found)
    assert "1954" not in text and "K-0412-7" not in text


def test_a_figure_that_is_not_a_number_cannot_be_told(found):
    with pytest.raises(ValueError, match="JSON"):
        findings_text(replace(found, age_years=float("nan")))
