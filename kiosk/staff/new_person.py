"""Someone is added: a code that checks or two identifiers, then the birth date.

Birth dates are typed as digits, year first; year, month and day, year and month, or the year alone.
"""

from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.concluding import Correct, Correction
from kiosk.staff.pad import CODE_ROWS, DIGIT_ROWS, DIGITS, Pad, keys
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Result, Screen, StaffContext, back, next_, site_head, today
from kiosk.visits.actions import Action, Scan
from kiosk.visits.check_character import checks
from kiosk.visits.person import Person
from kiosk.wording.staff_parts import Control, Head, PadView
from norms import Refusal
from norms.table.age import possible_births

OLDEST_YEARS: Final = 120
LEAST_IDENTIFIER: Final = 2
_BIRTH_LENGTHS: Final = (4, 6, 8)


class NewPersonAction(Action, Enum):
    """Ways around a code or a birth date that nobody knows."""

    MAKE_CODE = "make_code"
    TWO_IDENTIFIERS = "two_identifiers"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True)
class CheckCodeIsFree(Effect):
    """Look up whether somebody has this code."""

    code: str


@dataclass(frozen=True)
class MakeCode(Effect):
    """The next code that nobody has."""


@dataclass(frozen=True)
class AddPerson(Effect):
    """Keep a new person and take them to hand."""

    code: str
    second_identifier: str
    birth_date: str


@dataclass(frozen=True)
class CodeChecked(Result):
    """Whose the code of a new person is already; None: nobody's."""

    code: str
    known: Person | None

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """On to the birth date where it is free."""
        if self.known is not None:
            return screen.noted("code_known", code=self.known.code)
        return Moved(BirthDate(self.code))


@dataclass(frozen=True)
class NewCode(Pad):
    """A code is typed, made, or replaced by two identifiers."""

    name: ClassVar[str] = "new_code"
    needs: ClassVar[Right | None] = Right.GIVE_VISITS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Its check character is looked at first."""
        match action:
            case StaffAction.BACK:
                return today(self)
            case NewPersonAction.MAKE_CODE:
                return self.stay(MakeCode())
            case NewPersonAction.TWO_IDENTIFIERS if len(self.entered) >= LEAST_IDENTIFIER:
                return Moved(SecondIdentifier(self.entered))
            case Scan(text):
                return replace(self, entered=text)._given()
            case StaffAction.NEXT:
                return self._given()
        return Moved(self.typed(action))

    def _given(self) -> Moved:
        if not checks(self.entered):
            return self.noted("code_does_not_check", code=self.entered)
        return self.stay(CheckCodeIsFree(self.entered))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """A pad of digits and letters, with ways around a code."""
        say_in = language.say_in
        controls = (back(language), Control(NewPersonAction.MAKE_CODE, say_in("button", "Make a code")),
                    Control(NewPersonAction.TWO_IDENTIFIERS, say_in("button", "Two identifiers"),
                            available=bool(self.entered)),
                    next_(language, bool(self.entered)))
        prompt = language.say("Code with its check character")
        return PadView(site_head(context, language.say("New person"), language), prompt, self.entered,
                       keys(CODE_ROWS, language), controls, self.note_in(language))


@dataclass(frozen=True)
class SecondIdentifier(Pad):
    """Known by a code without a check character, and by something else."""

    code: str
    name: ClassVar[str] = "new_second"
    needs: ClassVar[Right | None] = Right.GIVE_VISITS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Go on to the birth date."""
        match action:
            case Scan(text):
                return self.scanned(text)._given()
            case StaffAction.BACK:
                return Moved(NewCode(entered=self.code))
            case StaffAction.NEXT:
                return self._given()
        return Moved(self.typed(action))

    def _given(self) -> Moved:
        if len(self.entered) < LEAST_IDENTIFIER:
            return self.noted("second_identifier_needed")
        return Moved(BirthDate(self.code, self.entered))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """A pad that says what a second identifier may be."""
        prompt = language.say("Second identifier, such as a room or record number")
        return PadView(Head(language.say("New person"), self.code), prompt, self.entered,
                       keys(CODE_ROWS, language), (back(language), next_(language, bool(self.entered))),
                       self.note_in(language))


@dataclass(frozen=True)
class BirthDate(Pad):
    """The birth date of a new person; or put right, for the person at hand, where there is a correction."""

    code: str = ""
    second_identifier: str = ""
    correction: Correction | None = None
    given_up: Screen | None = None
    name: ClassVar[str] = "new_birth"
    needs: ClassVar[Right | None] = Right.GIVE_VISITS
    allowed: ClassVar[str] = DIGITS
    most: ClassVar[int] = max(_BIRTH_LENGTHS)

    def step(self, action: Action, context: StaffContext) -> Moved:
        """The person is added, or corrected."""
        match action:
            case Scan(text):
                return self.scanned(text)._given(context)
            case StaffAction.BACK:
                return Moved(self.given_up or NewCode())
            case NewPersonAction.NOT_KNOWN:
                return self._born("")
            case StaffAction.NEXT:
                return self._given(context)
        return Moved(self.typed(action))

    def _given(self, context: StaffContext) -> Moved:
        found = birth_from(self.entered, context.at.date())
        return Moved(replace(self, note=found)) if isinstance(found, Refusal) else self._born(found)

    def _born(self, birth_date: str) -> Moved:
        if self.correction is not None:
            return replace(self, note=None).stay(Correct(self.correction, birth_date=birth_date))
        return replace(self, note=None).stay(AddPerson(self.code, self.second_identifier, birth_date))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """A pad of digits that are shown as a date."""
        prompt = language.say("Birth: year, month, day. Year and month, or the year alone, will do.")
        not_known = Control(NewPersonAction.NOT_KNOWN, language.say_in("button", "Not known"))
        controls = (back(language), not_known, next_(language, bool(self.entered)))
        title = language.say("New person") if self.correction is None else language.say("Birth date")
        return PadView(Head(title, self.code or language.time(context.at)), prompt, dated(self.entered),
                       keys(DIGIT_ROWS, language), controls, self.note_in(language))


def birth_from(digits: str, today: date) -> str | Refusal:
    """A birth date from its digits, or why it is none.

    >>> birth_from("195405", date(2026, 11, 25)), birth_from("1954", date(2026, 11, 25))
    ('1954-05', '1954')
    >>> birth_from("19540231", date(2026, 11, 25)).code, birth_from("2031", date(2026, 11, 25)).code
    ('not_a_birth_date', 'birth_not_plausible')
    """
    written = dated(digits)
    if len(digits) not in _BIRTH_LENGTHS:
        return Refusal("not_a_birth_date", {"entered": written})
    try:
        earliest, _, latest = possible_births(written)
    except ValueError:
        return Refusal("not_a_birth_date", {"entered": written})
    if earliest > today or today.year - latest.year > OLDEST_YEARS:
        return Refusal("birth_not_plausible", {"entered": written})
    return written


def dated(digits: str) -> str:
    """Digits of a date as they are typed.

    >>> dated("195405"), dated("19"), dated("19540517")
    ('1954-05', '19', '1954-05-17')
    """
    return "-".join(part for part in (digits[:4], digits[4:6], digits[6:]) if part)
