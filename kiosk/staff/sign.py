"""A page is taken over: initials, profession, and a statement, held to be signed. Decision security-6."""

from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages
from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.concluded import Concluded
from kiosk.staff.pad import Pad, keys
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Result, Screen, StaffContext, back, next_, person_head
from kiosk.visits.actions import Action, Scan
from kiosk.visits.check_character import ALPHABET
from kiosk.wording.staff_parts import Choices, Control, Option, PadView, TextView

LETTERS: Final = ALPHABET[10:-1]
LETTER_ROWS: Final = ("ABCDEFGHI", "JKLMNOPQR", "STUVWXYZ")
LEAST_INITIALS: Final = 2
ROLES: Final[Messages] = {
    "doctor": N_("Doctor"),
    "psychologist": N_("Psychologist"),
    "therapist": N_("Therapist"),
    "nurse": N_("Nurse"),
    "other_role": N_("Other"),
}
STATEMENT: Final = "read_page_and_notes"  # kept with a signature; its words are those of SignOff's view
HOLD_S: Final = 0.6


class SignAction(Action, Enum):
    """Held: the page is signed."""

    SIGN = "sign"


@dataclass(frozen=True)
class SignPage(Effect):
    """Keep a signature under the page at hand."""

    initials: str
    role: str


@dataclass(frozen=True)
class PageSigned(Result):
    """The page says who reviewed it."""

    concluded: Concluded

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Return to the page, which says who reviewed it."""
        page = screen.page if isinstance(screen, SignOff) else screen
        return Moved(page, (), replace(context, concluded=self.concluded))


@dataclass(frozen=True)
class Signer(Pad):
    """The initials are typed."""

    page: Screen
    name: ClassVar[str] = "signer"
    needs: ClassVar[Right | None] = Right.READ_RESULTS
    allowed: ClassVar[str] = LETTERS
    most: ClassVar[int] = 4

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Go on to the statement once there are initials."""
        match action:
            case Scan(text):
                return self.scanned(text)._given()
            case StaffAction.BACK:
                return Moved(self.page)
            case StaffAction.NEXT:
                return self._given()
        return Moved(self.typed(action))

    def _given(self) -> Moved:
        if len(self.entered) < LEAST_INITIALS:
            return self.noted("initials_needed", least=LEAST_INITIALS)
        return Moved(SignOff(self.page, self.entered))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """A pad of letters."""
        return PadView(person_head(context, language.say("Sign"), language), language.say("Your initials"),
                       self.entered, keys(LETTER_ROWS, language),
                       (back(language), next_(language, bool(self.entered))), self.note_in(language))


@dataclass(frozen=True)
class SignOff(Screen):
    """The statement, and the signer's profession."""

    page: Screen
    initials: str
    role: str = ""
    name: ClassVar[str] = "sign_off"
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Take the profession; sign once there is one."""
        match action:
            case StaffAction.BACK:
                return Moved(Signer(self.page, entered=self.initials))
            case Answer("role", value) if value in ROLES:
                return Moved(replace(self, role=value, note=None))
            case SignAction.SIGN if not self.role:
                return self.noted("role_needed")
            case SignAction.SIGN:
                return self.stay(SignPage(self.initials, self.role))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> TextView:
        """The statement, the signer, and the professions."""
        say = language.say
        roles = Choices(say("Role"), tuple(
            Option(Answer("role", role), language.say_message(words), role == self.role)
            for role, words in ROLES.items()))
        sign = Control(SignAction.SIGN, sign_word(language), "main", bool(self.role), HOLD_S)
        who = say("Signed as %(initials)s.", initials=self.initials)
        if context.at_work.name:
            who = say("Signed as %(initials)s, with the account %(account)s.", initials=self.initials,
                      account=context.at_work.name)
        statement = say("I have read this page and what was noted.")
        return TextView(person_head(context, say("Sign"), language), (statement, who), (back(language), sign),
                        self.note_in(language), (roles,))


def sign_word(language: Language) -> str:
    """The control that signs."""
    return language.say_in("button", "Sign")
