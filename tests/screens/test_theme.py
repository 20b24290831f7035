"""Colours and type against the look sheet and against WCAG 2.2."""

import numpy as np
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


# Eyes that see colours otherwise, on linear RGB. Machado, Oliveira & Fernandes 2009 (IEEE TVCG 15), severity
# 1, values from memory. Brettel, Vienot & Mollon 1997 (J. Opt. Soc. Am. A 14): two half-planes, here their
# projections for sRGB's primaries as public libraries print them, and the normal that tells the sides apart.
MACHADO = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216),
               (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413),
               (-0.011820, 0.042940, 0.968881)),
}
BRETTEL = {
    "protan": (((0.14510, 1.20165, -0.34675), (0.10447, 0.85316, 0.04237), (0.00429, -0.00603, 1.00174)),
               ((0.14115, 1.16782, -0.30897), (0.10495, 0.85730, 0.03776), (0.00431, -0.00586, 1.00155)),
               (0.00048, 0.00416, -0.00464)),
    "deutan": (((0.36198, 0.86755, -0.22953), (0.26099, 0.64512, 0.09389), (-0.01975, 0.02686, 0.99289)),
               ((0.37009, 0.88540, -0.25549), (0.25767, 0.63782, 0.10451), (-0.01950, 0.02741, 0.99209)),
               (-0.00293, -0.00645, 0.00938)),
    "tritan": (((1.01354, 0.14268, -0.15622), (-0.01181, 0.87561, 0.13619), (0.07707, 0.81208, 0.11085)),
               ((0.93337, 0.19999, -0.13336), (0.05809, 0.82565, 0.11626), (-0.37923, 1.13825, 0.24098)),
               (0.03960, -0.02831, -0.01129)),
}
LIGHT_OF = np.array([0.2126, 0.7152, 0.0722])


def linear(colour):
    return np.array([c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in theme.rgb(colour)])


def brettel(kind):
    """The eye that lacks one kind of cone, by the half-plane on whose side a colour lies."""
    one, other, normal = (np.array(part) for part in BRETTEL[kind])
    return lambda light: (one if normal @ light >= 0 else other) @ light


def machado(kind):
    """The eye whose one kind of cone has the sensitivity of another."""
    return lambda light: np.array(MACHADO[kind]) @ light


EYES = {
    **{f"Machado {kind}": machado(kind) for kind in MACHADO},
    **{f"Brettel {kind}": brettel(kind) for kind in BRETTEL},
    "greyscale": lambda light: np.full(3, LIGHT_OF @ light),
}


def seen_contrast(one, other, eye):
    """WCAG contrast of two colours as an eye sees them."""
    dark, bright = sorted(float(LIGHT_OF @ np.clip(EYES[eye](linear(colour)), 0.0, 1.0))
                          for colour in (one, other))
    return (bright + 0.05) / (dark + 0.05)


def pairs():
    """Every pair of the table in both themes: (colours, needed, the sheet's lowest under any simulation)."""
    for (one, other, *_, needed), lowest in zip(TABLE, LOWEST, strict=True):
        for look, least in zip((DARK, LIGHT), lowest, strict=True):
            yield (getattr(look, one), getattr(look, other)), needed, least


# The second numbers of the look sheet's table, dark and light.
LOWEST = [(14.0, 12.4), (16.6, 14.8), (11.7, 15.8), (9.6, 7.4), (11.2, 8.8), (8.0, 9.4), (9.7, 7.5),
          (8.1, 9.6), (11.2, 9.6), (14.0, 15.8), (4.9, 3.5), (5.7, 4.2), (4.1, 4.5), (9.2, 4.2), (7.8, 3.5),
          (9.2, 4.2), (18.6, 17.5)]


@pytest.mark.parametrize("eye", EYES)
def test_every_pair_keeps_its_contrast_for_simulated_eyes(eye):
    for colours, needed, _ in pairs():
        assert seen_contrast(*colours, eye) >= needed


def test_the_lowest_contrast_of_every_pair_is_that_of_the_look_sheet():
    for colours, _, least in pairs():
        assert min(seen_contrast(*colours, eye) for eye in EYES) == pytest.approx(least, abs=0.11)


@pytest.mark.parametrize("eye", EYES)
def test_every_simulated_eye_sees_white_black_and_grey_as_they_are(eye):
    assert seen_contrast("#FFFFFF", "#000000", eye) == pytest.approx(21.0, abs=0.05)
    assert seen_contrast("#808080", "#000000", eye) == pytest.approx(contrast("#808080", "#000000"), abs=0.02)


def test_a_simulated_eye_confuses_what_it_cannot_tell_apart():
    """A protan sees reds darker; who sees light alone sees this red as a grey of 21 % light."""
    for eye in ("Brettel protan", "Machado protan"):
        assert seen_contrast("#FF0000", "#000000", eye) < 0.7 * contrast("#FF0000", "#000000")
    assert EYES["greyscale"](linear("#FF0000")) == pytest.approx([0.2126] * 3)
