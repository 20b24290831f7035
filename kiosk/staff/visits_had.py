"""The visits a person has had, whatever the day: to read one again, to sign or amend it."""

from dataclasses import dataclass
from typing import ClassVar
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.concluding import Conclude, Concluding
from kiosk.staff.results import PickVisit, VisitRow
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Result, Screen, StaffContext, back, person_head, today
from kiosk.visits.actions import Action
from kiosk.wording.staff_parts import ListRow, ListView


@dataclass(frozen=True)
class OpenVisit(Effect):
    """Take a visit to hand: on with it where it has not ended, its scores, or its page as it was made."""

    visit_id: UUID


@dataclass(frozen=True)
class VisitNotConcluded(Result):
    """A visit that has ended has no page yet."""

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Conclude it now."""
        return Moved(Concluding(), (Conclude(),))


@dataclass(frozen=True)
class VisitsHad(Screen):
    """The visits that have ended."""

    rows: tuple[VisitRow, ...] = ()
    name: ClassVar[str] = "visits"
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Open the visit that was picked."""
        match action:
            case StaffAction.BACK:
                return today(self)
            case PickVisit(visit_id) if any(one.visit_id == visit_id for one in self.rows):
                return self.stay(OpenVisit(visit_id))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ListView:
        """The visits with number and date."""
        say = language.say
        rows = tuple(
            ListRow(PickVisit(one.visit_id), (say("Visit %(number)d", number=one.number),
                                              language.date(one.started_at.date())))
            for one in self.rows)
        return ListView(person_head(context, say("Visits"), language), (say("Visit"), say("Date")), rows,
                        (back(language),), self.note_in(language), say("There is no earlier visit."))
