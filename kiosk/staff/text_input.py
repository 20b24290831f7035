"""Text typed on the keyboard drawn by the kiosk: letters, capitals, digits and signs.

Latin letters only: names to sign in with and passphrases are typed in them in every language. Letters, digits
and signs are the same in every language; the words on the wide keys are not.
"""

from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import Key, StaffAction
from kiosk.visits.actions import Action
from kiosk.wording.staff_parts import Option

LETTERS: Final = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
SIGNS: Final = ("1234567890", "-_/:;()&@#", ".,?!'\"+=*%")
SPACE: Final = " "
KNOWN: Final = "".join((*LETTERS, *(row.upper() for row in LETTERS), *SIGNS, SPACE))
MOST_LETTERS: Final = 256
DOT: Final = "•"


class KeyboardAction(Action, Enum):
    """Keys that type nothing."""

    CAPITAL = "capital"
    SIGNS = "signs"
    SHOW = "show"


@dataclass(frozen=True)
class TextInput:
    """The text so far. capital: the next letter is a capital. shown: a passphrase is shown as it is typed."""

    text: str = field(default="", repr=False)
    capital: bool = False
    signs: bool = False
    shown: bool = False

    @property
    def rows(self) -> tuple[str, ...]:
        """The characters of the keys shown now, row by row."""
        if self.signs:
            return SIGNS
        return tuple(row.upper() for row in LETTERS) if self.capital else LETTERS

    def masked(self) -> str:
        """A passphrase as its window shows it."""
        return self.text if self.shown else DOT * len(self.text)


def apply_key(written: TextInput, action: Action, most: int = MOST_LETTERS) -> TextInput:
    """After a key; other actions and other characters change nothing.

    >>> one = apply_key(apply_key(TextInput(), KeyboardAction.CAPITAL), Key("M"))
    >>> one.text, one.capital, apply_key(one, StaffAction.ERASE).text
    ('M', False, '')
    """
    match action:
        case Key(one) if len(one) == 1 and one in KNOWN and len(written.text) < most:
            return replace(written, text=written.text + one, capital=False)
        case StaffAction.ERASE:
            return replace(written, text=written.text[:-1])
        case KeyboardAction.CAPITAL:
            return replace(written, capital=not written.capital)
        case KeyboardAction.SIGNS:
            return replace(written, signs=not written.signs)
        case KeyboardAction.SHOW:
            return replace(written, shown=not written.shown)
    return written


def keyboard(written: TextInput, language: Language) -> tuple[tuple[Option, ...], ...]:
    """Three rows of characters and one of words."""
    say_in = language.say_in
    signs = say_in("key", "Letters") if written.signs else say_in("key", "Digits and signs")
    words = (
        Option(KeyboardAction.CAPITAL, say_in("key", "Capital"), written.capital,
               available=not written.signs),
        Option(KeyboardAction.SIGNS, signs),
        Option(Key(SPACE), say_in("key", "Space")),
        Option(StaffAction.ERASE, say_in("key", "Erase")))
    return (*(tuple(Option(Key(one), one) for one in row) for row in written.rows), words)
