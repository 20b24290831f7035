"""The check character of a person's code: one wrong character, or two swapped, and the code is refused.

ISO/IEC 7064:2003, MOD 37-2: digits and capital letters, one check character, which may also be "*". Hyphens
and spaces play no part, small letters count as capitals.
"""

from typing import Final

ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
MODULUS: Final = 37
RADIX: Final = 2
LEAST_LENGTH: Final = 3  # of a code with its check character


def plain(code: str) -> str:
    """The code without hyphens and spaces, in capitals.

    >>> plain("k-0412 o")
    'K0412O'
    """
    return code.replace("-", "").replace(" ", "").upper()


def check_character(code: str) -> str:
    """The character that makes the sum of weights 2^i come to 1 modulo 37.

    >>> check_character("G123498654321")
    'H'

    ValueError for a character that is neither digit nor letter.
    """
    product = 0
    for character in plain(code):
        place = ALPHABET[:-1].find(character)
        if place < 0:
            raise ValueError(f"code must be of digits and letters, got {character!r}")
        product = (product + place) * RADIX % MODULUS
    return ALPHABET[(1 - product) % MODULUS]


def checks(code: str) -> bool:
    """Whether the code's last character is its check character.

    >>> checks("G1234-9865-4321-H"), checks("G1234-9865-4312-H"), checks("")
    (True, False, False)
    """
    characters = plain(code)
    if len(characters) < LEAST_LENGTH or set(characters[:-1]) - set(ALPHABET[:-1]):
        return False
    return check_character(characters[:-1]) == characters[-1]


def with_check(letter: str, number: int) -> str:
    """A code made here: letter, four digits, check character.

    >>> with_check("K", 413)
    'K-0413-M'
    """
    body = f"{letter}{number:04d}"
    return f"{letter}-{number:04d}-{check_character(body)}"
