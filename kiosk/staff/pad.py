"""A screen with keys: what has been typed, one character at a time or at once by a scanner or a keyboard."""

from dataclasses import dataclass, field, replace
from typing import ClassVar, Final, Self

from kiosk.i18n.language import Language
from kiosk.staff.actions import Key, StaffAction
from kiosk.staff.screen import Screen
from kiosk.visits.actions import Action
from kiosk.visits.check_character import ALPHABET
from kiosk.wording.staff_parts import Option

DIGITS: Final = "0123456789"
CODE: Final = ALPHABET
MOST_CHARACTERS: Final = 16
DIGIT_ROWS: Final = ("123", "456", "789", "0")
CODE_ROWS: Final = ("1234567890", "ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ*")


@dataclass(frozen=True)
class Pad(Screen):
    """entered: typed so far; allowed: the characters taken, at most so many."""

    entered: str = field(default="", kw_only=True)
    allowed: ClassVar[str] = CODE
    most: ClassVar[int] = MOST_CHARACTERS

    def typed(self, action: Action) -> Self:
        """After a key or the eraser; other actions and other characters change nothing."""
        match action:
            case StaffAction.ERASE:
                return replace(self, entered=self.entered[:-1], note=None)
            case Key(one) if len(one) == 1 and one in self.allowed and len(self.entered) < self.most:
                return replace(self, entered=self.entered + one, note=None)
        return self

    def scanned(self, text: str) -> Self:
        """With all that a keyboard or a scanner typed, as far as it is allowed here."""
        kept = "".join(one for one in text.upper() if one in self.allowed)
        return replace(self, entered=kept[:self.most], note=None)

    def cleared(self) -> Self:
        """Nothing typed, no note."""
        return replace(self, entered="", note=None)


def keys(rows: tuple[str, ...], language: Language) -> tuple[tuple[Option, ...], ...]:
    """One option a character, and the eraser at the end of the last row."""
    plain = tuple(tuple(Option(Key(one), one) for one in row) for row in rows)
    return (*plain[:-1], (*plain[-1], Option(StaffAction.ERASE, language.say_in("key", "Erase"))))
