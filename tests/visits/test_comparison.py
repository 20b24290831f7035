"""From scores to findings. z, percentiles and chances are worked by hand or with scipy, never by norms."""

from dataclasses import replace
from datetime import timedelta
from math import log

import pytest
from scipy import stats

from kiosk.scoring.trial_scores import BlockScore, Reason
from kiosk.visits.comparison import make_findings
from kiosk.visits.findings import JudgedBy
from norms import PRIMARY_MEASURES, Change, ChangeProfile, Profile, Refusal, Standing
from tests.visits.examples import (
    EXTRA,
    MEAN_MM,
    N_ROW,
    SD_LOG,
    STATED,
    blocks,
    device,
    earlier,
    ended_trial,
    person,
    seen,
    table,
    uuid,
    value_at,
    visit,
)

BRISK = "brisk.preferred.scatter"
LOW_SHARE = stats.norm.cdf(-41 / 30)  # standard score below 79.5


def findings(today=None, **given):
    """Findings of a visit; `person`, `device`, `table`, `earlier` as given, else the examples."""
    facts = {"person": person(), "device": device(), "table": table(), "earlier": ()} | given
    return make_findings(today or seen(), facts.pop("person"), facts.pop("device"), facts.pop("table"),
                         facts.pop("earlier"), **facts)


# Standings

def test_a_value_is_placed_by_the_row_of_its_age():
    value = value_at(-2.0, BRISK)
    found = findings(seen(scores=blocks({BRISK: -2.0}))).standings[BRISK]
    assert isinstance(found, Standing)
    assert found.z == pytest.approx(-(log(value) - log(MEAN_MM)) / SD_LOG)
    # Crawford & Howell (1998): t = z / sqrt(1 + 1/n) with n - 1 degrees of freedom.
    assert found.percentile == pytest.approx(100 * stats.t.cdf(-2 / (1 + 1 / N_ROW) ** 0.5, N_ROW - 1))
    assert (found.row.age_from, found.label) == (70.0, "Below average")


def test_the_primary_measures_stand_together_and_the_others_apart():
    found = findings()
    assert tuple(found.standings) == PRIMARY_MEASURES
    assert tuple(found.other_standings) == (EXTRA,)


def test_the_chance_of_low_scores_follows_the_binomial_law_of_uncorrelated_measures():
    low = {BRISK: -2.0, "wander.preferred.delay": -2.5}
    found = findings(seen(scores=blocks(low))).profile
    assert isinstance(found, Profile) and (found.n_scored, found.n_low) == (6, 2)
    assert found.chance_percent == pytest.approx(100 * stats.binom.sf(1, 6, LOW_SHARE), abs=0.3)


def test_a_visit_stopped_early_counts_its_chance_for_the_measures_it_has():
    missing = dict.fromkeys(PRIMARY_MEASURES[1:5], "block_not_run")
    today = seen(scores=blocks({PRIMARY_MEASURES[0]: -2.0}, missing=missing), how="stopped_by_person")
    found = findings(today)
    assert (found.profile.n_scored, found.profile.n_low) == (2, 1)
    assert found.profile.chance_percent == pytest.approx(100 * stats.binom.sf(0, 2, LOW_SHARE), abs=0.3)
    assert found.standings[BRISK] == Refusal("block_not_run", {"measure": BRISK})


def test_age_is_that_of_the_day_of_the_visit_where_it_took_place():
    today = replace(visit(), started_at=visit().started_at.replace(month=5, day=16, hour=23))
    assert findings(seen(visit=today)).age_years == pytest.approx(71 + 364 / 365)
    assert findings(seen(visit=replace(today, utc_offset_min=120))).age_years == 72.0


def test_a_score_that_rests_on_one_trial_stands_with_a_note_and_is_not_judged_for_change():
    found = findings(seen(1, scores=blocks(n_trials=1)), earlier=[earlier()])
    assert "one_trial_only" in found.standings[BRISK].warnings
    assert {one.code for one in found.changes.values()} == {"one_trial_only"}


# No table, no comparison

def test_a_synthetic_table_gives_a_real_person_values_only_and_says_why():
    found = findings(seen(1), table=table(status="synthetic"), earlier=[earlier()])
    assert found.table_refusal == Refusal("synthetic_with_real_person",
                                          {"table": "LOCAL-2026", "purpose": "care"})
    assert (found.standings, found.other_standings, found.profile, found.table) == ({}, {}, None, None)
    assert (found.changes, found.change_profile, found.compared_with) == ({}, None, None)
    assert found.block_scores[BRISK].value == pytest.approx(MEAN_MM)
    assert [(point.values[BRISK], point.z) for point in found.history] == [(pytest.approx(5.0), {})] * 2


