"""A visit begun or gone on with: the person's answers kept, the course after the trials that are there.

Decision trials-6.
"""

from dataclasses import replace

from kiosk.app.driver import Clinic
from kiosk.base.errors import Refused
from kiosk.scoring.score import score_trial
from kiosk.staff.person_part import VisitBegun
from kiosk.visits.person import Person, Sex, ToolHand


def person_of(clinic: Clinic) -> Person:
    """The person at hand, as the archive knows them."""
    if clinic.context.person is None:
        raise Refused("unknown_person")
    return clinic.kit.archive.person(clinic.context.person.id)


def refuse_unfit(clinic: Clinic) -> None:
    """Nobody is tested on a tablet that its newest checks found unfit."""
    checks = clinic.kit.archive.checks_of(clinic.device.id)
    if checks.reason is not None and checks.verdict == "refuse":
        raise Refused(checks.reason.code, checks.reason.values)


def begin(clinic: Clinic, answers: dict[str, str]) -> None:
    """A visit with what intake answered, kept before its first trial; the person has the tablet."""
    checks, power = clinic.kit.archive.checks_of(clinic.device.id), clinic.context.power
    room = clinic.room(clinic.kit.languages[answers["language"]], answers["purpose"] == "training")
    person = _with_answers(clinic, person_of(clinic), answers)
    told = {**answers, "format": "1", "wiped_and_dry": "yes", "sees_disc": "yes",
            "power": "" if power.percent is None else f"{power.percent:.0f}"}
    visit = room.begin(person, answers["purpose"], told,  # type: ignore[arg-type]
                       None if checks.panel is None else checks.panel.id)
    clinic.visit, clinic.compared = visit, None
    sit(clinic)
    clinic.know(replace(clinic.context, person=person))
    clinic.on_result(VisitBegun(visit.id, answers))


def _with_answers(clinic: Clinic, person: Person, answers: dict[str, str]) -> Person:
    tool: ToolHand = answers.get("tool_hand", "not_known")  # type: ignore[assignment]
    sex: Sex = answers.get("sex", person.sex)  # type: ignore[assignment]
    known = replace(person, tool_hand=tool, sex=sex, language=answers["language"])
    if known != person:
        clinic.kit.archive.add_person(known)
    return known


def sit(clinic: Clinic) -> None:
    """The person's part of the visit at hand, after the trials that are kept."""
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
