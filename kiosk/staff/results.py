"""The results of a concluded visit: why a number is what it is, replay, and what it is compared with."""

from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from typing import ClassVar
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.concluded import Concluded
from kiosk.staff.concluding import CompareWith, Concluding
from kiosk.staff.page import PageScreen, at_hand
from kiosk.staff.printing import Kept
from kiosk.staff.rights import Right, may
from kiosk.staff.screen import Effect, Moved, Result, Screen, StaffContext, back, person_head, today
from kiosk.visits.actions import Action, AskWhy
from kiosk.wording.measures import trial_label
from kiosk.wording.staff_parts import Control, ListRow, ListView, Option, ReplayPath, ReplayView, TextView
from kiosk.wording.why import why_sentence


class ResultsAction(Action, Enum):
    """Ways to look closer."""

    REPLAY = "replay"
    COMPARE = "compare"


@dataclass(frozen=True)
class ReplayTrialAt(Action):
    """Another trial of the visit, by its place."""

    place: int


@dataclass(frozen=True)
class PickVisit(Action):
    """One of the visits listed."""

    visit_id: UUID


@dataclass(frozen=True)
class VisitRow:
    """A visit listed; of earlier ones whether it may be compared with, and whether it is compared now."""

    visit_id: UUID
    number: int
    started_at: datetime
    chosen: bool = False
    comparable: bool = True


@dataclass(frozen=True)
class ListEarlier(Effect):
    """Look up the earlier visits to compare with."""


@dataclass(frozen=True)
class VisitConcluded(Result):
    """A visit is scored and its page made, now or before."""

    concluded: Concluded

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Its results, or that it is kept for someone who reads them."""
        reads = may(context.at_work, Right.READ_RESULTS)
        return Moved(Results() if reads else Kept(PageScreen(Results())), (),
                     replace(context, concluded=self.concluded))


@dataclass(frozen=True)
class Results(Screen):
    """The results, drawn in the order of the page."""

    name: ClassVar[str] = "results"
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Looked at closer, or on to the page."""
        match action:
            case AskWhy(figure) if figure:
                return Moved(Why(action))
            case ResultsAction.REPLAY:
                return Moved(Replay())
            case ResultsAction.COMPARE:
                return self.stay(ListEarlier())
            case StaffAction.NEXT:
                return Moved(PageScreen(self.cleared()))
            case StaffAction.TODAY:
                return today(self)
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> None:
        """Drawn from the page's content, with these controls."""

    def controls(self, language: Language) -> tuple[Control, ...]:
        """What stands at the foot of the results."""
        say_in = language.say_in
        return (Control(ResultsAction.REPLAY, say_in("button", "Replay")),
                Control(ResultsAction.COMPARE, say_in("button", "Compare")),
                Control(StaffAction.TODAY, say_in("button", "Today"), "quiet"),
                Control(StaffAction.NEXT, say_in("button", "Page"), "main"))


@dataclass(frozen=True)
class Closer(Screen):
    """A closer look, from which Back leads to the results."""

    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Go back to the results."""
        return Moved(Results()) if action is StaffAction.BACK else self.stay()


@dataclass(frozen=True)
class Why(Closer):
    """One figure explained."""

    asked: AskWhy
    name: ClassVar[str] = "why"

    def view(self, context: StaffContext, language: Language) -> TextView:
        """The explanation of the figure."""
        said = why_sentence(self.asked, at_hand(context).findings, language)
        return TextView(person_head(context, language.say("Why?"), language), (said,), (back(language),))


@dataclass(frozen=True)
class Replay(Closer):
    """One trial over time, beside the same one of the first visit."""

    place: int = 0
    name: ClassVar[str] = "replay"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Show another trial, or go back."""
        match action:
            case ReplayTrialAt(place) if place >= 0:
                return Moved(replace(self, place=place))
        return super().step(action, context)

    def view(self, context: StaffContext, language: Language) -> ReplayView:
        """Both paths, and the trials to choose from."""
        concluded = at_hand(context)
        options = tuple(Option(ReplayTrialAt(at), trial_label(one.block, one.number, language),
                               at == self.place) for at, one in enumerate(concluded.replay))
        paths: tuple[ReplayPath, ...] = ()
        if concluded.replay:
            one = concluded.replay[min(self.place, len(concluded.replay) - 1)]
            first = () if one.first is None else (ReplayPath(concluded.visit_dates[0], *one.first),)
            paths = (*first, ReplayPath(concluded.visit_dates[1], *one.latest))
        told = "" if len(paths) > 1 else language.say("There is no earlier visit to show beside it.")
        return ReplayView(person_head(context, language.say("Replay"), language), paths, options,
                          (back(language),), told)


@dataclass(frozen=True)
class Compare(Closer):
    """The earlier visits to compare with."""

    rows: tuple[VisitRow, ...] = ()
    name: ClassVar[str] = "compare"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """The page is made anew, compared with another visit."""
        match action:
            case PickVisit(visit_id) if any(one.visit_id == visit_id and one.comparable for one in self.rows):
                return Moved(Concluding(), (CompareWith(visit_id),))
        return super().step(action, context)

    def view(self, context: StaffContext, language: Language) -> ListView:
        """Which is compared now, and which cannot be."""
        say = language.say
        rows = tuple(
            ListRow(PickVisit(one.visit_id), (
                say("Visit %(number)d", number=one.number), language.date(one.started_at.date()),
                say("compared now") if one.chosen else "" if one.comparable else say("cannot be compared")))
            for one in self.rows)
        head = person_head(context, say("Compare with"), language)
        return ListView(head, (say("Visit"), say("Date"), ""), rows, (back(language),),
                        self.note_in(language), say("There is no earlier visit."))