@pytest.mark.parametrize("purpose", ["demo", "training"])
def test_a_synthetic_table_answers_demo_and_training_and_bears_its_caution(purpose: str):
    found = findings(seen(visit=visit(purpose=purpose)), table=table(status="synthetic"))
    assert found.table_refusal is None and found.table.status == "synthetic"
    assert found.cautions[0] == Reason("synthetic")


def test_without_a_table_there_are_values_only():
    found = findings(table=None)
    assert (found.table_refusal, found.standings) == (Refusal("no_table_loaded"), {})


@pytest.mark.parametrize(("changed", "code"), [
    ({"visit": visit(battery_version=2)}, "other_battery_version"),
    ({"visit": visit(battery="clinic-stylus")}, "other_battery"),
    ({"visit": visit(input="stylus")}, "other_input")])
def test_a_visit_the_table_does_not_fit_is_refused_by_its_code(changed: dict, code: str):
    assert findings(seen(**changed)).table_refusal.code == code


def test_age_device_scoring_and_coarse_birth_dates_outside_the_table_are_refused():
    assert findings(person=person(birth_date="2018-05-17")).table_refusal.code == "age_outside"
    assert findings(person=person(birth_date="1956")).table_refusal.code == "birth_date_too_coarse"
    assert findings(device=device(device_class="T15")).table_refusal.code == "other_device_class"
    assert findings(scoring_version=2).table_refusal.code == "other_scoring_version"


def test_an_unknown_latency_refuses_only_what_it_moves():
    found = findings(seen(visit=visit(latency_ms=None)))
    assert found.table_refusal is None
    refused = {name for name, one in found.standings.items() if isinstance(one, Refusal)}
    assert refused == {"circles.preferred.lag", "wander.preferred.delay"}
    assert {found.standings[name].code for name in refused} == {"latency_unknown"}
    assert found.profile.n_scored == 4


# Change

def test_a_change_is_judged_on_z_of_this_table_for_both_visits():
    found = findings(seen(1, scores=blocks({BRISK: -3.0})), earlier=[earlier(z=0.5)])
    change = found.changes[BRISK]
    assert isinstance(change, Change)
    assert (change.z_before, change.z_after) == (pytest.approx(0.5), pytest.approx(-3.0))
    assert (change.reliable, change.days, change.earlier_visit) == ("worse", 180.0, str(uuid(100)))
    # Crawford & Garthwaite: expected = mean 2 + r (z - mean 1); study of the example: 0, 0.1, r 0.8.
    assert change.expected == pytest.approx(0.1 + 0.8 * 0.5)
    assert change.study.earlier_visits == 0
    assert (found.compared_with.visit_id, found.compared_with.number) == (uuid(100), 1)


def test_a_regular_shake_is_never_said_to_have_changed():
    """No retest study covers it: from 0.2 to 3 mm it is two values, and no change, better or poorer."""
    def with_shake(mm):
        shake = {f"steady.preferred.tremor_{name}": BlockScore(
            f"steady.preferred.tremor_{name}", value, value, 0.01, 3, unit)
            for name, value, unit in (("hz", 5.0, "Hz"), ("mm", mm, "mm"), ("excess", 3.0, ""))}
        return blocks() | shake

    found = findings(seen(1, scores=with_shake(3.0)), earlier=[earlier(block_scores=with_shake(0.2))])
    assert set(found.changes) == set(PRIMARY_MEASURES)


def test_the_chance_of_changes_follows_the_binomial_law_for_the_measures_compared():
    missing = {PRIMARY_MEASURES[0]: "too_few_valid_trials"}
    before = earlier(block_scores=blocks(missing=missing))
    found = findings(seen(1, scores=blocks({BRISK: -3.0})), earlier=[before]).change_profile
    assert isinstance(found, ChangeProfile) and (found.n_compared, found.n_worse) == (5, 1)
    assert found.chance_worse_percent == pytest.approx(100 * stats.binom.sf(0, 5, 0.05), abs=0.3)


