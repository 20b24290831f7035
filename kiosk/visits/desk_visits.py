"""The visits a person has had, whatever the day: to read one again, to sign or amend it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from kiosk.visits.desk_pad import on
from kiosk.visits.desk_state import DeskState, EarlierRow, Handler, Moved


def visits_told(state: DeskState, rows: Sequence[EarlierRow]) -> DeskState:
    """The person's visits that have ended, newest first."""
    return replace(on(state, "visits"), earlier=tuple(rows))


def _visits(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "today"), ("today",)
    chosen = next((one for one in state.earlier if str(one.visit_id) == rest), None)
    if verb != "open" or chosen is None:
        return state, ()
    return replace(state, visit_id=chosen.visit_id), ("open",)


HANDLERS: Final[Mapping[str, Handler]] = {"visits": _visits}
