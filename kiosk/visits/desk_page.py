"""The page: printed, saved or copied; taken over by a name; amended with a reason, both pages kept.

The person's leaflet goes the same way to the paper. It holds no result, so that everybody at the desk may
give it, and it does not change how far the page is.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from kiosk.visits.desk_find import LEAST_IDENTIFIER
from kiosk.visits.desk_pad import CODE, at_once, on, typed
from kiosk.visits.desk_state import DeskState, Handler, Moved
from norms import Refusal

LETTERS: Final = CODE[10:-1]
MOST_INITIALS: Final = 4
ROLES: Final = ("doctor", "psychologist", "therapist", "nurse", "other_role")
WHAT: Final = ("birth_date", "observations", "void_visit", "restore_visit")
WHY: Final = ("wrong_person", "wrong_entry", "seen_later", "asked_by_person", "other_reason")
STATEMENT: Final = "read_page_and_notes"  # kept with a signature; the words are kiosk.wording.staff_page's


def printed(state: DeskState, printer: str) -> DeskState:
    """The page lies in the printer."""
    page = state.page and replace(state.page, printer=printer)
    return _put_out(replace(on(state, "printed"), page=page))


def not_printed(state: DeskState, reason: Refusal) -> DeskState:
    """No page came, and nothing is waiting for one."""
    return replace(on(state, "not_printed"), refusal=reason)


def saved(state: DeskState, name: str) -> DeskState:
    """The page is a file of this name."""
    page = state.page and replace(state.page, saved_as=name)
    return _put_out(replace(on(state, "saved"), page=page))


def _put_out(state: DeskState) -> DeskState:
    return replace(state, visit_state="not_reviewed") if state.paper == "page" else state


def signed(state: DeskState) -> DeskState:
    """Someone has taken the page over."""
    page = state.page and replace(state.page, reviewed=True)
    return replace(on(state, "page"), page=page, visit_state="reviewed", signer="", role="")


def _page(state: DeskState, verb: str, rest: str) -> Moved:
    state = replace(state, paper="page")
    if verb in ("print", "save"):
        return _out(state, verb)
    if verb == "leaflet":
        return _to_leaflet(state), ()
    if verb == "sign" and state.page is not None and not state.page.reviewed:
        return on(state, "signer"), ()
    if verb == "amend":
        return replace(on(state, "amend"), amend_what="", amend_why=""), ()
    if verb == "later":
        return on(state, "today"), ("today",)
    if verb in ("copy", "results"):
        return on(state, "copy" if verb == "copy" else "results"), ()
    return state, ()


def _out(state: DeskState, verb: str) -> Moved:
    return (on(state, "printing"), ("print",)) if verb == "print" else (state, ("save",))


def _copy(state: DeskState, verb: str, rest: str) -> Moved:
    return (on(state, "page"), ()) if verb == "back" else (state, ())


def _printing(state: DeskState, verb: str, rest: str) -> Moved:
    return state, ("cancel_print",) if verb == "cancel_print" else ()


def _came_out(state: DeskState, verb: str, rest: str) -> Moved:
    if verb in ("print", "save"):
        return _out(state, verb)
    if verb == "later":
        return replace(on(state, "today"), paper="page"), ("today",)
    if verb == "leaflet":
        return _to_leaflet(state), ()
    return (_after_paper(state), ()) if verb == "next" else (state, ())


def _to_leaflet(state: DeskState) -> DeskState:
    return replace(on(state, "leaflet"), paper="leaflet")


def _after_paper(state: DeskState) -> DeskState:
    """Back to the page, or to what stands in its place for who may not read it."""
    return replace(on(state, "page" if state.at_work.may("interpret") else "kept"), paper="page")


def _leaflet(state: DeskState, verb: str, rest: str) -> Moved:
    if verb in ("print", "save"):
        return _out(state, verb)
    return (_after_paper(state), ()) if verb == "back" else (state, ())


def _kept(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "leaflet":
        return _to_leaflet(state), ()
    return (on(state, "today"), ("today",)) if verb == "next" else (state, ())


def _signer(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "scan":
        state, verb = at_once(state, rest, LETTERS, MOST_INITIALS), "next"
    if verb == "back":
        return on(state, "page"), ()
    if verb == "next":
        if len(state.entered) < LEAST_IDENTIFIER:
            return replace(state, refusal=Refusal("initials_needed", {"least": LEAST_IDENTIFIER})), ()
        return replace(on(state, "sign_off"), signer=state.entered, role=""), ()
    return typed(state, verb, rest, LETTERS, MOST_INITIALS), ()


def _sign_off(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return replace(on(state, "signer"), entered=state.signer), ()
    if verb == "set":
        name, _, value = rest.partition(" ")
        known = name == "role" and value in ROLES
        return (replace(state, role=value, refusal=None), ()) if known else (state, ())
    if verb == "sign" and not state.role:
        return replace(state, refusal=Refusal("role_needed")), ()
    return state, ("sign",) if verb == "sign" else ()


def _amend(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return replace(on(state, "page"), amend_what="", amend_why=""), ()
    if verb == "set":
        return _told(state, *rest.partition(" ")[::2]), ()
    if verb != "next" or not (state.amend_what and state.amend_why):
        return state, ()
    if state.amend_what == "birth_date":
        return on(state, "new_birth"), ()
    if state.amend_what == "observations":
        return state, ("notes",)
    return on(state, "concluding"), ("amend",)


def _told(state: DeskState, name: str, value: str) -> DeskState:
    if name == "what" and value in WHAT:
        return replace(state, amend_what=value)
    return replace(state, amend_why=value) if name == "reason" and value in WHY else state


HANDLERS: Final[Mapping[str, Handler]] = {
    "page": _page, "copy": _copy, "printing": _printing, "printed": _came_out, "not_printed": _came_out,
    "saved": _came_out, "signer": _signer, "sign_off": _sign_off, "amend": _amend,
    "leaflet": _leaflet, "kept": _kept,
}
