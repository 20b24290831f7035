"""The QR code's matrix against ISO/IEC 18004: sizes, finder patterns, timing patterns, format information."""

import pytest

from kiosk.report.pixels import qr_modules

FINDER = ("#######", "#.....#", "#.###.#", "#.###.#", "#.###.#", "#.....#", "#######")
# ISO/IEC 18004, Annex C, table C.1 (from memory): the 15 format bits of level M, masks 0 to 7.
LEVEL_M = {0x5412, 0x5125, 0x5E7C, 0x5B4B, 0x45F9, 0x40CE, 0x4F97, 0x4AA0}
FORMAT_PLACES = [*((8, column) for column in (0, 1, 2, 3, 4, 5, 7, 8))]
FORMAT_PLACES += [(row, 8) for row in (7, 5, 4, 3, 2, 1, 0)]


def drawn(modules):
    return ["".join("#" if dark else "." for dark in row) for row in modules]


@pytest.mark.parametrize("text", ["7F-KD", "K-0412-7, visit 3 of 3. " * 8])
def test_a_code_is_square_has_three_finders_and_alternating_timing_lines(text):
    rows = drawn(qr_modules(text))
    side = len(rows)
    assert side % 4 == 1 and side >= 21 and all(len(row) == side for row in rows)
    for top, left in ((0, 0), (0, side - 7), (side - 7, 0)):
        assert tuple(row[left : left + 7] for row in rows[top : top + 7]) == FINDER
    along = [rows[6][column] for column in range(8, side - 8)]
    assert along == ["#" if column % 2 == 0 else "." for column in range(8, side - 8)]


@pytest.mark.parametrize("text", ["7F-KD", "K-0412-7, visit 3 of 3. " * 8])
def test_the_format_bits_are_one_of_level_m(text):
    modules = qr_modules(text)
    bits = sum(modules[row][column] << (14 - place) for place, (row, column) in enumerate(FORMAT_PLACES))
    assert bits in LEVEL_M


def test_a_longer_text_needs_a_larger_code_and_another_text_gives_another():
    assert len(qr_modules("x" * 300)) > len(qr_modules("x" * 30))
    assert qr_modules("7F-KD") != qr_modules("7F-KE")