def test_a_measure_not_scored_at_one_of_the_visits_says_so():
    before = earlier(block_scores=blocks(missing={BRISK: "too_few_valid_trials"}))
    found = findings(seen(1), earlier=[before]).changes
    assert found[BRISK] == Refusal("too_few_valid_trials", {"measure": BRISK})
    assert isinstance(found[PRIMARY_MEASURES[0]], Change)


@pytest.mark.parametrize(("changed", "what"), [
    ({"visit": visit(battery_version=2)}, "battery version"), ({"visit": visit(battery="other")}, "battery"),
    ({"scoring_version": 2}, "scoring version"), ({"visit": visit(input="stylus")}, "input"),
    ({"device_class": "T15"}, "device class"), ({"visit": visit(preferred_hand="left")}, "hand"),
    ({"table": JudgedBy("LOCAL-2026", "2.0.0", "cd" * 32)}, "reference table"),
    ({"table": JudgedBy("OTHER", "1.2.0", "cd" * 32)}, "reference table")])
def test_visits_that_differ_in_what_must_be_equal_are_not_compared(changed: dict, what: str):
    found = findings(seen(1), earlier=[earlier(**changed)])
    assert found.compared_with is None and found.change_profile is None
    assert {(one.code, one.values["what"]) for one in found.changes.values()} == {("not_comparable", what)}


def test_a_training_visit_is_never_compared_with_whatever_todays_is_for():
    for purpose in ("care", "training"):
        today, before = seen(1, visit=visit(1, purpose=purpose)), earlier(visit=visit(purpose="training"))
        found = findings(today, earlier=[before])
        assert found.compared_with is None
        assert {one.code for one in found.changes.values()} == {"earlier_was_training"}


def test_a_visit_with_a_doubted_date_is_neither_placed_nor_compared_nor_compared_with():
    doubted = {"intake": {"date": "doubted"}}
    found = findings(seen(1, visit=visit(1, **doubted)), earlier=[earlier()])
    assert found.table_refusal == Refusal("date_doubted")
    assert (found.standings, found.changes, found.age_years) == ({}, {}, None)
    found = findings(seen(1), earlier=[earlier(visit=visit(**doubted))])
    assert found.standings and found.compared_with is None
    assert {one.code for one in found.changes.values()} == {"earlier_date_doubted"}


@pytest.mark.parametrize("judged_by", [None, JudgedBy("LOCAL-2026", "1.9.3", "cd" * 32),
                                       JudgedBy("RENAMED", "9.0.0", "ab" * 32)])
def test_the_same_table_or_the_same_major_version_of_it_may_judge_a_change(judged_by: JudgedBy | None):
    found = findings(seen(1), earlier=[earlier(table=judged_by)])
    assert all(isinstance(one, Change) for one in found.changes.values())


def test_the_latest_comparable_visit_is_compared_with_unless_another_is_picked():
    visits = [earlier(0), earlier(1), earlier(2, device_class="T15"),
              earlier(visit=visit(3, purpose="training"))]
    today = seen(visit=visit(2, id=uuid(900), started_at=visit(1).started_at + timedelta(days=200)))
    assert findings(today, earlier=visits).compared_with.visit_id == uuid(101)
    assert findings(today, earlier=list(reversed(visits))).compared_with.visit_id == uuid(101)
    assert findings(today, earlier=visits, compare_with=uuid(100)).compared_with.visit_id == uuid(100)
    refused = findings(today, earlier=visits, compare_with=uuid(102))
    assert refused.compared_with is None
    assert {one.values["what"] for one in refused.changes.values()} == {"device class"}


def test_an_interval_that_no_study_covers_is_shown_without_judgement_and_cautioned():
    today = seen(visit=visit(1, started_at=visit().started_at + timedelta(hours=3, minutes=10)))
    found = findings(today, earlier=[earlier()])
    assert {one.code for one in found.changes.values()} == {"interval_outside_study"}
    caution = next(one for one in found.cautions if one.code == "interval")
    assert caution.values == {"days": pytest.approx(190 / 1440), "days_min": 100.0, "days_max": 400.0}
    assert found.change_profile == Refusal("nothing_to_count")


def test_days_are_counted_on_the_calendar_of_the_place():
    later = visit(1, started_at=visit().started_at + timedelta(days=200, hours=14), utc_offset_min=120)
    assert findings(seen(visit=later), earlier=[earlier()]).changes[BRISK].days == 201.0


def test_the_first_visit_has_nothing_to_compare_with():
    found = findings()
    assert (found.visit_number, found.changes, found.compared_with) == (1, {}, None)


