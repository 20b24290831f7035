"""After the thanks: what staff saw, by exception; then the results, why a number is what it is, replay."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final
from uuid import UUID

from kiosk.pursuit.observation import Observation
from kiosk.visits.desk_pad import on
from kiosk.visits.desk_roles import concluded_screen
from kiosk.visits.desk_state import DeskState, EarlierRow, Handler, Moved, Notes, PageFacts, Tile

CHIPS: Final = ("talked", "interrupted", "pain", "helped_by_touch", "told_where", "wrong_hand",
                "glove_or_nail", "glass_wet")
PAIN: Final = ("none", "mild", "enough_to_matter", "not_asked")
YES_NO: Final = ("yes", "no")
HANDS_NOT_AS_ASKED: Final = "hands_as_asked_no"


def noted(notes: Notes) -> tuple[Observation, ...]:
    """The observations that the notes amount to, whole visit first."""
    seen = set(notes.seen) | ({(None, HANDS_NOT_AS_ASKED)} if notes.hands_as_asked == "no" else set())
    return tuple(Observation(code, trial) for trial, code in sorted(
        seen, key=lambda one: (one[0] is not None, str(one[0]), one[1])))


def notes_from(observations: Sequence[Observation], pain_after: str) -> Notes:
    """Notes made earlier, to be gone through once more."""
    own = frozenset((one.trial_id, one.code) for one in observations if one.code in CHIPS)
    hands = any(one.code == HANDS_NOT_AS_ASKED for one in observations)
    return Notes(None, own, pain_after, "no" if hands else "yes")


def concluded(state: DeskState, page: PageFacts) -> DeskState:
    """The visit is scored and its page made."""
    return replace(on(state, concluded_screen(state)), page=page, amend_what="", amend_why="",
                   visit_state="reviewed" if page.reviewed else "not_printed")


def earlier_told(state: DeskState, rows: Sequence[EarlierRow]) -> DeskState:
    """The earlier visits to choose from."""
    return replace(on(state, "compare"), earlier=tuple(rows))


def notes_told(state: DeskState, notes: Notes, tiles: Sequence[Tile]) -> DeskState:
    """What was noted before, to be changed."""
    return replace(on(state, "observations"), notes=notes, tiles=tuple(tiles))


def _observations(state: DeskState, verb: str, rest: str) -> Moved:
    notes = state.notes
    if verb == "trial":
        return replace(state, notes=replace(notes, chosen=_tile(state, rest))), ()
    if verb == "note" and rest in CHIPS:
        return replace(state, notes=replace(notes, seen=notes.seen ^ {(notes.chosen, rest)})), ()
    if verb == "set":
        return replace(state, notes=_answered(notes, *rest.partition(" ")[::2])), ()
    if verb == "nothing":
        state = replace(state, notes=replace(notes, seen=frozenset()))
    if verb in ("nothing", "next"):
        return on(state, "concluding"), ("amend",) if state.amend_what else ("conclude",)
    return state, ()


def _answered(notes: Notes, name: str, value: str) -> Notes:
    if name == "pain_after" and value in PAIN:
        return replace(notes, pain_after=value)
    if name == "hands_as_asked" and value in YES_NO:
        return replace(notes, hands_as_asked=value)
    return notes


def _tile(state: DeskState, text: str) -> UUID | None:
    return next((one.trial_id for one in state.tiles if str(one.trial_id) == text), None)


def _concluding(state: DeskState, verb: str, rest: str) -> Moved:
    return state, ()


def _results(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "why" and rest:
        return replace(on(state, "why"), why=rest), ()
    if verb == "replay":
        return replace(on(state, "replay"), replay_trial=0), ("replay",)
    if verb == "compare":
        return state, ("earlier",)
    if verb == "next":
        return on(state, "page"), ()
    return (on(state, "today"), ("today",)) if verb == "today" else (state, ())


def _why(state: DeskState, verb: str, rest: str) -> Moved:
    return (on(state, "results"), ()) if verb == "back" else (state, ())


def _replay(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "trial" and rest.isdecimal():
        return replace(state, replay_trial=int(rest)), ()
    return _why(state, verb, rest)


def _compare(state: DeskState, verb: str, rest: str) -> Moved:
    if verb != "compare":
        return _why(state, verb, rest)
    known = [one.visit_id for one in state.earlier if str(one.visit_id) == rest and one.comparable]
    if not known:
        return state, ()
    rows = tuple(replace(one, chosen=one.visit_id == known[0]) for one in state.earlier)
    return replace(on(state, "concluding"), earlier=rows), ("compare",)


HANDLERS: Final[Mapping[str, Handler]] = {
    "observations": _observations, "concluding": _concluding, "results": _results, "why": _why,
    "replay": _replay, "compare": _compare,
}
