"""Colours and type against the look sheet and against WCAG 2.2."""

import pytest

from kiosk.screens import theme
from kiosk.screens.theme import DARK, LIGHT, contrast, luminance

# The look sheet's table: pair, dark, light, needed (WCAG 2.2: 1.4.6 for text at 7, 1.4.11 for shapes at 3).
TABLE = [
    ("text", "ground", 14.4, 12.7, 7),
    ("text", "field", 16.8, 15.2, 7),
    ("text", "surface", 12.0, 16.1, 7),
    ("quiet", "ground", 9.7, 7.6, 7),
    ("quiet", "field", 11.3, 9.1, 7),
    ("quiet", "surface", 8.1, 9.6, 7),
    ("accent", "ground", 9.9, 8.1, 7),
    ("accent", "surface", 8.3, 10.3, 7),
    ("on_accent", "accent", 11.6, 10.3, 7),
    ("button_words", "text", 14.4, 16.1, 7),
    ("line", "ground", 4.9, 3.6, 3),
    ("line", "field", 5.8, 4.3, 3),
    ("line", "surface", 4.1, 4.6, 3),
    ("target", "field", 10.3, 4.6, 3),
    ("target", "ground", 8.8, 3.8, 3),
    ("pip", "target", 10.3, 4.6, 3),
    ("contact", "field", 18.8, 17.7, 3),
]


@pytest.mark.parametrize(("one", "other", "dark", "light", "needed"), TABLE)
def test_every_pair_has_the_contrast_of_the_look_sheet(one, other, dark, light, needed):
    for look, printed in ((DARK, dark), (LIGHT, light)):
        ratio = contrast(getattr(look, one), getattr(look, other))
        assert abs(ratio - printed) <= 0.06
        assert ratio >= needed


def test_contrast_agrees_with_the_worked_values_of_wcag():
    # WCAG 2.2: black on white is 21:1; #767676 on white the lightest grey to pass 4.5:1 (G18).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") >= 4.5 > contrast("#777777", "#FFFFFF")
    assert luminance("#FF0000") == pytest.approx(0.2126)


def test_the_order_of_two_colours_does_not_matter():
    assert contrast(DARK.text, DARK.ground) == contrast(DARK.ground, DARK.text)


def test_no_colour_is_a_saturated_red():
    # WCAG 2.2, red flash: R / (R + G + B) >= 0.8
    for look in (DARK, LIGHT):
        for role in theme.Theme.__dataclass_fields__:
            if role != "name":
                red, green, blue = theme.rgb(getattr(look, role))
                assert red / (red + green + blue) < 0.8


def test_each_theme_has_its_own_target_colour():
    assert contrast(DARK.target, LIGHT.field) < 3 <= contrast(LIGHT.target, LIGHT.field)


@pytest.mark.parametrize(
    ("style", "em_mm", "px_a"),
    [(theme.SPEAK[0], 12.6, 74.1), (theme.TELL, 8.4, 49.4), (theme.ACT, 7.0, 41.2), (theme.READ, 5.6, 32.9)],
)
def test_type_has_the_ems_of_the_look_sheet(style, em_mm, px_a):
    assert style.em_mm == pytest.approx(em_mm, abs=0.05)
    assert style.em_mm * 5.88 == pytest.approx(px_a, abs=0.05)


def test_nothing_on_glass_is_smaller_than_four_millimetres():
    styles = [value for value in vars(theme).values() if isinstance(value, theme.TypeStyle)]
    assert styles and min(style.cap_mm for style in styles) >= 4.0


# Machado, Oliveira & Fernandes 2009, severity 1.0, on linear RGB (values from memory).
MACHADO = {
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
}


def seen_contrast(one, other, matrix):
    """WCAG contrast of two colours as the simulated eye sees them."""

    def light(colour):
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in theme.rgb(colour)]
        seen = [min(max(sum(a * c for a, c in zip(row, linear, strict=True)), 0.0), 1.0) for row in matrix]
        return 0.2126 * seen[0] + 0.7152 * seen[1] + 0.0722 * seen[2]

    dark, bright = sorted((light(one), light(other)))
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("eye", MACHADO)
@pytest.mark.parametrize(("one", "other", "needed"), [(row[0], row[1], row[4]) for row in TABLE])
def test_every_pair_keeps_its_contrast_for_simulated_eyes(one, other, needed, eye):
    for look in (DARK, LIGHT):
        assert seen_contrast(getattr(look, one), getattr(look, other), MACHADO[eye]) >= needed


def test_a_simulated_eye_sees_white_and_black_as_they_are_and_reds_darker():
    assert seen_contrast("#FFFFFF", "#000000", MACHADO["protan"]) == pytest.approx(21.0, abs=0.01)
    assert seen_contrast("#FF0000", "#000000", MACHADO["protan"]) < contrast("#FF0000", "#000000")
