"""Today, and who comes: a person found by code, or added with a code that checks or two identifiers.

Birth dates are typed as digits, year first; year, month and day, year and month, or the year alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Final
from uuid import UUID

from kiosk.visits.check_character import checks
from kiosk.visits.desk_pad import CODE, DIGITS, at_once, on, typed
from kiosk.visits.desk_state import DeskState, Draft, Handler, Moved, TodayRow
from kiosk.visits.person import Person
from norms import Refusal
from norms.table.age import possible_births

OLDEST_YEARS: Final = 120
LEAST_IDENTIFIER: Final = 2
_BIRTH_LENGTHS: Final = (4, 6, 8)


def today_told(state: DeskState, rows: Sequence[TodayRow]) -> DeskState:
    """The persons of today."""
    return replace(state, rows=tuple(rows))


def people_found(state: DeskState, people: Sequence[Person]) -> Moved:
    """Who bears the code: nobody, one who is then looked at more closely, or several to pick from."""
    if not people:
        found = replace(state, screen="find") if state.screen == "today" else state
        return replace(found, refusal=Refusal("nobody_found", {"code": state.entered})), ()
    if len(people) == 1:
        return replace(state, people=tuple(people), person=people[0], refusal=None), ("choose",)
    return replace(on(state, "found"), people=tuple(people)), ()


def person_chosen(state: DeskState, alike: Sequence[Person]) -> Moved:
    """Who looks like the person chosen; staff are asked where someone does."""
    if alike:
        return replace(on(state, "look_alike"), alike=tuple(alike)), ()
    return state, ("prepare",)


def code_told(state: DeskState, known: Person | None) -> Moved:
    """Whether the code of a new person is taken already."""
    if known is not None:
        return replace(state, person=known, refusal=Refusal("code_known", {"code": known.code})), ()
    return replace(on(state, "new_birth"), draft=replace(state.draft, code=state.entered)), ()


def code_given(state: DeskState, code: str) -> DeskState:
    """A new code made by the kiosk stands on the pad."""
    return replace(state, entered=code, refusal=None)


def birth_from(digits: str, today: date) -> str | Refusal:
    """A birth date from its digits, or why it is none.

    >>> birth_from("195405", date(2026, 11, 25)), birth_from("1954", date(2026, 11, 25))
    ('1954-05', '1954')
    >>> birth_from("19540231", date(2026, 11, 25)).code, birth_from("2031", date(2026, 11, 25)).code
    ('not_a_birth_date', 'birth_not_plausible')
    """
    written = "-".join(part for part in (digits[:4], digits[4:6], digits[6:]) if part)
    if len(digits) not in _BIRTH_LENGTHS:
        return Refusal("not_a_birth_date", {"entered": written})
    try:
        earliest, _, latest = possible_births(written)
    except ValueError:
        return Refusal("not_a_birth_date", {"entered": written})
    if earliest > today or today.year - latest.year > OLDEST_YEARS:
        return Refusal("birth_not_plausible", {"entered": written})
    return written


def _today(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "person":
        chosen = _with_id(state, rest)
        return (chosen, ("choose",)) if chosen.person is not None else (state, ())
    if verb == "open":
        row = next((one for one in state.rows if str(one.visit_id) == rest), None)
        return (state, ()) if row is None else (
            replace(state, visit_id=row.visit_id, visit_state=row.state), ("open",))
    if verb == "scan":
        return replace(state, entered=rest), ("find",)
    if verb == "new":
        return replace(on(state, "new_code"), draft=Draft(), person=None, amend_what=""), ()
    return (on(state, "find"), ()) if verb == "find" else (
        (on(state, "site"), ()) if verb == "site" else (state, ()))


def _find(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "today"), ("today",)
    if verb == "scan":
        return replace(state, entered=rest), ("find",)
    if verb == "next":
        return state, ("find",) if state.entered else ()
    return typed(state, verb, rest, CODE), ()


def _found(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "find"), ()
    person = next((one for one in state.people if str(one.id) == rest), None)
    return (replace(state, person=person), ("choose",)) if verb == "person" and person else (state, ())


def _look_alike(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "someone_else":
        return replace(on(state, "find"), person=None, alike=()), ()
    return (replace(state, alike=()), ("prepare",)) if verb == "this_person" else (state, ())


def _new_code(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "today"), ("today",)
    if verb == "give_code":
        return state, ("give_code",)
    if verb == "scan":
        state, verb = replace(state, entered=rest), "next"
    if verb == "two_identifiers" and len(state.entered) >= LEAST_IDENTIFIER:
        return replace(on(state, "new_second"), draft=Draft(state.entered)), ()
    if verb == "next":
        if not checks(state.entered):
            return replace(state, refusal=Refusal("code_does_not_check", {"code": state.entered})), ()
        return replace(state, draft=Draft()), ("new_code",)
    return typed(state, verb, rest, CODE), ()


def _new_second(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "scan":
        state, verb = at_once(state, rest, CODE), "next"
    if verb == "back":
        return replace(on(state, "new_code"), entered=state.draft.code), ()
    if verb == "next":
        if len(state.entered) < LEAST_IDENTIFIER:
            return replace(state, refusal=Refusal("second_identifier_needed")), ()
        draft = replace(state.draft, second_identifier=state.entered)
        return replace(on(state, "new_birth"), draft=draft), ()
    return typed(state, verb, rest, CODE), ()


def _new_birth(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "scan":
        state, verb = at_once(state, rest, DIGITS, max(_BIRTH_LENGTHS)), "next"
    if verb == "back":
        return on(state, "amend" if state.amend_what else "new_code"), ()
    if verb == "not_known":
        return _born(state, "")
    if verb == "next":
        found = birth_from(state.entered, state.at.date())
        return (replace(state, refusal=found), ()) if isinstance(found, Refusal) else _born(state, found)
    return typed(state, verb, rest, DIGITS, max(_BIRTH_LENGTHS)), ()


def _born(state: DeskState, birth_date: str) -> Moved:
    kept = replace(state, draft=replace(state.draft, birth_date=birth_date), refusal=None)
    return kept, ("amend",) if state.amend_what else ("add_person",)


def _with_id(state: DeskState, text: str) -> DeskState:
    """The person of a row of today, as far as the row knows them; the kiosk reads the rest."""
    row = next((one for one in state.rows if str(one.person_id) == text), None)
    if row is None:
        return state
    person = Person(UUID(text), row.code, row.birth_date, "not_known", state.language)
    return replace(state, person=person)


HANDLERS: Final[Mapping[str, Handler]] = {
    "today": _today, "find": _find, "found": _found, "look_alike": _look_alike, "new_code": _new_code,
    "new_second": _new_second, "new_birth": _new_birth,
}
