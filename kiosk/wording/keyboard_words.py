"""The keyboard drawn by the kiosk in words: keys with what they report, and the text typed so far.

Letters, digits and signs are the same in every language; the words on the wide keys are not.
"""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.written import SPACE, Written, rows_of
from kiosk.wording.staff_parts import Option

DOT: Final = "•"
Keys = tuple[tuple[Option, ...], ...]


def keyboard(written: Written, language: Language) -> Keys:
    """Three rows of characters and one of words."""
    say_in = language.say_in
    words = (
        Option("capital", say_in("key", "Capital"), written.capital, available=not written.signs),
        Option("signs", say_in("key", "Letters") if written.signs else say_in("key", "Digits and signs")),
        Option(f"key {SPACE}", say_in("key", "Space")),
        Option("erase", say_in("key", "Erase")))
    return (*(tuple(Option(f"key {one}", one) for one in row) for row in rows_of(written)), words)


def masked(written: Written) -> str:
    """A passphrase as its window shows it."""
    return written.text if written.shown else DOT * len(written.text)
