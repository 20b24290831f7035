"""The page tag: four characters that tie together a page, its file and the screen. Made from the report's id.

No look-alikes (0 O, 1 I L, 2 Z, 5 S, 8 B, U V) and no A, E, so that no word can appear.
"""

import hashlib
from uuid import UUID

ALPHABET = "34679CDFGHJKMNPQRTWXY"
LENGTH = 4


def page_tag(report_id: UUID) -> str:
    """Four characters, a dash in the middle.

    >>> page_tag(UUID(int=7)) == page_tag(UUID(int=7))
    True
    >>> len(page_tag(UUID(int=7)))
    5
    """
    number = int.from_bytes(hashlib.sha256(report_id.bytes).digest())
    characters = []
    for _ in range(LENGTH):
        number, place = divmod(number, len(ALPHABET))
        characters.append(ALPHABET[place])
    return "".join(characters[:2]) + "-" + "".join(characters[2:])
