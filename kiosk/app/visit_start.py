"""A visit begun or gone on with: the person's answers kept, the course after the trials that are there.

Decision trials-6.
"""

from dataclasses import replace

from kiosk.app.driver import KioskDriver
from kiosk.base.errors import Refused
from kiosk.scoring.score import score_trial
from kiosk.staff.person_part import PersonPart
from kiosk.visits.person import Person, Sex, ToolHand
from kiosk.visits.visit import DOUBTED


def person_of(driver: KioskDriver) -> Person:
    """The person at hand, as the archive knows them."""
    if driver.context.person is None:
        raise Refused("unknown_person")
    return driver.deps.archive.person(driver.context.person.id)


def refuse_unfit(driver: KioskDriver) -> None:
    """Nobody is tested on a tablet that its newest checks found unfit."""
    reason = driver.deps.archive.checks_of(driver.device.id).refusal
    if reason is not None:
        raise Refused(reason.code, reason.values)


def begin(driver: KioskDriver, answers: dict[str, str]) -> None:
    """A visit with what intake answered, kept before its first trial; the person has the tablet."""
    checks, power = driver.deps.archive.checks_of(driver.device.id), driver.context.power
    language = driver.deps.languages[answers["language"]]
    context = driver.visit_context(language, answers["purpose"] == "training")
    doubt = {"date": DOUBTED} if driver.deps.archive.clock_doubted() else {}
    person = _with_answers(driver, person_of(driver), answers)
    told = {**answers, **doubt, "format": "1", "wiped_and_dry": "yes", "sees_disc": "yes",
            "power": "" if power.percent is None else f"{power.percent:.0f}"}
    visit = context.begin(person, answers["purpose"], told,  # type: ignore[arg-type]
                       None if checks.panel is None else checks.panel.id)
    driver.visit, driver.compared = visit, None
    sit(driver)
    driver.know(replace(driver.context, person=person))
    driver.on_result(PersonPart(visit.id, answers))


def _with_answers(driver: KioskDriver, person: Person, answers: dict[str, str]) -> Person:
    tool: ToolHand = answers.get("tool_hand", "not_known")  # type: ignore[assignment]
    sex: Sex = answers.get("sex", person.sex)  # type: ignore[assignment]
    known = replace(person, tool_hand=tool, sex=sex, language=answers["language"])
    if known != person:
        driver.deps.archive.add_person(known)
    return known


def sit(driver: KioskDriver) -> None:
    """The person's part of the visit at hand, after the trials that are kept."""
    visit = driver.visit
    if visit is None:
        return
    language = driver.deps.languages.get(visit.language, driver.language)
    context = driver.visit_context(language, visit.purpose == "training")
    trials = driver.deps.archive.trials_of(visit.id)
    scored = [(trial, score_trial(trial.record)) for trial in trials]
    driver.runner = context.runner(visit, driver.capture, driver.stage, driver.deps.now_ns,
                                  driver.deps.refresh_hz, True, scored)
    driver.stage.on_action = driver.act
