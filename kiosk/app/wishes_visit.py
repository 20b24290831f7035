"""Wishes about the visit at hand: begun, spoken in another language, resumed, closed; staff who come."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from kiosk.app.driver import Clinic
from kiosk.app.listed import last_answers, tablet_answers, tiles_of
from kiosk.base.errors import Refused
from kiosk.scoring.score import score_trial
from kiosk.visits import desk, desk_ready
from kiosk.visits.desk_archive import Amendment
from kiosk.visits.desk_pad import on
from kiosk.visits.person import Person, Sex, ToolHand
from kiosk.visits.visit import VisitEnd

NOT_UNDERSTOOD: Final = ("retry", "go_on_marked", "end")
IN_BETWEEN: Final = ("go_on", "staff_end")


def person_of(clinic: Clinic) -> Person:
    """The person on the desk, as the archive knows them."""
    if clinic.state.person is None:
        raise Refused("unknown_person")
    return clinic.kit.archive.person(clinic.state.person.id)


def _begin(clinic: Clinic, _: str) -> None:
    """The visit, kept before its first trial; the person's answers become their details where they differ."""
    if clinic.state.screen != "hand_over":
        return
    newest = clinic.kit.archive.newest_record()
    if newest is not None and clinic.kit.now_local() < newest - desk.MOST_STEP_BACK:
        raise Refused("clock_earlier_than_record", {"newest": newest.isoformat()})
    _refuse_unfit(clinic)
    _begin_visit(clinic)


def _refuse_unfit(clinic: Clinic) -> None:
    """Nobody is tested on a tablet that its newest checks found unfit."""
    checks = clinic.kit.archive.checks_of(clinic.device.id)
    if checks.reason is not None and checks.verdict == "refuse":
        raise Refused(checks.reason.code, checks.reason.values)


def _begin_visit(clinic: Clinic) -> None:
    answers, state = dict(clinic.state.answers), clinic.state
    checks = clinic.kit.archive.checks_of(clinic.device.id)
    room = clinic.room(clinic.kit.languages[answers["language"]], answers["purpose"] == "training")
    person = _with_answers(clinic, person_of(clinic), answers)
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
    clinic.sitting = room.sitting(visit, clinic.capture, clinic.stage, clinic.kit.now_ns,
                                  clinic.kit.refresh_hz, True, scored)
    clinic.stage.on_action = clinic.act


def _resume(clinic: Clinic, _: str) -> None:
    """The course after the trials that are kept."""
    if clinic.state.visit_id is None:
        return
    _refuse_unfit(clinic)
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


def _speak(clinic: Clinic, tag: str) -> None:
    """The person chose another language before anything was done: the visit is taken out and begun in it."""
    sitting, visit = clinic.sitting, clinic.visit
    if sitting is None or visit is None or sitting.step.screen != "welcome" or sitting.scored:
        return
    if tag not in clinic.kit.languages or tag == visit.language:
        sitting.show_again()
        return
    archive = clinic.kit.archive
    said = {**last_answers(archive, person_of(clinic)), **tablet_answers(archive, visit.device_id)}
    archive.amend(Amendment("visit", visit.id, "void", "asked_by_person"))
    clinic.state = replace(clinic.state, answers={**(clinic.state.answers or said), "language": tag})
    _begin_visit(clinic)


WISHES: Final[dict[str, Callable[[Clinic, str], None]]] = {
    "begin": _begin, "speak": _speak, "resume": _resume, "close": _close, "staff_came": _staff_came,
    "sitting": _sitting,
}
