"""The desk's wishes fulfilled, by their first word: the lock, and people. The others stand beside."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from kiosk.app import wishes_page, wishes_site, wishes_staff, wishes_visit
from kiosk.app.driver import Clinic
from kiosk.app.listed import (
    last_answers,
    left_open,
    needed_by,
    tablet_answers,
    today_rows,
    visits_had,
)
from kiosk.app.listed import visit_state as state_of
from kiosk.app.wishes_visit import person_of
from kiosk.visits import desk, desk_find, desk_intake, desk_unlock, desk_visits
from kiosk.visits.check_character import with_check
from kiosk.visits.desk_pad import on
from kiosk.visits.look_alike import look_alikes
from kiosk.visits.person import Person
from norms import Refusal

CODE_LETTER: Final = "K"
FIRST_CODE: Final = 101
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


def _choose(clinic: Clinic, _: str) -> None:
    person = person_of(clinic)
    alike = look_alikes(person, clinic.kit.archive.people())
    clinic.told(desk_find.person_chosen(replace(clinic.state, person=person), alike))


def _prepare(clinic: Clinic, _: str) -> None:
    """On to a visit, or to those the person has had where the account at work gives none."""
    person, archive = person_of(clinic), clinic.kit.archive
    if not clinic.state.at_work.may("administer"):
        _visits(clinic, "")
        return
    clinic.state = desk_intake.prepared(
        clinic.state, person, last_answers(archive, person), needed_by(clinic.table),
        left_open(archive, person.id), tablet_answers(archive, clinic.device.id))


def _visits(clinic: Clinic, _: str) -> None:
    clinic.state = desk_visits.visits_told(clinic.state, visits_had(clinic.kit.archive, person_of(clinic)))


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


WISHES: Final[dict[str, Fulfil]] = {
    "check_pin": _check_pin, "keep_pin": _keep_pin, "passphrase": _passphrase,
    "check_clock": _check_clock, "today": _today,
    "find": _find, "choose": _choose, "prepare": _prepare, "new_code": _new_code, "give_code": _give_code,
    "add_person": _add_person, "open": _open, "visits": _visits, **wishes_visit.WISHES,
    **wishes_page.WISHES, **wishes_site.WISHES, **wishes_staff.WISHES,
}
