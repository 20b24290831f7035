"""Words have their size on the glass, break evenly, and run the right way."""

import numpy as np
import pytest

from kiosk.screens import theme
from kiosk.screens.text import Lettering

PANELS = {"A": 5.88, "B": 5.56}


@pytest.mark.parametrize("px_per_mm", PANELS.values())
@pytest.mark.parametrize(
    "style", [*theme.SPEAK, theme.TELL, theme.ACT, theme.READ], ids=lambda s: str(s.cap_mm)
)
def test_capitals_are_as_high_as_the_style_says(px_per_mm, style):
    line = Lettering("latin", "ltr", px_per_mm).picture("H", style)
    rows = line.alpha.max(axis=1)
    assert rows.sum() / px_per_mm == pytest.approx(style.cap_mm, abs=0.75 / px_per_mm)  # whole pixels


def test_a_weight_of_600_is_bolder_than_400():
    letters = Lettering("latin", "ltr", 5.88)
    regular, bold = (letters.picture("Il", style).alpha.sum() for style in (theme.READ, theme.READ_STRONG))
    assert bold > 1.2 * regular


def test_lines_are_as_few_as_fit_and_then_balanced():
    letters = Lettering("latin", "ltr", 5.88)
    text = "Use the soft part of your finger, not the nail."
    lines = letters.lines(text, theme.TELL, 152.0)
    assert " ".join(lines) == text
    assert len(lines) == 2
    widths = [letters.width_mm(line, theme.TELL) for line in lines]
    assert max(widths) - min(widths) < 45.0
    assert all(width <= 152.0 for width in widths)


def test_a_word_too_wide_for_its_line_is_not_broken():
    assert Lettering("latin", "ltr", 5.88).lines("unbreakable", theme.TELL, 10.0) == ("unbreakable",)


def test_arabic_runs_right_to_left_and_keeps_its_digits_in_order():
    letters = Lettering("arabic", "rtl", 5.88)
    digits = letters.picture("123", theme.TELL).alpha
    both = letters.picture("\u0645\u0646 123", theme.TELL).alpha
    columns = np.flatnonzero(digits.max(axis=0) > 0)
    width = columns[-1] - columns[0] + 1
    left = np.flatnonzero(both.max(axis=0) > 0)[0]
    profile = digits.max(axis=0)[columns[0] : columns[-1] + 1]
    assert np.corrcoef(both.max(axis=0)[left : left + width], profile)[0, 1] > 0.95


def test_arabic_letters_are_joined():
    letters = Lettering("arabic", "rtl", 5.88)
    apart = sum(letters.width_mm(letter, theme.TELL) for letter in "\u062a\u0648\u0642\u0641")
    assert letters.width_mm("\u062a\u0648\u0642\u0641", theme.TELL) < 0.9 * apart
