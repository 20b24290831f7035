"""Whole visits through the kiosk at work: the sentences staff read, and what the archive holds then."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from kiosk.demo.simulated_visits import PANEL, RANGES
from kiosk.pursuit.observation import Observation
from kiosk.pursuit.samples import Samples
from kiosk.screens.screen import OwnAction
from kiosk.staff import tablet
from kiosk.staff.actions import Answer, Key, StaffAction
from kiosk.staff.find import PickPerson
from kiosk.staff.intake import IntakeAction
from kiosk.staff.observations import NoteSeen, ObservationAction, PickTrial
from kiosk.staff.page import PageAction
from kiosk.staff.person_part import LeftOpenAction
from kiosk.staff.printing import PaperAction
from kiosk.staff.ready import TICKS, ReadyAction, Tick
from kiosk.staff.results import PickVisit, ResultsAction
from kiosk.staff.sign import SignAction
from kiosk.staff.tablet import Resize, TabletAction
from kiosk.staff.today import Today, TodayAction
from kiosk.touch.calibration import nominal
from kiosk.touch.cross_check import CROSSES_MM, check_crosses
from kiosk.touch.line_check import Line
from kiosk.touch.simulated_panel import SimulatedPanel, touches
from kiosk.visits.actions import CourseAction, ScreenAction, TouchPlace
from kiosk.visits.power import Power
from norms import Refusal
from tests.app.fake_kiosk import (
    ANSWERS,
    BEGINS,
    PIN,
    FakeKiosk,
    hand_over,
    intake,
    new_person,
    sit_through,
    whole_visit,
)
from tests.touch.test_line_check import drawn


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    kiosk = FakeKiosk(tmp_path)
    kiosk.unlock()
    return kiosk


def last_visit(kiosk: FakeKiosk):
    return kiosk.store.visits_of(kiosk.store.people()[-1].id)[-1]


def sentence(kiosk: FakeKiosk) -> str:
    return kiosk.stage.results[-1][0].headlines[0].sentence


# From start to signature


def test_a_new_person_is_added_tested_and_their_page_printed_and_signed(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)
    visit = last_visit(kiosk)
    trials = kiosk.store.trials_of(visit.id)
    assert kiosk.store.visit_end(visit.id).how == "completed"
    assert [one.record.plan.block for one in trials].count("familiarise") == 1
    assert len(trials) == 11
    assert kiosk.store.observations_of(visit.id) == ()
    kiosk.do(StaffAction.NEXT, PaperAction.PRINT)
    kiosk.frame(5)
    tag = kiosk.store.reports_of(visit.id)[-1].page_tag
    assert kiosk.view.sentence == f"Printer: Room 4. Take the page marked {tag}."
    kiosk.do(StaffAction.NEXT, SignAction.SIGN)
    kiosk.type("AB")
    kiosk.do(Answer("role", "nurse"), SignAction.SIGN)
    signed = kiosk.store.sign_off_of(kiosk.store.reports_of(visit.id)[-1].id)
    assert (signed.initials, signed.role) == ("AB", "nurse")
    kiosk.do(StaffAction.LATER)
    assert kiosk.view.rows[0].cells[2] == "reviewed"


def test_samples_are_kept_at_the_rate_they_came(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)
    for trial in kiosk.store.trials_of(last_visit(kiosk).id):
        samples, plan = trial.record.samples, trial.record.plan
        lasts_s = plan.run_in_s + plan.window_s
        inside = (samples.t_s >= 0) & (samples.t_s < lasts_s)
        silent = ~samples.contact[:-1] & inside[:-1]  # a lifted finger
        lifted_s = np.diff(samples.t_s)[silent].sum()
        assert inside.sum() == pytest.approx(120 * (lasts_s - lifted_s), rel=0.01)


def test_intake_s_answers_are_the_visit_s(kiosk):
    new_person(kiosk)
    whole_visit(kiosk, tool_hand="left", purpose="care", research_use="not_asked", last_dose="2_to_4",
                pain_before="mild", delivery="interpreter", posture="wheelchair")
    visit = last_visit(kiosk)
    assert (visit.preferred_hand, visit.research_use, visit.delivery) == ("left", "not_asked", "interpreter")
    assert visit.intake["last_dose"] == "2_to_4" and visit.intake["posture"] == "wheelchair"
    assert visit.time_zone == "Europe/Berlin" and visit.utc_offset_min == 60
    assert kiosk.store.person(visit.person_id).tool_hand == "left"
    assert {one.record.plan.hand_side for one in kiosk.store.trials_of(visit.id)
            if one.record.plan.hand == "preferred"} == {"left"}


def test_how_the_tablet_lies_and_its_protector_are_asked_kept_and_stand_for_the_next_person(kiosk):
    new_person(kiosk)
    whole_visit(kiosk, placement="tilted", protector="yes")
    visit = last_visit(kiosk)
    assert (visit.placement, visit.intake["protector"]) == ("tilted", "yes")
    set_up = next(one.value for one in kiosk.stage.results[-1][0].conditions if one.label == "Set-up")
    assert "tablet tilted" in set_up and "protector on the glass" in set_up
    kiosk.do(StaffAction.TODAY)
    new_person(kiosk, "19600101")
    chosen = {}
    while kiosk.screen == "intake":
        options = kiosk.view.rows[0].options
        subject = options[0].action.subject
        chosen[subject] = [one.action.value for one in options if one.chosen]
        kiosk.do(*(() if chosen[subject] else (options[0].action,)), StaffAction.NEXT)
    assert chosen["placement"] == ["tilted"] and chosen["protector"] == ["yes"]


def test_same_as_last_time_takes_the_person_s_answers_and_the_tablet_s_own_state(kiosk):
    new_person(kiosk)
    whole_visit(kiosk, placement="tilted", protector="yes")
    kiosk.do(StaffAction.TODAY)
    new_person(kiosk, "19600101")
    whole_visit(kiosk, placement="flat", protector="no")
    kiosk.do(StaffAction.TODAY, TodayAction.FIND)
    kiosk.type(kiosk.store.people()[0].code)
    kiosk.do(IntakeAction.SAME)
    asked = []
    while kiosk.screen == "intake":
        asked.append(kiosk.view.rows[0].options[0].action.subject)
        kiosk.do(kiosk.view.rows[0].options[0].action, StaffAction.NEXT)
    assert asked == ["posture", "last_dose", "pain_before"]
    answers = kiosk.driver.state.screen.answers
    assert (answers["placement"], answers["protector"]) == ("flat", "no")
    kiosk.do(StaffAction.BACK)
    assert kiosk.view.rows[0].options[0].action == Answer("protector", "no"), "Back leads to them"


def test_one_usable_hand_runs_that_hand_only_and_keeps_why(kiosk):
    new_person(kiosk)
    whole_visit(kiosk, tool_hand="right", hands_today="left", hands_reason="cast_or_splint")
    visit = last_visit(kiosk)
    assert (visit.hands_today, visit.hands_reason) == ("left", "cast_or_splint")
    assert {one.record.plan.hand_side for one in kiosk.store.trials_of(visit.id)} == {"left"}


def test_on_a_repeat_visit_same_as_last_time_copies_all_but_state(kiosk):
    new_person(kiosk)
    whole_visit(kiosk, purpose="retest", research_use="yes", pain_before="mild", last_dose="over_4")
    kiosk.do(StaffAction.TODAY, TodayAction.FIND)
    kiosk.type(kiosk.store.people()[0].code)
    assert any(one.action == IntakeAction.SAME for one in kiosk.view.controls)
    kiosk.do(IntakeAction.SAME)
    asked = []
    while kiosk.screen == "intake":
        subject = kiosk.view.rows[0].options[0].action.subject
        asked.append(subject)
        kiosk.do(Answer(subject, "not_asked"), StaffAction.NEXT)
    assert asked == ["posture", "last_dose", "pain_before"]
    assert kiosk.driver.state.screen.answers["purpose"] == "retest"
    hand_over(kiosk)
    assert last_visit(kiosk).form == "B"
    sit_through(kiosk)
    kiosk.unlock()
    kiosk.do(ObservationAction.NOTHING)
    kiosk.do(ResultsAction.REPLAY)
    assert len(kiosk.view.paths) == 2
    assert not kiosk.view.paths[0].hand_xy_mm.flags.writeable
    kiosk.do(StaffAction.BACK, ResultsAction.COMPARE)
    assert [row.cells[2] for row in kiosk.view.rows] == [""]  # nothing was compared: no table judged


# Stopped, not understood, interrupted, left in the middle


def test_a_visit_stopped_after_trial_4_is_kept_and_scored_for_what_was_done(kiosk):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=5, press_stop=True)
    kiosk.unlock()
    kiosk.do(Answer("pain_after", "enough_to_matter"), ObservationAction.NOTHING)
    visit = last_visit(kiosk)
    assert kiosk.store.visit_end(visit.id).how == "stopped_by_person"
    assert kiosk.store.visit_end(visit.id).pain_after == "enough_to_matter"
    assert len(kiosk.store.trials_of(visit.id)) == 4
    assert any("Stopped by the person after trial 3" in one for one in kiosk.stage.results[-1][0].cautions)


def test_focus_lost_in_mid_trial_ends_it_as_interrupted_and_it_is_repeated(kiosk):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=2)
    touches = kiosk.person.touches(kiosk.driver.runner.step.plan, kiosk.t_ns + 100_000_000)
    kiosk.capture.load(touches)
    kiosk.frame(100)
    kiosk.driver.interrupt("focus_lost")
    kiosk.frame()
    kiosk.capture.load([])
    trials = kiosk.store.trials_of(last_visit(kiosk).id)
    assert (trials[-1].record.facts.outcome, trials[-1].record.facts.outcome_reason) == (
        "interrupted", "focus_lost")
    sit_through(kiosk)
    repeated = kiosk.store.trials_of(last_visit(kiosk).id)
    assert [one.record.plan.attempt for one in repeated if one.repeat_of == trials[-1].id] == [2]


def test_what_was_interrupted_is_told_with_the_results_and_its_repeat_is_a_tile_of_its_own(kiosk):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=2)
    kiosk.capture.load(kiosk.person.touches(kiosk.driver.runner.step.plan, kiosk.t_ns + 100_000_000))
    kiosk.frame(100)
    kiosk.driver.interrupt("focus_lost")
    kiosk.frame()
    kiosk.capture.load([])
    sit_through(kiosk)
    kiosk.unlock()
    assert {"Steady 1", "Steady 1, again"} <= {one.words for one in kiosk.view.tiles}
    kiosk.do(ObservationAction.NOTHING)
    fit = kiosk.stage.results[-1][0].fit
    assert fit.answer == "yes, with a note" and fit.notes == (
        "Steady circle 1: Interrupted while it ran.",)


def test_not_understood_waits_for_the_pin_and_gives_staff_three_choices(kiosk):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    for _ in range(2):
        _rest_without_following(kiosk)
    assert kiosk.driver.runner.step.screen == "not_understood"
    kiosk.do(ScreenAction.STAFF)
    assert kiosk.screen == "unlock"
    kiosk.type(PIN)
    assert [one.action for one in kiosk.view.controls] == [
        CourseAction.RETRY, CourseAction.GO_ON_MARKED, CourseAction.END]
    kiosk.do(CourseAction.GO_ON_MARKED)
    assert kiosk.screen == "person" and kiosk.stage.steps[-1].screen == "rest"
    kiosk.person.comes(1, False)
    sit_through(kiosk)
    kiosk.unlock()
    kiosk.do(ObservationAction.NOTHING)
    assert [one.code for one in kiosk.store.observations_of(last_visit(kiosk).id)] == ["not_understood"]


def _rest_without_following(kiosk: FakeKiosk) -> None:
    """The finger rests where the disc was and stays there while the disc goes round."""
    before = kiosk.driver.runner.course.position
    while kiosk.driver.runner.course.position == before:
        runner = kiosk.driver.runner
        if runner.step.screen != "trial":
            kiosk.stage.on_action(ANSWERS[runner.step.screen])
        elif runner.waiting_for_finger:
            kiosk.person.comes(1, False)
            touches = kiosk.person.touches(runner.step.plan, kiosk.t_ns + 100_000_000)
            still = [replace(one, x_raw=touches[0].x_raw, y_raw=touches[0].y_raw) for one in touches]
            kiosk.capture.load(still)
            kiosk.frame(40)
        kiosk.frame()


def test_a_visit_left_by_a_crash_is_offered_and_goes_on_after_the_trials_kept(kiosk, tmp_path):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=5)
    again = FakeKiosk(tmp_path, archive=kiosk.store, begins=BEGINS + timedelta(minutes=5))
    again.t_ns = kiosk.t_ns
    again.frame()
    assert again.screen == "locked" and again.view.headline == "This tablet is locked."
    again.unlock()
    assert again.view.headline == "A visit was left in the middle."
    again.do(StaffAction.BACK)
    assert again.view.rows[0].cells[2] == "in progress"
    again.do(again.view.rows[0].action)
    assert again.view.headline == "A visit was left in the middle."
    again.do(LeftOpenAction.RESUME)
    assert again.driver.runner.course.position == 5
    again.person.comes(1, False)
    sit_through(again)
    again.unlock()
    again.do(ObservationAction.NOTHING)
    visit = last_visit(again)
    assert again.store.visit_end(visit.id).how == "completed"
    assert [one.position for one in again.store.trials_of(visit.id)] == list(range(1, 12))


def test_a_visit_left_in_the_middle_may_be_closed_as_abandoned(kiosk):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.driver.runner = None
    kiosk.driver.state = replace(kiosk.driver.state, screen=Today())
    kiosk.do(TodayAction.FIND)
    kiosk.type(kiosk.store.people()[0].code)
    kiosk.do(LeftOpenAction.CLOSE)
    assert kiosk.store.visit_end(last_visit(kiosk).id).how == "abandoned"


# Power, clock, calibration, printer, ages


def test_at_29_percent_nothing_is_handed_over_and_at_9_a_rest_pauses_the_visit(kiosk):
    new_person(kiosk)
    intake(kiosk)
    kiosk.power = Power(29.0, False)
    kiosk.frame()
    hand_over(kiosk)
    assert kiosk.screen == "power_low" and kiosk.view.headline == "Plug in or charge first."
    assert kiosk.store.visits_of(kiosk.store.people()[0].id) == ()
    kiosk.power = Power(29.0, True)
    kiosk.do(StaffAction.BACK, ReadyAction.HAND_OVER, ScreenAction.TOUCHED)
    kiosk.person.comes(1, False)
    kiosk.power = Power(9.0, False)
    sit_through(kiosk)
    kiosk.frame()
    assert kiosk.screen == "paused"
    assert kiosk.view.sentence == "It needs power. What you did is saved."
    visit = last_visit(kiosk)
    assert kiosk.store.visit_end(visit.id) is None and len(kiosk.store.trials_of(visit.id)) == 1
    kiosk.unlock()
    kiosk.do(LeftOpenAction.RESUME)
    assert kiosk.screen == "left_open"  # not while it is empty
    kiosk.power = Power(12.0, True)
    kiosk.frame()
    kiosk.do(LeftOpenAction.RESUME)
    assert kiosk.screen == "person"


def test_a_clock_set_back_a_year_begins_nothing(kiosk, tmp_path):
    new_person(kiosk)
    back = FakeKiosk(tmp_path, archive=kiosk.store, begins=BEGINS - timedelta(days=365))
    back.frame()
    assert back.screen == "clock_back" and back.view.headline == "The clock is wrong."
    assert "earlier than the newest record" in back.view.sentence
    back.do(ScreenAction.STAFF)
    assert back.screen == "clock_back"
    back.begins = BEGINS + timedelta(hours=1)
    back.do(ScreenAction.STAFF)
    assert back.screen == "locked"


def test_without_calibration_nobody_is_tested(tmp_path):
    kiosk = FakeKiosk(tmp_path, calibrated=False)
    kiosk.unlock()
    new_person(kiosk)
    intake(kiosk)
    assert kiosk.screen == "ready" and "not calibrated" in kiosk.view.note
    kiosk.do(*(Tick(tick) for tick in TICKS))
    give = next(one for one in kiosk.view.controls if one.action is ReadyAction.HAND_OVER)
    assert not give.available
    assert kiosk.store.visits_of(kiosk.store.people()[0].id) == ()


def test_the_card_calibrates_the_tablet_and_the_stage_is_made_anew(tmp_path):
    kiosk = FakeKiosk(tmp_path, calibrated=False)
    kiosk.unlock()
    kiosk.do(TodayAction.SITE, tablet.TILE, TabletAction.CARD)
    for _ in range(2):
        for target_px in (5.88 * 85.60, 5.88 * 53.98):
            while abs(kiosk.view.length_px - target_px) > 0.5:
                away = round(target_px - kiosk.view.length_px)
                kiosk.do(Resize(away))
            kiosk.do(StaffAction.NEXT)
    assert kiosk.view.sentence == "The two rounds agree."
    kiosk.do(StaffAction.NEXT)
    record = kiosk.store.newest_calibration(kiosk.driver.device.id)
    assert (record.method, len(record.readings)) == ("card", 4)
    assert record.px_per_mm_x == pytest.approx(5.88, rel=0.005)
    assert len(kiosk.stages) == 2 and kiosk.stages[0].closed


def test_a_latency_from_the_camera_is_kept_with_the_tablet(kiosk):
    kiosk.do(TodayAction.SITE, tablet.TILE, TabletAction.LATENCY)
    for number in ("240", "16", "17", "16", "18", "17"):
        kiosk.type(number)
    kiosk.do(TabletAction.DONE)
    assert kiosk.view.figures[0].value == "70 ms"
    kiosk.do(StaffAction.NEXT)
    assert kiosk.store.newest_device().latency_ms == pytest.approx(70.0)  # 16.8 frames at 240 a second


def by_slide(kiosk, leads_ms):
    kiosk.do(TabletAction.SLIDE)
    for lead_ms in leads_ms:
        kiosk.do(tablet.Lead(-300.0), tablet.Lead(lead_ms), StaffAction.NEXT)


def test_a_latency_by_slide_is_kept_and_where_film_does_not_agree_neither_counts(kiosk):
    kiosk.do(TodayAction.SITE, tablet.TILE)
    by_slide(kiosk, [66, 74, 67, 73, 69, 71, 65, 75, 68, 74])  # pairs 70 70 70 70 71
    kiosk.do(StaffAction.NEXT)
    assert kiosk.store.newest_device().latency_method == "operator_slide"
    assert kiosk.driver.device.latency_ms == pytest.approx(70.2)
    kiosk.do(TabletAction.LATENCY)
    for number in ("240", "24", "24", "25", "23", "24"):  # 100 ms
        kiosk.type(number)
    kiosk.do(TabletAction.DONE, StaffAction.NEXT)
    assert kiosk.driver.device.latency_ms is None and kiosk.driver.context.tablet.latency_ms is None
    assert [row.cells[1] for row in kiosk.view.rows[-2:]] == [
        "100 ms · the two differ, neither counts", "70 ms · the two differ, neither counts"]
    by_slide(kiosk, [96, 104, 97, 103, 99, 101, 95, 105, 98, 104])
    kiosk.do(StaffAction.NEXT)
    assert kiosk.driver.device.latency_ms == pytest.approx(100)  # film's, which the slide now bears out


def test_the_line_of_a_slide_lies_under_the_finger_where_the_lead_is_the_latency(kiosk):
    """200 mm/s from -60 mm on, reported 70 ms late: at each picture the line is where the finger is then."""
    kiosk.do(TodayAction.SITE, tablet.TILE, TabletAction.SLIDE, tablet.Lead(70.0))
    t_s = np.arange(0.0, 0.7, 0.002)
    true = Samples(t_s, 200.0 * t_s - 60.0, 0 * t_s, np.ones(t_s.size, dtype=bool))
    begin_ns = kiosk.t_ns
    panel = SimulatedPanel(rate_hz=120.0, latency_s=0.07)
    kiosk.capture.load(touches(true, panel, nominal("A"), RANGES, PANEL, begin_ns, np.random.default_rng(1)))
    off_mm = []
    for _ in range(60):
        kiosk.frame(by_s=1 / 60)
        if kiosk.stage.places[-1:] not in ([], [[]]):
            finger_mm = 200.0 * (kiosk.t_ns - begin_ns) / 1e9 - 60.0
            off_mm.append(kiosk.stage.places[-1][0][0] - finger_mm)
    assert len(off_mm) > 8 and np.abs(off_mm).max() < 0.05
    kiosk.do(StaffAction.BACK)
    assert kiosk.driver.sliding is None


def test_settings_that_differ_too_much_ask_for_two_more(kiosk):
    kiosk.do(TodayAction.SITE, tablet.TILE)
    by_slide(kiosk, [50, 60, 70, 90, 60, 60, 90, 100, 50, 60])
    assert kiosk.driver.state.screen.note.code == "settings_differ"
    assert (kiosk.view.done, kiosk.view.total) == (10, 12)


def test_a_printer_that_never_answers_gives_its_sentence_and_the_page_can_be_saved(kiosk, tmp_path):
    new_person(kiosk)
    whole_visit(kiosk)
    kiosk.print_outcome = Refusal("printer_did_not_answer")
    kiosk.do(StaffAction.NEXT, PaperAction.PRINT)
    kiosk.frame(5)
    assert kiosk.view.sentence == "The printer did not answer. Nothing is waiting in it. Save, or try again."
    report = kiosk.store.reports_of(last_visit(kiosk).id)[-1]
    assert not kiosk.store.was_put_out(report.id)
    kiosk.do(PaperAction.SAVE)
    assert (tmp_path / "pages" / f"{report.page_tag}.pdf").read_bytes() == report.pdf
    assert kiosk.store.was_put_out(report.id)


@pytest.mark.parametrize(("birth", "kept", "age", "said"), [
    ("20180301", "2018-03-01", "8", "covers ages"), ("19320301", "1932-03-01", "94", "covers ages"),
    ("1954", "1954", "72", "birth date 1954 is too coarse: its possible days fall in different rows"),
    ("195405", "1954-05", "72", ""), ("", "", "not known", "birth date is not known")])
def test_ages_8_and_94_a_year_alone_and_none_give_their_sentence_and_the_visit_is_kept(
        tmp_path, birth, kept, age, said):
    kiosk = FakeKiosk(tmp_path, device_class="simulated")
    kiosk.unlock()
    new_person(kiosk, birth)
    whole_visit(kiosk, purpose="training")
    content = kiosk.stage.results[-1][0]
    assert kiosk.store.people()[-1].birth_date == kept
    assert next(one.value for one in content.identity if one.label == "Age") == age
    visit = last_visit(kiosk)
    assert kiosk.store.visit_end(visit.id).how == "completed" and len(kiosk.store.reports_of(visit.id)) == 1
    if said:
        assert content.profile is None and said in content.values.explanation
    else:
        assert content.values is None and sentence(kiosk).endswith("for age 72.")


# What is put right afterwards


def amend(kiosk: FakeKiosk, what: str, reason: str) -> None:
    """From the results: put something right, for a reason."""
    kiosk.do(StaffAction.NEXT, PageAction.AMEND, Answer("what", what), Answer("reason", reason),
             StaffAction.NEXT)


def test_a_late_observation_makes_a_new_page_beside_the_old_one(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)
    visit = last_visit(kiosk)
    brisk = next(one for one in kiosk.store.trials_of(visit.id) if one.record.plan.block == "brisk")
    amend(kiosk, "observations", "seen_later")
    kiosk.do(PickTrial(brisk.id), NoteSeen("wrong_hand"), StaffAction.NEXT)
    first, second = kiosk.store.reports_of(visit.id)
    assert second.replaces == first.id and second.page_tag != first.page_tag
    assert kiosk.store.observations_of(visit.id) == (Observation("wrong_hand", brisk.id),)
    assert [one.reason for one in kiosk.store.amendments_of(visit.id)] == ["seen_later"]
    assert not kiosk.store.scores_of(visit.id).trials[brisk.id].validity.valid


def test_a_corrected_birth_date_is_a_new_version_and_a_new_page(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)
    amend(kiosk, "birth_date", "wrong_entry")
    kiosk.type("1944")
    person = kiosk.store.people()[-1]
    assert person.birth_date == "1944"
    assert [one.action for one in kiosk.store.amendments_of(person.id)] == ["correct"]
    assert len(kiosk.store.reports_of(last_visit(kiosk).id)) == 2


def test_a_visit_taken_out_does_not_count_until_it_is_put_back(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)
    visit = last_visit(kiosk)
    amend(kiosk, "void_visit", "wrong_person")
    assert kiosk.store.is_void(visit.id) and kiosk.view.rows[0].cells[2] == "taken out"
    kiosk.do(PickVisit(visit.id))
    amend(kiosk, "restore_visit", "wrong_entry")
    assert not kiosk.store.is_void(visit.id)
    assert [one.action for one in kiosk.store.amendments_of(visit.id)] == ["void", "restore"]


# Nobody without the PIN


def test_while_the_person_has_the_tablet_no_staff_data_are_drawn(kiosk):
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    drawn = len(kiosk.stage.views)
    kiosk.person.comes(1, False)
    sit_through(kiosk)
    assert len(kiosk.stage.views) == drawn
    kiosk.do(ScreenAction.STAFF)
    kiosk.do(StaffAction.BACK)
    assert kiosk.screen == "person" and kiosk.stage.steps[-1].screen == "thanks"


def test_a_desk_left_alone_is_locked_and_a_trial_never_is(kiosk):
    kiosk.frame(2, by_s=100.0)
    assert kiosk.screen == "locked" and kiosk.view.head is None
    kiosk.unlock()
    assert kiosk.screen == "today"
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.frame(2, by_s=600.0)
    assert kiosk.screen == "person"


def test_a_button_under_a_finger_is_not_drawn_anew_when_the_minute_turns(kiosk):
    drawn = len(kiosk.stage.views)
    kiosk.stage.pressed = True
    kiosk.frame(2, by_s=61.0)
    assert len(kiosk.stage.views) == drawn
    kiosk.stage.pressed = False
    kiosk.frame()
    assert len(kiosk.stage.views) == drawn + 1


def test_a_replay_goes_on_when_the_minute_turns(kiosk):
    new_person(kiosk)
    whole_visit(kiosk)
    results = len(kiosk.stage.results)
    kiosk.frame(2, by_s=61.0)
    assert len(kiosk.stage.results) == results
    kiosk.do(ResultsAction.REPLAY)
    drawn = len(kiosk.stage.views)
    kiosk.frame(2, by_s=61.0)
    assert len(kiosk.stage.views) == drawn
    kiosk.do(StaffAction.BACK)
    assert len(kiosk.stage.results) == results + 1


def test_digits_typed_faster_than_the_pad_is_drawn_are_not_lost(kiosk):
    """The next key is down when the last one acts: the pad waits for its lift, another screen does not."""
    kiosk.do(TodayAction.FIND)
    drawn = len(kiosk.stage.views)
    kiosk.stage.pressed = True
    kiosk.do(Key("K"), Key("0"))
    assert len(kiosk.stage.views) == drawn and kiosk.driver.state.screen.entered == "K0"
    kiosk.do(StaffAction.BACK)
    assert len(kiosk.stage.views) == drawn + 1


def test_ids_in_actions_are_those_of_the_archive(kiosk):
    new_person(kiosk)
    kiosk.do(StaffAction.BACK)
    assert kiosk.view.rows[0].action == PickPerson(kiosk.store.people()[0].id)


def test_every_person_of_a_busy_day_is_on_the_list_once(kiosk):
    for number in range(7):
        new_person(kiosk, f"195{number}0101")
        kiosk.do(StaffAction.BACK)
    assert len({row.action for row in kiosk.view.rows}) == 7
    assert not any(one.action is OwnAction.MORE_SHEETS for one in kiosk.view.controls), (
        "the screen turns its own sheets")


def ended(true):
    """The finger lifts at the end."""
    end_s, x_mm, y_mm = true.t_s[-1], true.x_mm[-1], true.y_mm[-1]
    return Samples(np.append(true.t_s, [end_s + 0.02, end_s + 0.2]), np.append(true.x_mm, [x_mm, x_mm]),
                   np.append(true.y_mm, [y_mm, y_mm]), np.append(true.contact, [False, False]))


def draw(kiosk, panel, line, rng):
    kiosk.frame(2)
    true = ended(drawn(line))
    kiosk.capture.load(touches(true, panel, nominal("A"), RANGES, PANEL, kiosk.t_ns + 10_000_000, rng))
    kiosk.frame(int((true.t_s[-1] + 1.0) / 0.05))


def test_a_panel_that_jitters_in_motion_is_named_and_kept(kiosk):
    kiosk.do(TodayAction.SITE, tablet.TILE, TabletAction.LINES)
    rng = np.random.default_rng(3)
    for line in Line:
        assert kiosk.screen == "lines"
        draw(kiosk, SimulatedPanel(rate_hz=60.0, jitter_mm=0.05, moving_jitter_mm=0.7), line, rng)
    assert kiosk.view.sentence == "Fit for visits, with a note."
    assert "while the finger moves" in kiosk.view.figures[-1].value
    kiosk.do(StaffAction.NEXT)
    kept = kiosk.driver.context.tablet.checks
    assert [one.code for one in kept.lines.reasons] == ["jitter_in_motion"] and kept.crosses is None
    assert kept.lines.response_ms == kiosk.capture.smoothing_ms == 0.0  # noise came through unfiltered


def test_a_line_that_is_too_short_is_drawn_again(kiosk):
    kiosk.do(TodayAction.SITE, tablet.TILE, TabletAction.LINES)
    rng = np.random.default_rng(3)
    draw(kiosk, SimulatedPanel(), Line.STILL, rng)
    draw(kiosk, SimulatedPanel(), Line.STILL, rng)
    assert kiosk.driver.state.screen.note.code == "line_too_short"
    assert len(kiosk.driver.state.screen.lines) == 1


def check_the_day(kiosk, off_mm):
    """Five crosses touched off_mm to the right, then a slide: a circle on a simulated panel."""
    for x_mm, y_mm in CROSSES_MM:
        kiosk.do(TouchPlace(x_mm + off_mm, y_mm))
    assert kiosk.screen == "daily_slide"
    kiosk.do(TabletAction.START_CHECK)
    t_s = np.arange(0.0, 9.0, 0.002)
    true = Samples(t_s, 40 * np.cos(t_s), 40 * np.sin(t_s), np.ones(t_s.size, dtype=bool))
    kiosk.capture.load(touches(true, SimulatedPanel(jitter_mm=0.1), nominal("A"), RANGES, PANEL, kiosk.t_ns,
                               np.random.default_rng(1)))
    kiosk.frame(190)


def test_the_first_sign_in_of_a_day_checks_the_tablet_and_tells_drift_before_people(kiosk):
    for off_mm in (1.0, 1.2, 0.9):
        kiosk.store.add_cross_check(kiosk.driver.device.id, kiosk.driver.record.id,
                                    check_crosses([(x + off_mm, y) for x, y in CROSSES_MM]))
    kiosk.driver.know(replace(kiosk.driver.context, tablet=kiosk.driver.tablet_facts()))
    kiosk.do(StaffAction.LOCK)
    kiosk.t_ns += 24 * 3600 * 10**9
    kiosk.unlock()
    assert kiosk.screen == "daily"
    kiosk.do(StaffAction.NEXT)
    check_the_day(kiosk, 4.0)
    assert kiosk.screen == "daily_trend" and kiosk.view.sentence.startswith("The tablet has drifted.")
    assert kiosk.view.figures[0].value == "4.0 mm, usually 1.0"
    kiosk.do(StaffAction.NEXT)
    assert kiosk.screen == "today"
    kiosk.do(StaffAction.LOCK)
    kiosk.unlock()
    assert kiosk.screen == "today"


def test_the_check_of_the_day_can_be_put_off_until_tomorrow(kiosk):
    kiosk.store.add_cross_check(kiosk.driver.device.id, kiosk.driver.record.id, check_crosses(CROSSES_MM))
    kiosk.driver.know(replace(kiosk.driver.context, tablet=kiosk.driver.tablet_facts()))
    kiosk.do(StaffAction.LOCK)
    for expected in ("daily", "daily"):
        kiosk.t_ns += 24 * 3600 * 10**9
        kiosk.unlock()
        assert kiosk.screen == expected
        kiosk.do(StaffAction.BACK)
        assert kiosk.screen == "today"
        kiosk.do(StaffAction.LOCK)


# What touches are made with


@pytest.mark.parametrize(("source", "kept"), [("toolkit", "mouse"), ("kernel", "finger")])
def test_a_visit_by_mouse_is_kept_as_one_and_no_table_of_fingers_judges_it(
        tmp_path, monkeypatch, source, kept):
    kiosk = FakeKiosk(tmp_path, device_class="simulated")
    kiosk.unlock()
    monkeypatch.setattr(kiosk.capture, "source", source, raising=False)
    monkeypatch.setattr("kiosk.app.visit_runner.is_own_source", lambda capture: False)
    new_person(kiosk)
    whole_visit(kiosk, purpose="training")
    assert last_visit(kiosk).input == kept
    content = kiosk.stage.results[-1][0]
    assert (content.profile is None) == (kept == "mouse")
    if kept == "mouse":
        assert "this visit used mouse" in content.values.explanation
        assert content.headlines[0].sentence == "Values only: no comparison is shown."
