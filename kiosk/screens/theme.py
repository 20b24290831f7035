"""The look as numbers: roles of colour, styles of type, spacing. Lengths in millimetres on the screen.

Colours are "#RRGGBB". Hue never means good or bad: amber is the target, ice or petrol is what was chosen or
measured, all else is warm white, ink and slate. Each theme has its own amber.
"""

from dataclasses import dataclass
from typing import Final

Rgb = tuple[float, float, float]

CAP_PER_EM: Final = 0.714  # Noto Sans: height of a capital in em


@dataclass(frozen=True)
class Theme:
    """Roles of colour; `button_words` stand on a main button, whose fill is `text`."""

    name: str
    ground: str
    field: str
    surface: str
    text: str
    quiet: str
    line: str
    accent: str
    on_accent: str
    target: str
    pip: str
    contact: str
    button_words: str


@dataclass(frozen=True)
class TypeStyle:
    """A size and weight of type; `pitch` is the line pitch in caps."""

    name: str
    cap_mm: float
    weight: int
    pitch: float

    @property
    def em_mm(self) -> float:
        """The em in mm.

        >>> round(TypeStyle("read", 4.0, 400, 1.95).em_mm, 1)
        5.6
        """
        return self.cap_mm / CAP_PER_EM

    @property
    def pitch_mm(self) -> float:
        """Distance between the baselines of two lines, mm."""
        return self.pitch * self.cap_mm


DARK: Final = Theme(
    name="dark", ground="#16232A", field="#0A1317", surface="#20313A", text="#F7F2E6", quiet="#BFCBCB",
    line="#7C929A", accent="#9AD4EA", on_accent="#0A1317", target="#F2B544", pip="#0A1317", contact="#FFFFFF",
    button_words="#16232A")
LIGHT: Final = Theme(
    name="light", ground="#E9E4D8", field="#FBF8F0", surface="#FFFFFF", text="#14232A", quiet="#38474E",
    line="#6B787C", accent="#0B465B", on_accent="#FFFFFF", target="#AD5C00", pip="#FBF8F0", contact="#0A1317",
    button_words="#FFFFFF")
HAND_RING: Final = "#000000"
HAND_CORE: Final = "#FFFFFF"
HAND_RIM: Final = "#FFFFFF"

SPEAK: Final = (TypeStyle("speak", 9.0, 600, 1.75), TypeStyle("speak", 7.5, 600, 1.75),
                TypeStyle("speak", 6.0, 600, 1.75))  # the headline steps down until its block fits
TELL: Final = TypeStyle("tell", 6.0, 400, 2.0)
TELL_IN_FIELD: Final = TypeStyle("tell", 6.0, 500, 2.0)
MAIN_WORDS: Final = TypeStyle("tell", 6.0, 600, 2.0)
ACT: Final = TypeStyle("act", 5.0, 600, 1.95)
SECOND_WORDS: Final = TypeStyle("act", 5.0, 500, 1.95)
FIGURE: Final = TypeStyle("figure", 7.5, 600, 1.75)
READ: Final = TypeStyle("read", 4.0, 400, 1.95)
READ_STRONG: Final = TypeStyle("read", 4.0, 600, 1.95)

STAFF_RADIUS_MM: Final = 3.0
PERSON_RADIUS_MM: Final = 5.0
FIELD_RADIUS_MM: Final = 8.0
RULE_MM: Final = 0.25
STAFF_OUTLINE_MM: Final = 0.5
SECOND_OUTLINE_MM: Final = 0.8
STOP_OUTLINE_MM: Final = 1.0
PATH_MM: Final = 1.2
PERSON_GAP_MM: Final = 5.0
STAFF_GAP_MM: Final = 3.0
_WIDE_PANEL_MM: Final = 280.0


def margin_mm(panel_width_mm: float) -> float:
    """The margin of a panel: 8 on 10.1 inch, 12 on 15.6 inch.

    >>> margin_mm(217.7), margin_mm(345.3)
    (8.0, 12.0)
    """
    return 8.0 if panel_width_mm < _WIDE_PANEL_MM else 12.0


def rgb(colour: str) -> Rgb:
    """Red, green, blue, each 0 to 1.

    >>> rgb("#FF0033")
    (1.0, 0.0, 0.2)
    """
    red, green, blue = bytes.fromhex(colour.removeprefix("#"))
    return red / 255, green / 255, blue / 255


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, 0 to 1 (WCAG 2.2, definition "relative luminance").

    >>> luminance("#000000"), round(luminance("#FFFFFF"), 12)
    (0.0, 1.0)
    """
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition "contrast ratio").

    >>> round(contrast("#FFFFFF", "#000000"), 6)
    21.0
    >>> round(contrast("#777777", "#FFFFFF"), 2)
    4.48
    """
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)
