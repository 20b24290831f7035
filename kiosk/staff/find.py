"""Someone is looked for by code, picked from several, and told from others who look alike."""

from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar
from uuid import UUID

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.pad import CODE_ROWS, Pad, keys
from kiosk.staff.rights import Right
from kiosk.staff.screen import (
    Effect,
    Moved,
    Result,
    Screen,
    StaffContext,
    back,
    next_,
    person_head,
    site_head,
    today,
)
from kiosk.visits.actions import Action, Scan
from kiosk.visits.person import Person
from kiosk.wording.page_fit import birth_words
from kiosk.wording.staff_parts import Control, ListRow, ListView, PadView
from norms import Refusal


class FindAction(Action, Enum):
    """Of two who look alike, which."""

    THIS_PERSON = "this_person"
    SOMEONE_ELSE = "someone_else"


@dataclass(frozen=True)
class PickPerson(Action):
    """Someone on a list."""

    person_id: UUID


@dataclass(frozen=True)
class FindPeople(Effect):
    """Look up who bears this code or second identifier."""

    code: str


@dataclass(frozen=True)
class LookAtPerson(Effect):
    """Take a person to hand, and look up who could be taken for them."""

    person_id: UUID


@dataclass(frozen=True)
class PrepareVisit(Effect):
    """Look up what a visit of the person at hand needs, or the visits they have had."""


@dataclass(frozen=True)
class PeopleFound(Result):
    """Who bears a code."""

    code: str
    people: tuple[Person, ...]

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Nobody, one who is then looked at more closely, or several to pick from."""
        if not self.people:
            return Moved(Find(entered=self.code, note=Refusal("nobody_found", {"code": self.code})))
        if len(self.people) == 1:
            return Moved(replace(screen, note=None), (LookAtPerson(self.people[0].id),))
        return Moved(Found(self.people))


@dataclass(frozen=True)
class PersonChosen(Result):
    """The person at hand, and who looks like them."""

    person: Person
    alike: tuple[Person, ...]

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Staff are asked where someone does."""
        known = replace(context, person=self.person)
        if self.alike:
            return Moved(LookAlike(self.alike), (), known)
        return Moved(screen, (PrepareVisit(),), known)


@dataclass(frozen=True)
class Find(Pad):
    """A code is typed or scanned."""

    name: ClassVar[str] = "find"
    needs: ClassVar[Right | None] = Right.FIND_PEOPLE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Look up the code that was typed or scanned."""
        match action:
            case StaffAction.BACK:
                return today(self)
            case Scan(text):
                return replace(self, entered=text).stay(FindPeople(text))
            case StaffAction.NEXT:
                return self.stay(FindPeople(self.entered)) if self.entered else self.stay()
        return Moved(self.typed(action))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """A pad of digits and letters."""
        return PadView(site_head(context, language.say("Find"), language), language.say("Code"), self.entered,
                       keys(CODE_ROWS, language), (back(language), next_(language, bool(self.entered))),
                       self.note_in(language))


@dataclass(frozen=True)
class Found(Screen):
    """Several people bear the code."""

    people: tuple[Person, ...]
    name: ClassVar[str] = "found"
    needs: ClassVar[Right | None] = Right.FIND_PEOPLE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Take the person who was picked to hand."""
        match action:
            case StaffAction.BACK:
                return Moved(Find())
            case PickPerson(person_id) if any(one.id == person_id for one in self.people):
                return self.stay(LookAtPerson(person_id))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ListView:
        """The people found, with code and birth date."""
        return ListView(site_head(context, language.say("Find"), language), _columns(language),
                        tuple(_row(one, language) for one in self.people), (back(language),),
                        self.note_in(language))


@dataclass(frozen=True)
class LookAlike(Screen):
    """The person chosen, and whoever could be taken for them."""

    alike: tuple[Person, ...]
    name: ClassVar[str] = "look_alike"
    needs: ClassVar[Right | None] = Right.FIND_PEOPLE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """This person, or someone else."""
        match action:
            case FindAction.SOMEONE_ELSE:
                return Moved(Find(), (), replace(context, person=None))
            case FindAction.THIS_PERSON:
                return self.stay(PrepareVisit())
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ListView:
        """The people who look alike, the chosen one first."""
        say_in = language.say_in
        chosen = () if context.person is None else (context.person,)
        rows = tuple(_row(one, language) for one in (*chosen, *self.alike))
        controls = (Control(FindAction.SOMEONE_ELSE, say_in("button", "Someone else")),
                    Control(FindAction.THIS_PERSON, say_in("button", "This person"), "main"))
        head = person_head(context, language.say("Right person?"), language)
        return ListView(head, _columns(language), rows, controls,
                        language.say("Two people look alike. Check the birth date."))


def _columns(language: Language) -> tuple[str, str, str]:
    say = language.say
    return say("Code"), say("Born"), say("Second identifier")


def _row(person: Person, language: Language) -> ListRow:
    cells = (person.code, birth_words(person.birth_date, language), person.second_identifier)
    return ListRow(PickPerson(person.id), cells)
