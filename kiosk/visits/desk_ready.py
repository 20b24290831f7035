"""The last check, the hand-over, and the staff's way back to the tablet while the person has it.

Below 30 % and not charging nothing is handed over; below 10 % in a rest the visit pauses, kept as it is.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final
from uuid import UUID

from kiosk.visits.desk_intake import TICKS, again
from kiosk.visits.desk_pad import on
from kiosk.visits.desk_state import DeskScreen, DeskState, Handler, Moved, Notes, Power, Tile

LEAST_TO_BEGIN_PERCENT: Final = 30.0
LEAST_TO_GO_ON_PERCENT: Final = 10.0


def enough_to_begin(power: Power) -> bool:
    """Whether a visit may be handed over; a machine without a battery has enough."""
    return power.percent is None or power.charging is True or power.percent >= LEAST_TO_BEGIN_PERCENT


def may_hand_over(state: DeskState) -> bool:
    """Everything is ticked and the tablet was not found unfit."""
    return state.ticks >= set(TICKS) and state.site.checks.verdict != "refuse"


def must_pause(power: Power) -> bool:
    """Whether the visit pauses at the next rest.

    >>> must_pause(Power(9.0, False)), must_pause(Power(9.0, True)), must_pause(Power(10.0, False))
    (True, False, False)
    """
    return power.percent is not None and power.charging is not True and (
        power.percent < LEAST_TO_GO_ON_PERCENT)


def begun(state: DeskState, visit_id: UUID) -> DeskState:
    """The person's part has begun."""
    return replace(on(state, "person"), visit_id=visit_id, visit_state="in_progress")


def staff_came(state: DeskState, choices: Sequence[str], over: bool, tiles: Sequence[Tile]) -> DeskState:
    """Staff held their corner: the PIN is asked, then they choose, or note what they saw."""
    after: DeskScreen = "observations" if over else "staff_choices"
    return replace(on(state, "unlock"), after_pin=after, pin_back="person", choices=tuple(choices),
                   tiles=tuple(tiles), notes=Notes())


def paused(state: DeskState) -> DeskState:
    """The battery is nearly empty: the visit is kept as it is."""
    return on(state, "paused")


def _ready(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return again(state), ()
    if verb == "tick" and rest in TICKS:
        return replace(state, ticks=state.ticks ^ {rest}), ()
    if verb == "hand_over" and may_hand_over(state):
        return on(state, "hand_over" if enough_to_begin(state.power) else "power_low"), ()
    return state, ()


def _power_low(state: DeskState, verb: str, rest: str) -> Moved:
    return (on(state, "ready"), ()) if verb == "back" else (state, ())


def _hand_over(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "staff":
        return replace(on(state, "unlock"), after_pin="ready", pin_back="hand_over"), ()
    return (state, ("begin",)) if verb == "touched" else (state, ())


def _person(state: DeskState, verb: str, rest: str) -> Moved:
    return (state, ("staff_came",)) if verb == "staff" else (state, ())


def _staff_choices(state: DeskState, verb: str, rest: str) -> Moved:
    return (on(state, "person"), (f"sitting {verb}",)) if verb in state.choices else (state, ())


def _paused(state: DeskState, verb: str, rest: str) -> Moved:
    if verb != "staff":
        return state, ()
    return replace(on(state, "unlock"), after_pin="left_open", pin_back="paused"), ()


def _left_open(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "today"), ("today",)
    if verb == "resume":
        return (state, ("resume",)) if enough_to_begin(state.power) else (state, ())
    return (state, ("close",)) if verb == "close_visit" else (state, ())


HANDLERS: Final[Mapping[str, Handler]] = {
    "ready": _ready, "power_low": _power_low, "hand_over": _hand_over, "person": _person,
    "staff_choices": _staff_choices, "paused": _paused, "left_open": _left_open,
}
