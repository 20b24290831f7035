"""The persons of today and how far they are; from here everything begins."""

from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar, Final, Literal
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.staff.actions import StaffAction
from kiosk.staff.daily import DailyOffer, is_due
from kiosk.staff.find import Find, FindPeople, LookAtPerson, PickPerson
from kiosk.staff.new_person import NewCode
from kiosk.staff.person_part import LeftOpen
from kiosk.staff.results import PickVisit
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Result, Screen, ShowToday, StaffContext, site_head
from kiosk.staff.site import Site
from kiosk.staff.visits_had import OpenVisit
from kiosk.visits.actions import Action, Scan
from kiosk.visits.person import Person
from kiosk.wording.page_fit import birth_words
from kiosk.wording.staff_parts import Control, ListRow, ListView

VisitState = Literal["ready", "in_progress", "not_concluded", "not_printed", "not_reviewed", "reviewed",
                     "void"]
STATES: Final[Messages] = {
    "ready": N_("ready"),
    "in_progress": N_("in progress"),
    "not_concluded": N_("not concluded"),
    "not_printed": N_("not printed"),
    "not_reviewed": N_("not reviewed"),
    "reviewed": N_("reviewed"),
    "void": N_("taken out"),
}
CONCLUDED: Final = ("not_printed", "not_reviewed", "reviewed", "void")


class TodayAction(Action, Enum):
    """Where today's list leads."""

    FIND = "find"
    NEW = "new"
    SITE = "site"


@dataclass(frozen=True)
class TodayRow:
    """One person of today: their latest visit of today, None before it began, and how far it is."""

    person_id: UUID
    visit_id: UUID | None
    code: str
    birth_date: str
    state: VisitState


@dataclass(frozen=True)
class TodayListed(Result):
    """The persons of today. left_open: after a start, a visit left in the middle and its person."""

    rows: tuple[TodayRow, ...]
    left_open: tuple[UUID, Person] | None = None

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Nobody is at hand any more; a visit left in the middle is offered at once."""
        if self.left_open is not None:
            visit_id, person = self.left_open
            return Moved(LeftOpen(visit_id), (), replace(context, person=person, concluded=None))
        if is_due(context):
            offered = replace(context, person=None, concluded=None, daily_offered=context.at.date())
            return Moved(DailyOffer(), (), offered)
        return Moved(Today(self.rows), (), replace(context, person=None, concluded=None))


@dataclass(frozen=True)
class Today(Screen):
    """Today's list."""

    rows: tuple[TodayRow, ...] = ()
    name: ClassVar[str] = "today"
    needs: ClassVar[Right | None] = None
    on_return: ClassVar[Effect | None] = ShowToday()

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Someone is chosen, looked for, or added; or the site's part."""
        match action:
            case PickPerson(person_id) if any(one.person_id == person_id for one in self.rows):
                return self.stay(LookAtPerson(person_id))
            case PickVisit(visit_id) if any(one.visit_id == visit_id for one in self.rows):
                return self.stay(OpenVisit(visit_id))
            case Scan(text):
                return self.stay(FindPeople(text))
            case TodayAction.NEW:
                return Moved(NewCode(), (), replace(context, person=None))
            case TodayAction.FIND:
                return Moved(Find())
            case TodayAction.SITE:
                return Moved(Site())
        return self.stay()

    def right(self, action: Action, context: StaffContext) -> Right | None:
        """People are found to give a visit or to read one; a visit is gone on with, or read."""
        match action:
            case TodayAction.FIND | Scan() | PickPerson():
                return Right.FIND_PEOPLE
            case TodayAction.NEW:
                return Right.GIVE_VISITS
            case PickVisit(visit_id):
                return self._right_to_open(visit_id)
        return None

    def _right_to_open(self, visit_id: UUID) -> Right | None:
        row = next((one for one in self.rows if one.visit_id == visit_id), None)
        if row is None or row.state == "not_concluded":
            return None
        return Right.READ_RESULTS if row.state in CONCLUDED else Right.GIVE_VISITS

    def view(self, context: StaffContext, language: Language) -> ListView:
        """Code, birth date, and how far they are."""
        say, say_in = language.say, language.say_in
        lock = Control(StaffAction.LOCK, say_in("button", "Lock"), "quiet")
        controls = (lock, Control(TodayAction.SITE, say_in("button", "Site")),
                    Control(TodayAction.NEW, say_in("button", "New person")),
                    Control(TodayAction.FIND, say_in("button", "Find"), "main"))
        return ListView(site_head(context, say("Today"), language), (say("Code"), say("Born"), say("State")),
                        tuple(_row(one, language) for one in self.rows), controls,
                        self.note_in(language), say("Nobody yet today."))


def _row(row: TodayRow, language: Language) -> ListRow:
    action = PickPerson(row.person_id) if row.visit_id is None else PickVisit(row.visit_id)
    state = language.say_message(STATES[row.state])
    return ListRow(action, (row.code, birth_words(row.birth_date, language), state))
