"""Codes that check, and codes that look alike."""

from kiosk.visits.check_character import ALPHABET, check_character, checks
from kiosk.visits.look_alike import one_apart

# Codes. ISO/IEC 7064:2003, MOD 37-2; the example is that of ISBT 128 donation numbers (from memory: H).


def test_the_published_example_checks():
    assert check_character("G123498654321") == "H"


def test_the_weights_of_the_standard_give_1_modulo_37():
    """Recomputed by the standard's other form: the sum of value times 2^place is 1 modulo 37."""
    for code in ("K0412", "ZZ99", "A1"):
        whole = code + check_character(code)
        total = sum(ALPHABET.index(one) * 2**place for place, one in enumerate(reversed(whole)))
        assert total % 37 == 1


def test_every_single_wrong_character_and_every_swap_of_neighbours_is_found():
    whole = "K0412" + check_character("K0412")
    for at in range(len(whole)):
        for other in ALPHABET[:-1]:
            if other != whole[at]:
                assert not checks(whole[:at] + other + whole[at + 1:])
    for at in range(len(whole) - 1):
        if whole[at] != whole[at + 1]:
            swapped = whole[:at] + whole[at + 1] + whole[at] + whole[at + 2:]
            assert not checks(swapped)


def test_codes_one_character_apart_are_alike_whichever_comes_first():
    for one, other in (("K0412", "K0413"), ("K0412", "K412"), ("K0412", "K04112"), ("K0412", "K0421")):
        assert one_apart(one, other) and one_apart(other, one)
    assert not one_apart("K0412", "K0523")
