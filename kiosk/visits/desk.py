"""The staff's part as a state machine: an action and a moment in, the next state and wishes out.

Screens, actions and wishes are listed in kiosk.visits.desk_state. An action that does not fit the screen
changes nothing: a second tap on a button that has gone is no mistake of anyone's.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final

from kiosk.visits import (
    desk_after,
    desk_find,
    desk_intake,
    desk_page,
    desk_ready,
    desk_roles,
    desk_site,
    desk_staff,
    desk_unlock,
    desk_visits,
)
from kiosk.visits.desk_state import DeskScreen, DeskState, Handler, Moved, Power
from kiosk.visits.staff import AtWork
from norms import Refusal

IDLE_S: Final = 180.0
STAFF_OWN_NO_DATA: Final = ("first_pin", "first_pin_again", "locked", "unlock", "hand_over", "person",
                            "paused", "concluding", "printing", "clock_back", "device_check", "crosses")
MOST_STEP_BACK: Final = timedelta(seconds=5)  # two clocks of one machine, read one after the other

HANDLERS: Final[Mapping[str, Handler]] = {
    **desk_unlock.HANDLERS, **desk_find.HANDLERS, **desk_intake.HANDLERS, **desk_ready.HANDLERS,
    **desk_after.HANDLERS, **desk_page.HANDLERS, **desk_site.HANDLERS, **desk_staff.HANDLERS,
    **desk_visits.HANDLERS,
}


def opening(at: datetime, *, pin_known: bool, newest_record: datetime | None = None,
            languages: tuple[str, ...] = ("en",), language: str = "en",
            at_work: AtWork | None = None) -> DeskState:
    """The desk when the kiosk starts: a PIN is chosen where there is none, else it is locked.

    A clock earlier than the newest record is refused: nothing begins before it is put right.
    """
    screen: DeskScreen = "locked" if pin_known else "first_pin"
    state = DeskState(screen, at, at, languages=languages, language=language, at_work=at_work or AtWork())
    if newest_record is not None and at < newest_record - MOST_STEP_BACK:
        values = {"now": at.isoformat(), "newest": newest_record.isoformat()}
        return replace(state, screen="clock_back", refusal=Refusal("clock_earlier_than_record", values))
    return state


def act(state: DeskState, action: str, at: datetime) -> Moved:
    """What an action on the screen leads to."""
    state = replace(state, at=at, active_at=at)
    verb, _, rest = action.partition(" ")
    if verb == "lock" and state.screen not in STAFF_OWN_NO_DATA:
        return locked(state), ()
    lacking = desk_roles.withheld(state, action)
    if lacking is not None:
        return desk_roles.not_yours(state, lacking), ()
    return HANDLERS[state.screen](state, verb, rest)


def tick(state: DeskState, at: datetime, power: Power) -> DeskState:
    """Time has passed: the desk left alone is locked, and an empty battery pauses what is to come."""
    state = replace(state, at=at, power=power)
    idle = (at - state.active_at).total_seconds() >= IDLE_S
    if idle and state.screen not in STAFF_OWN_NO_DATA:
        return locked(state)
    return state


def locked(state: DeskState) -> DeskState:
    """The neutral locked screen; the right PIN leads back to where the desk was."""
    return replace(state, screen="locked", after_pin=state.screen, entered="", refusal=None)


def refused(state: DeskState, reason: Refusal, back_to: DeskScreen | None = None) -> DeskState:
    """The kiosk could not fulfil a wish: why, and where "back" leads; from a wait broken off, to today."""
    came_from: DeskScreen = "today" if state.screen == "concluding" else state.screen
    return replace(state, screen="refused", refusal=reason, back_to=back_to or came_from)


def with_site(state: DeskState, **known: Any) -> DeskState:
    """What is known of the tablet."""
    return replace(state, site=replace(state.site, **known))
