"""What is being typed on the keyboard drawn by the kiosk: letters, capitals, digits and signs.

Latin letters only: names to sign in with and passphrases are typed in them in every language.
"""

from dataclasses import dataclass, field, replace
from typing import Final

LETTERS: Final = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
SIGNS: Final = ("1234567890", "-_/:;()&@#", ".,?!'\"+=*%")
SPACE: Final = " "
KNOWN: Final = "".join((*LETTERS, *(row.upper() for row in LETTERS), *SIGNS, SPACE))
MOST_LETTERS: Final = 256


@dataclass(frozen=True)
class Written:
    """The text so far. capital: the next letter is a capital. shown: a passphrase is shown as it is typed."""

    text: str = field(default="", repr=False)
    capital: bool = False
    signs: bool = False
    shown: bool = False


def rows_of(written: Written) -> tuple[str, ...]:
    """The characters of the keys shown now, row by row."""
    if written.signs:
        return SIGNS
    return tuple(row.upper() for row in LETTERS) if written.capital else LETTERS


def struck(written: Written, verb: str, rest: str, most: int = MOST_LETTERS) -> Written:
    """After a key; other verbs and other characters change nothing.

    >>> one = struck(struck(Written(), "capital", ""), "key", "M")
    >>> one.text, one.capital, struck(one, "erase", "").text
    ('M', False, '')
    """
    if verb == "key" and len(rest) == 1 and rest in KNOWN and len(written.text) < most:
        return replace(written, text=written.text + rest, capital=False)
    if verb == "erase":
        return replace(written, text=written.text[:-1])
    if verb == "capital":
        return replace(written, capital=not written.capital)
    if verb == "signs":
        return replace(written, signs=not written.signs)
    return replace(written, shown=not written.shown) if verb == "show" else written
