"""The desk's wishes fulfilled, by their first word: the lock, people, the visit. The others stand beside."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from kiosk.clinic import wishes_page, wishes_site, wishes_staff
from kiosk.clinic.driver import Clinic
from kiosk.clinic.listed import (
    last_answers,
    left_open,
    needed_by,
    tablet_answers,
    tiles_of,
    today_rows,
)
from kiosk.clinic.listed import visit_state as state_of
from kiosk.errors import Refused
from kiosk.scoring.score import score_trial
from kiosk.visits import desk, desk_find, desk_intake, desk_ready, desk_unlock
from kiosk.visits.check_character import with_check
from kiosk.visits.desk_pad import on
from kiosk.visits.look_alike import look_alikes
from kiosk.visits.person import Person, Sex, ToolHand
from kiosk.visits.visit import VisitEnd
from norms import Refusal

CODE_LETTER: Final = "K"
FIRST_CODE: Final = 101
NOT_UNDERSTOOD: Final = ("retry", "go_on_marked", "end")
IN_BETWEEN: Final = ("go_on", "staff_end")
Fulfil = Callable[[Clinic, str], None]


def _check_pin(clinic: Clinic, _: str) -> None:
    """A wrong PIN is counted by the session too; with the fifth it drops the key."""
    kit = clinic.kit
    if not kit.pins.known():
        clinic.state = replace(clinic.state, entered="", refusal=Refusal("no_pin_yet"))
        return
    right = kit.pins.right(clinic.state.entered)
    if kit.session is not None and not (clinic.sitting is not None and clinic.sitting.in_trial):
        if not kit.session.pin_tried(right):
            return
        clinic.state = replace(clinic.state, at_work=kit.session.at_work)
    clinic.told(desk_unlock.pin_answered(clinic.state, right))


def _passphrase(clinic: Clinic, _: str) -> None:
    """Someone would rather give a passphrase, or is not the one whose PIN is asked."""
    wishes_staff.session_of(clinic)
    clinic.at_door = "sign_in"


def _keep_pin(clinic: Clinic, _: str) -> None:
    clinic.kit.pins.keep(clinic.state.entered)
    clinic.told(desk_unlock.pin_kept(clinic.state))


def _check_clock(clinic: Clinic, _: str) -> None:
    """Staff say the clock was put right."""
    clinic.state = desk.opening(
        clinic.kit.now_local(), pin_known=clinic.kit.pins.known(),
        newest_record=clinic.kit.archive.newest_record(), languages=clinic.state.languages,
        language=clinic.state.language)


def _today(clinic: Clinic, _: str) -> None:
    clinic.sitting = clinic.made = clinic.shown = None
    clinic.state = desk_find.today_told(
        replace(clinic.state, person=None), today_rows(clinic.kit.archive, clinic.kit.now_local()))
    if not clinic.greeted:
        clinic.greeted = True
        _offer_what_was_left(clinic)


def _offer_what_was_left(clinic: Clinic) -> None:
    """After a start: a visit of today that was left in the middle is offered at once."""
    left = next((row for row in clinic.state.rows if row.state == "in_progress"), None)
    if left is None or not clinic.kit.at_work.may("administer"):
        return
    clinic.state = on(replace(clinic.state, visit_id=left.visit_id, visit_state=left.state,
                              person=clinic.kit.archive.person(left.person_id)), "left_open")


def _find(clinic: Clinic, _: str) -> None:
    found = clinic.kit.archive.people_coded(clinic.state.entered)
    clinic.told(desk_find.people_found(clinic.state, found))


def _person(clinic: Clinic) -> Person:
    if clinic.state.person is None:
        raise Refused("unknown_person")
    return clinic.kit.archive.person(clinic.state.person.id)


def _choose(clinic: Clinic, _: str) -> None:
    person = _person(clinic)
    alike = look_alikes(person, clinic.kit.archive.people())
    clinic.told(desk_find.person_chosen(replace(clinic.state, person=person), alike))


def _prepare(clinic: Clinic, _: str) -> None:
    person, archive = _person(clinic), clinic.kit.archive
    clinic.state = desk_intake.prepared(
        clinic.state, person, last_answers(archive, person), needed_by(clinic.table),
        left_open(archive, person.id), tablet_answers(archive, clinic.device.id))


def _new_code(clinic: Clinic, _: str) -> None:
    known = clinic.kit.archive.people_coded(clinic.state.entered)
    clinic.told(desk_find.code_told(clinic.state, known[0] if known else None))


def _give_code(clinic: Clinic, _: str) -> None:
    """The next code that nobody has."""
    number = FIRST_CODE + len(clinic.kit.archive.people())
    while clinic.kit.archive.people_coded(with_check(CODE_LETTER, number)):
        number += 1
    clinic.state = desk_find.code_given(clinic.state, with_check(CODE_LETTER, number))


def _add_person(clinic: Clinic, _: str) -> None:
    draft = clinic.state.draft
    person = Person(clinic.kit.new_id(), draft.code, draft.birth_date, "not_known", clinic.state.language,
                    second_identifier=draft.second_identifier)
    clinic.kit.archive.add_person(person)
    clinic.state = replace(clinic.state, person=person)
    _choose(clinic, "")


def _open(clinic: Clinic, _: str) -> None:
    """A visit of today: on with it, its notes, or its page."""
    archive, visit_id = clinic.kit.archive, clinic.state.visit_id
    if visit_id is None:
        return
    clinic.visit = archive.visit(visit_id)
    state = replace(clinic.state, person=archive.person(clinic.visit.person_id))
    how_far = state_of(archive, visit_id)
    if how_far == "in_progress":
        clinic.state = on(state, "left_open")
    elif how_far == "not_concluded":
        clinic.state = on(state, "concluding")
        clinic.ask(("conclude",))
    else:
        clinic.state = state
        wishes_page.show_again(clinic)


def _begin(clinic: Clinic, _: str) -> None:
    """The visit, kept before its first trial; the person's answers become their details where they differ."""
    if clinic.state.screen != "hand_over":
        return
    answers, state = dict(clinic.state.answers), clinic.state
    newest = clinic.kit.archive.newest_record()
    if newest is not None and clinic.kit.now_local() < newest - desk.MOST_STEP_BACK:
        raise Refused("clock_earlier_than_record", {"newest": newest.isoformat()})
    checks = clinic.kit.archive.checks_of(clinic.device.id)
    if checks.reason is not None and checks.verdict == "refuse":
        raise Refused(checks.reason.code, checks.reason.values)
    room = clinic.room(clinic.kit.languages[answers["language"]], answers["purpose"] == "training")
    person = _with_answers(clinic, _person(clinic), answers)
    told = {**answers, "format": "1", "wiped_and_dry": "yes", "sees_disc": "yes",
            "power": "" if state.power.percent is None else f"{state.power.percent:.0f}"}
    visit = room.begin(person, answers["purpose"], told,  # type: ignore[arg-type]
                       None if checks.panel is None else checks.panel.id)
    clinic.visit, clinic.compared = visit, None
    _sit(clinic)
    clinic.state = desk_ready.begun(replace(state, person=person), visit.id)


