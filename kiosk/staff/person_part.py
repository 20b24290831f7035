"""While the person has the tablet: staff come back to it, a visit pauses, or was left in the middle."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import ClassVar
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.lock import Unlock
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Screen, StaffContext, back, person_head, today
from kiosk.visits.actions import Action, CourseAction, ScreenAction
from kiosk.visits.power import enough_to_begin
from kiosk.wording.instructions import staff_word
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Control, NoticeView, TextView
from norms import Refusal


class LeftOpenAction(Action, Enum):
    """What becomes of a visit left in the middle."""

    RESUME = "resume"
    CLOSE = "close"


@dataclass(frozen=True)
class StaffCame(Effect):
    """Staff held their corner on the person's screen: look up what they may choose and note."""


@dataclass(frozen=True)
class MoveCourse(Effect):
    """Staff chose how the visit goes on."""

    action: CourseAction


@dataclass(frozen=True)
class SpeakLanguage(Effect):
    """The person chose another language: before anything was done, the visit is begun anew in it."""

    tag: str


@dataclass(frozen=True)
class ResumeVisit(Effect):
    """Go on with a visit after the trials that are kept."""

    visit_id: UUID
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class CloseVisit(Effect):
    """End a visit left in the middle as abandoned, and score what was done."""

    visit_id: UUID


@dataclass(frozen=True)
class PersonPart(Screen):
    """The person's screens, drawn by the visit's course. answers: of intake, where the visit began now."""

    visit_id: UUID
    answers: Mapping[str, str] = field(default_factory=dict)
    name: ClassVar[str] = "person"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Look up what staff may do when they hold their corner."""
        return self.stay(StaffCame()) if action is ScreenAction.STAFF else self.stay()

    def view(self, context: StaffContext, language: Language) -> None:
        """Nothing: the visit's course draws these screens."""


@dataclass(frozen=True)
class StaffChoices(Screen):
    """The person waits while staff choose."""

    choices: tuple[CourseAction, ...]
    person_part: PersonPart
    name: ClassVar[str] = "staff_choices"
    in_visit: ClassVar[bool] = True

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Return to the person's part with the choice made."""
        if isinstance(action, CourseAction) and action in self.choices:
            return Moved(self.person_part, (MoveCourse(action),))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> TextView:
        """The choices that fit the course now."""
        say_in = language.say_in
        words = {CourseAction.RETRY: say_in("button", "Explain and try again"),
                 CourseAction.GO_ON_MARKED: say_in("button", "Go on, marked"),
                 CourseAction.END: say_in("button", "End here"),
                 CourseAction.GO_ON: say_in("button", "Go on"),
                 CourseAction.STAFF_END: say_in("button", "End here")}
        controls = tuple(Control(choice, words[choice]) for choice in self.choices)
        waiting = language.say("The person waits. What they did is kept.")
        return TextView(person_head(context, language.say("Staff"), language), (waiting,), controls)


@dataclass(frozen=True)
class Paused(Screen):
    """The battery is nearly empty: the visit is kept as it is."""

    visit_id: UUID
    name: ClassVar[str] = "paused"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Ask for the PIN when staff hold their corner."""
        if action is ScreenAction.STAFF:
            return Moved(Unlock(LeftOpen(self.visit_id), self))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that asks the person to hand the tablet back."""
        return NoticeView(
            language.say("Please give the tablet to the staff."),
            language.say("It needs power. What you did is saved."), (), None, staff_word(language))


@dataclass(frozen=True)
class LeftOpen(Screen):
    """A visit left in the middle is gone on with, or closed."""

    visit_id: UUID
    name: ClassVar[str] = "left_open"
    needs: ClassVar[Right | None] = Right.GIVE_VISITS
    in_visit: ClassVar[bool] = True

    def step(self, action: Action, context: StaffContext) -> Moved:
        """It goes on where there is enough power."""
        match action:
            case StaffAction.BACK:
                return today(self)
            case LeftOpenAction.RESUME if enough_to_begin(context.power):
                return self.stay(ResumeVisit(self.visit_id))
            case LeftOpenAction.CLOSE:
                return self.stay(CloseVisit(self.visit_id))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice with the ways to go on or to close."""
        say, say_in = language.say, language.say_in
        enough = enough_to_begin(context.power)
        go_on = Control(LeftOpenAction.RESUME, say_in("button", "Go on with it"), "main", enough)
        close = Control(LeftOpenAction.CLOSE, say_in("button", "Close it"))
        kept = say("What was done is kept.") if enough else say("Plug in or charge first.")
        return NoticeView(say("A visit was left in the middle."), kept, (back(language), close, go_on),
                          person_head(context, say("Visit"), language))


def person_waits(reason: Refusal, language: Language) -> NoticeView:
    """In the person's part: something must be put right first. Nothing of the person stands on it."""
    say = language.say
    told = (say("Someone will help you."), sentence(reason.code, reason.values, language))
    return NoticeView(say("Please wait."), " ".join(told), (), None, staff_word(language))