def test_history_is_oldest_first_ends_today_and_leaves_training_and_other_batteries_out():
    visits = [earlier(1, z=-1.0), earlier(0), earlier(visit=visit(2, purpose="training")),
              earlier(visit=visit(3, battery_version=2))]
    found = findings(seen(4, scores=blocks(1.0)), earlier=visits)
    assert [point.number for point in found.history] == [1, 2, 5]
    assert found.history[-1].visit_id == found.visit.id
    t = -1 / (1 + 1 / N_ROW) ** 0.5
    assert found.history[1].z[BRISK] == pytest.approx(stats.norm.ppf(stats.t.cdf(t, N_ROW - 1)))


# Cautions

def codes(found) -> list[str]:
    return [one.code for one in found.cautions]


def test_a_plain_visit_brings_no_caution():
    assert findings(seen(1), earlier=[earlier()]).cautions == ()


def test_what_differs_from_the_visit_compared_is_told_one_by_one():
    intake = {"last_dose": "2_to_4", "posture": "seated", "protector": "yes"}
    today = visit(1, intake=intake, placement="flat")
    found = findings(seen(visit=today), device=device(label="tablet 2"), earlier=[earlier()])
    assert [dict(one.values) for one in found.cautions if one.code == "state_differs"] == [
        {"what": "last_dose", "before": "none", "today": "2_to_4", "visit": 1},
        {"what": "placement", "before": "tilted", "today": "flat", "visit": 1},
        {"what": "protector", "before": "not_asked", "today": "yes", "visit": 1},
        {"what": "device", "before": "tablet 1", "today": "tablet 2", "visit": 1}]


def test_a_visit_stopped_by_the_person_is_cautioned_with_what_is_there():
    trials = [ended_trial(1, "familiarise"), *(ended_trial(1 + n, number=n) for n in (1, 2, 3)),
              ended_trial(5, "brisk", outcome="stopped")]
    missing = dict.fromkeys(PRIMARY_MEASURES[1:], "block_not_run")
    found = findings(seen(scores=blocks(missing=missing), how="stopped_by_person", trials=trials))
    assert found.cautions == (Reason("partial", {"trial": 3, "scored": 1, "measures": 6,
                                                 "how": "stopped_by_person"}),)


def test_a_block_that_could_not_be_scored_says_why_once():
    why = Reason("little_contact", {"contact_percent": 38.0, "least_percent": 50.0})
    trials = [ended_trial(7, "wander"), ended_trial(8, "wander", 2, reason=why)]
    missing = {"wander.preferred.delay": "too_few_valid_trials",
               "wander.preferred.scatter": "too_few_valid_trials", BRISK: "contact_below_80",
               "circles.preferred.lag": "lag_needs_both"}
    found = findings(seen(scores=blocks(missing=missing), trials=trials))
    assert found.cautions == (
        Reason("unscored", {"block": "brisk.preferred", "why": "contact_below_80"}),
        Reason("unscored", {"contact_percent": 38.0, "least_percent": 50.0, "block": "wander.preferred",
                            "why": "little_contact"}))


def test_small_groups_draft_languages_and_a_practice_not_understood_are_cautioned_in_the_order_of_the_page():
    from kiosk.pursuit.observation import Observation
    small = table(rows=tuple(replace(row, n=38) for row in table().rows))
    today = seen(visit=visit(adaptation_status="draft", language="de"),
                 observations=[Observation("not_understood")])
    found = findings(today, table=small)
    assert codes(found) == ["draft_language", "small_n", "not_understood"]
    assert found.cautions[1].values == {"n": 38.0}


def test_a_table_that_does_not_say_who_was_tested_is_cautioned_with_the_names():
    about = {**STATED, "country": "not stated", "retest_design": {"people": "stable", "interval": "as here"}}
    found = findings(seen(1), table=table(about=about))
    assert found.cautions == (Reason("table_not_stated", {"missing": "country,retest_blinding"}),)


def test_findings_need_no_table_to_be_cautioned():
    assert codes(findings(seen(how="stopped_by_staff"), table=None)) == ["partial"]


# Trials

def test_touches_a_second_are_those_of_the_moving_finger():
    found = findings().trials[0]
    assert (found.position, found.block, found.n_samples) == (2, "steady", 500)
    assert found.rate_hz == pytest.approx(125.0)  # one sample every 8 ms
