"""Lines of text in any script, whoever draws them: where they may break, and which way they are read.

Words of most scripts part at spaces. Chinese has none: a line may break between any two of its characters,
but no line begins with a closing mark or ends with an opening one (the rule of Chinese typesetting; Unicode
Standard Annex 14, classes CL, NS and OP). Decision languages-4.
"""

import re
from functools import lru_cache
from unicodedata import bidirectional

LEFT_TO_RIGHT_MARK = "\u200e"
_WIDE = r"[\u2E80-\u303F\u3400-\u9FFF\uF900-\uFAFF\uFF00-\uFF65]"
_OPENING = "（「『【《〈〔“‘"
_CLOSING = "）」』】》〉〕”’，。；：、？！％…·"
_WITH_THEIR_OWN_SPACE = "，。；：！？）」』"  # as wide as a character: no space follows them
_BETWEEN_WIDE = re.compile(
    rf"(?<!\A)(?<![{_OPENING}])(?:(?<={_WIDE})(?=.)|(?={_WIDE}))(?![{_CLOSING}])(?!\Z)"
)
_CODE = re.compile(r"(?=.*-)[A-Za-z0-9]+(?:-[A-Za-z0-9]+)+")


@lru_cache(maxsize=8192)
@lru_cache(maxsize=8192)
def units(text: str) -> tuple[tuple[str, str], ...]:
    """What stays on one line, each with the space before it (none between two Chinese characters).

    Examples
    --------
    >>> units("two words")
    (('', 'two'), (' ', 'words'))
    >>> "|".join(before + unit for before, unit in units("盘（3）上。 A4 纸"))
    '盘|（3）|上。|A4| 纸'
    """
    found: list[tuple[str, str]] = []
    for word in text.split(" "):
        first, *rest = _BETWEEN_WIDE.split(word) if word else [""]
        bare = not found or found[-1][1].endswith(tuple(_WITH_THEIR_OWN_SPACE))
        found += [("" if bare else " ", first), *(("", one) for one in rest)]
    return tuple(found)


def direction_of(text: str, reading: str) -> str:
    """Which way a line is read where the language reads in a direction: "ltr" or "rtl".

    Codes and figures by themselves (no letter that is read from right to left) go from left to right in
    every language: 27-KD stays 27-KD.

    Examples
    --------
    >>> direction_of("27-KD", "rtl"), direction_of("\u0627\u0628 27", "rtl"), direction_of("Rest", "ltr")
    ('ltr', 'rtl', 'ltr')
    """
    turned = reading == "rtl" and any(bidirectional(letter) in ("R", "AL") for letter in text)
    return "rtl" if turned else "ltr"


def kept_in_order(value: object) -> object:
    """A code with marks about it, so that it keeps its order inside words read from right to left.

    A code is Latin letters and digits joined by hyphens; any other value is handed back as it is.

    Examples
    --------
    >>> ascii(kept_in_order("27-KD")), kept_in_order("4 to 8")
    ("'\\\\u200e27-KD\\\\u200e'", '4 to 8')
    """
    is_code = isinstance(value, str) and _CODE.fullmatch(value)
    return f"{LEFT_TO_RIGHT_MARK}{value}{LEFT_TO_RIGHT_MARK}" if is_code else value
