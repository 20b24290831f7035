"""The staff's part as a state machine: an action or a result and a moment in, the next state and effects out.

An action that does not fit the screen changes nothing: a second tap on a button that has gone is no mistake
of anyone's. Moments are aware, local time.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.concluding import Concluding
from kiosk.staff.lock import ClockBack, FirstPin, Locked, Unlock
from kiosk.staff.ready import HandOver
from kiosk.staff.rights import Right, may, refusal_code
from kiosk.staff.screen import Effect, Moved, Result, Screen, SiteTile, StaffContext, back, person_head, today
from kiosk.staff.site import Site
from kiosk.visits.actions import Action, ScreenAction
from kiosk.visits.power import Power
from kiosk.visits.staff import AtWork
from kiosk.wording.instructions import staff_word
from kiosk.wording.staff_parts import ListView, NoticeView, StaffView
from norms import Refusal

IDLE_S: Final = 180.0
MOST_STEP_BACK: Final = timedelta(seconds=5)  # two clocks of one machine, read one after the other


@dataclass(frozen=True)
class StaffState:
    """The screen that stands, and what all screens may read."""

    screen: Screen
    context: StaffContext


Stepped = tuple[StaffState, tuple[Effect, ...]]


@dataclass(frozen=True)
class CannotGoOn(Screen):
    """What was asked for could not be done; the note says why. given_up: where Back leads, None: today."""

    given_up: Screen | None = None
    name: ClassVar[str] = "refused"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Back to where it was asked for."""
        if action is not StaffAction.BACK:
            return self.stay()
        return today(self) if self.given_up is None else come_back(self.given_up)

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """The reason as a notice."""
        return NoticeView(language.say("This cannot go on."), self.note_in(language), (back(language),),
                          person_head(context, language.say("Staff"), language))


@dataclass(frozen=True)
class HelpComes(Screen):
    """The tablet is with the person, and what their touch asked for was refused: nothing of why or of whom.

    Staff read why once they have unlocked.
    """

    why: CannotGoOn
    name: ClassVar[str] = "help_comes"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Staff unlock to read why."""
        return Moved(Unlock(self.why, self)) if action is ScreenAction.STAFF else self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that asks the person to wait."""
        said = language.say("Please wait."), language.say("Someone will help you.")
        return NoticeView(*said, (), None, staff_word(language))


def opening(at: datetime, *, pin_known: bool, newest_record: datetime | None = None,
            languages: tuple[str, ...] = ("en",), language: str = "en", at_work: AtWork | None = None,
            tiles: tuple[SiteTile, ...] = ()) -> StaffState:
    """The staff's part when the kiosk starts: a PIN is chosen where there is none, else it is locked.

    A clock earlier than the newest record is refused: nothing begins before it is put right.
    """
    context = StaffContext(at, at, languages=languages, language=language, at_work=at_work or AtWork(),
                           tiles=tiles)
    if newest_record is not None and at < newest_record - MOST_STEP_BACK:
        values = {"now": at.isoformat(), "newest": newest_record.isoformat()}
        return StaffState(ClockBack(note=Refusal("clock_earlier_than_record", values)), context)
    return StaffState(Locked() if pin_known else FirstPin(), context)


def act(state: StaffState, action: Action, at: datetime) -> Stepped:
    """What an action on the screen leads to."""
    screen, context = state.screen, replace(state.context, at=at, active_at=at)
    if action is StaffAction.LOCK and screen.locks:
        return StaffState(locked(screen), context), ()
    lacking = withheld(screen, action, context)
    if lacking is not None:
        return StaffState(replace(screen, note=Refusal(refusal_code(lacking))), context), ()
    return _moved(screen.step(action, context), context)


def on_result(state: StaffState, result: Result) -> Stepped:
    """What the outcome of an effect leads to."""
    return _moved(result.on_result(state.screen, state.context), state.context)


def tick(state: StaffState, at: datetime, power: Power) -> StaffState:
    """Time has passed: a screen left alone is locked, and an empty battery pauses what is to come."""
    context = replace(state.context, at=at, power=power)
    idle = (at - context.active_at).total_seconds() >= IDLE_S
    return StaffState(locked(state.screen) if idle and state.screen.locks else state.screen, context)


def locked(screen: Screen) -> Locked:
    """The neutral locked screen; the right PIN leads back to where the staff were."""
    return Locked(screen.cleared())


def refused(state: StaffState, reason: Refusal) -> StaffState:
    """An effect was refused: why, and where Back leads; from a wait broken off, to today."""
    if isinstance(state.screen, HandOver):
        return replace(state, screen=HelpComes(CannotGoOn(state.screen.ready, note=reason)))
    given_up = None if isinstance(state.screen, Concluding) else state.screen
    return replace(state, screen=CannotGoOn(given_up, note=reason))


def come_back(screen: Screen) -> Moved:
    """To a screen that stood before, with what must be looked up anew."""
    return Moved(screen.cleared(), () if screen.on_return is None else (screen.on_return,))


def withheld(screen: Screen, action: Action, context: StaffContext) -> Right | None:
    """The right that the account at work lacks for an action; None where it may."""
    needed = screen.right(action, context)
    return None if may(context.at_work, needed) else needed


def staff_view(state: StaffState, language: Language) -> StaffView | None:
    """What the screen shows; what the account at work may not do is left out, but for rows of persons.

    None where the person's part or the results are drawn instead.
    """
    screen, context = state.screen, state.context
    view = screen.view(context, language)
    if view is None:
        return None
    controls = tuple(one for one in view.controls if withheld(screen, one.action, context) is None)
    if isinstance(view, ListView) and isinstance(screen, Site):
        rows = tuple(row for row in view.rows if withheld(screen, row.action, context) is None)
        return replace(view, controls=controls, rows=rows)
    return replace(view, controls=controls)


def _moved(moved: Moved, context: StaffContext) -> Stepped:
    return StaffState(moved.screen, moved.context or context), moved.effects
