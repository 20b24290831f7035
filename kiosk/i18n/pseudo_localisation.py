"""English made 40 % longer, for layouts: every message complete, in letters with accents, never for people.

Words of the other languages are longer than English ones; what holds these will hold those. Placeholders
and plural forms stay as they are.
"""

import gettext
import re
from itertools import count
from math import ceil

PSEUDO_TAG = "en-x-long"
LONGER_BY = 0.4
_PLACEHOLDER = re.compile(r"(%\(\w+\)[a-z]|%%)")
_VOWEL = re.compile("[aeiouAEIOU]")
_ACCENTED = str.maketrans("aeiouAEIOU", "åéïöûÅÉÏÖÛ")


class LongerWords(gettext.NullTranslations):
    """A catalogue whose translations are the English messages, lengthened."""

    def gettext(self, message: str) -> str:
        return longer(message)

    def pgettext(self, context: str, message: str) -> str:
        return longer(message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return longer(msgid1 if n == 1 else msgid2)


def longer(message: str) -> str:
    """The message with its vowels accented, and repeated until its text is 40 % longer.

    A text without a vowel (a unit, a code) stays as it is.

    Examples
    --------
    Four letters need two more, and there is one vowel to give them.

    >>> longer("Stop")
    'Stöoop'
    >>> longer("%(hours)d h %(minutes)d min")
    '%(hours)d h %(minutes)d mïiiin'
    >>> longer("%(number)s mm")
    '%(number)s mm'
    """
    parts = _PLACEHOLDER.split(message)
    text = "".join(parts[::2])
    vowels = len(_VOWEL.findall(text))
    if not vowels:
        return message
    wanted, placed = ceil(LONGER_BY * len(text)), count()

    def drawn_out(vowel: re.Match[str]) -> str:
        place = next(placed)
        more = wanted * (place + 1) // vowels - wanted * place // vowels
        letter = vowel.group()
        return letter.translate(_ACCENTED) + letter.lower() * more

    return "".join(part if n % 2 else _VOWEL.sub(drawn_out, part) for n, part in enumerate(parts))