def _with_answers(clinic: Clinic, person: Person, answers: dict[str, str]) -> Person:
    tool: ToolHand = answers.get("tool_hand", "not_known")  # type: ignore[assignment]
    sex: Sex = answers.get("sex", person.sex)  # type: ignore[assignment]
    known = replace(person, tool_hand=tool, sex=sex, language=answers["language"])
    if known != person:
        clinic.kit.archive.add_person(known)
    return known


def _sit(clinic: Clinic) -> None:
    visit = clinic.visit
    if visit is None:
        return
    language = clinic.kit.languages.get(visit.language, clinic.language)
    room = clinic.room(language, visit.purpose == "training")
    trials = clinic.kit.archive.trials_of(visit.id)
    scored = [(trial, score_trial(trial.record)) for trial in trials]
    clinic.sitting = room.sitting(visit, clinic.capture, clinic.stage, clinic.kit.now_ns, None, True, scored)
    clinic.stage.on_action = clinic.act


def _resume(clinic: Clinic, _: str) -> None:
    """The course after the trials that are kept."""
    if clinic.state.visit_id is None:
        return
    clinic.visit = clinic.kit.archive.visit(clinic.state.visit_id)
    _sit(clinic)
    clinic.state = desk_ready.begun(clinic.state, clinic.visit.id)


def _close(clinic: Clinic, _: str) -> None:
    """Left in the middle for good: its end is kept as abandoned, and what was done is scored."""
    if clinic.state.visit_id is None:
        return
    clinic.visit, clinic.sitting = clinic.kit.archive.visit(clinic.state.visit_id), None
    clinic.kit.archive.end_visit(VisitEnd(clinic.visit.id, "abandoned", clinic.kit.now_local()))
    clinic.state = on(clinic.state, "concluding")
    clinic.ask(("conclude",))


def _staff_came(clinic: Clinic, _: str) -> None:
    if clinic.sitting is None or clinic.visit is None:
        return
    course = clinic.sitting.course
    choices = NOT_UNDERSTOOD if course.step.screen == "not_understood" else IN_BETWEEN
    tiles = tiles_of(clinic.kit.archive.trials_of(clinic.visit.id))
    clinic.state = desk_ready.staff_came(clinic.state, choices, course.step.screen == "thanks", tiles)


def _sitting(clinic: Clinic, choice: str) -> None:
    """What staff chose while the person waits; the person's screen is drawn anew."""
    if clinic.sitting is not None:
        if choice != "go_on":
            clinic.sitting.act(choice)
        clinic.sitting.show_again()


WISHES: Final[dict[str, Fulfil]] = {
    "check_pin": _check_pin, "keep_pin": _keep_pin, "passphrase": _passphrase,
    "check_clock": _check_clock, "today": _today,
    "find": _find, "choose": _choose, "prepare": _prepare, "new_code": _new_code, "give_code": _give_code,
    "add_person": _add_person, "open": _open, "begin": _begin, "resume": _resume, "close": _close,
    "staff_came": _staff_came, "sitting": _sitting, **wishes_page.WISHES, **wishes_site.WISHES,
    **wishes_staff.WISHES,
}
