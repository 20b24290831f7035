"""The last check before the tablet is handed over, and the hand-over."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.staff.actions import StaffAction
from kiosk.staff.lock import Unlock, power_words
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Screen, StaffContext, TabletFacts, back, person_head
from kiosk.visits.actions import Action, ScreenAction
from kiosk.visits.power import enough_to_begin
from kiosk.wording.instructions import staff_word
from kiosk.wording.page_fit import birth_words
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Control, NoticeView, Option, TickView
from kiosk.wording.verdicts import verdict_words

HOLD_S: Final = 0.6
TICKS: Final[Messages] = {
    "person": N_("Right person?"),
    "hands": N_("Hands"),
    "glass": N_("Glass wiped and dry"),
    "seated": N_("Seated, screen seen"),
    "power": N_("Power"),
}


class ReadyAction(Action, Enum):
    """Held: the tablet is handed over."""

    HAND_OVER = "hand_over"


@dataclass(frozen=True)
class Tick(Action):
    """One of TICKS is so, or is not."""

    code: str


@dataclass(frozen=True)
class BeginVisit(Effect):
    """Keep the visit with what intake answered, and give the tablet to the person."""

    answers: Mapping[str, str]
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class Ready(Screen):
    """Five things to confirm. intake: where Back leads."""

    intake: Screen
    answers: Mapping[str, str]
    ticks: frozenset[str] = frozenset()
    name: ClassVar[str] = "ready"
    needs: ClassVar[Right | None] = Right.GIVE_VISITS
    in_visit: ClassVar[bool] = True

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Handed over when all is confirmed and there is power."""
        match action:
            case StaffAction.BACK:
                return Moved(self.intake)
            case Tick(code) if code in TICKS:
                return Moved(replace(self, ticks=self.ticks ^ {code}))
            case ReadyAction.HAND_OVER if self._may_hand_over(context):
                return Moved(HandOver(self) if enough_to_begin(context.power) else PowerLow(self))
        return self.stay()

    def _may_hand_over(self, context: StaffContext) -> bool:
        """Everything is ticked and the tablet would not refuse a trial."""
        return self.ticks >= set(TICKS) and not context.tablet.refuses_trials

    def view(self, context: StaffContext, language: Language) -> TickView:
        """Who it is, what is to be confirmed, and what the tablet's checks found."""
        say, person = language.say, context.person
        code, birth = ("", "") if person is None else (person.code, person.birth_date)
        asking = say("%(code)s, born %(birth)s. Is this the person in front of you?", code=code,
                     birth=birth_words(birth, language))
        ticks = tuple(Option(Tick(tick), language.say_message(words), tick in self.ticks)
                      for tick, words in TICKS.items())
        give = Control(ReadyAction.HAND_OVER, say("Yes, hand over"), "main", self._may_hand_over(context),
                       HOLD_S)
        low = "" if enough_to_begin(context.power) else say("Plug in or charge first.")
        told = " ".join(part for part in (low, _tablet_note(context.tablet, language)) if part)
        return TickView(person_head(context, say("Ready?"), language), asking, ticks, (back(language), give),
                        told)


@dataclass(frozen=True)
class PowerLow(Screen):
    """Too little power to hand over."""

    ready: Ready
    name: ClassVar[str] = "power_low"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Go back to the last check."""
        return Moved(self.ready) if action is StaffAction.BACK else self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice with the battery's charge."""
        return NoticeView(language.say("Plug in or charge first."), power_words(context.power, language),
                          (back(language),), person_head(context, language.say("Power"), language))


@dataclass(frozen=True)
class HandOver(Screen):
    """The tablet goes to the person, whose first touch begins the visit."""

    ready: Ready
    name: ClassVar[str] = "hand_over"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """A touch begins; staff must unlock to come back."""
        match action:
            case ScreenAction.STAFF:
                return Moved(Unlock(self.ready, self))
            case ScreenAction.TOUCHED:
                return self.stay(BeginVisit(self.ready.answers))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that asks staff to hand the tablet over."""
        return NoticeView(language.say("Please give me to the person."), "", (), None, staff_word(language))


def _tablet_note(tablet: TabletFacts, language: Language) -> str:
    """That it is not calibrated, or what its checks found, and why; empty where all is well."""
    if not tablet.calibrated:
        return sentence("tablet_not_calibrated", {}, language)
    checks = tablet.checks
    if checks.reason is None:
        return ""
    why = sentence(checks.reason.code, checks.reason.values, language)
    return f"{verdict_words(checks.verdict, language)} {why}"
