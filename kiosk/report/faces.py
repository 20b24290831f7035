"""The faces of the page, one static cut for each weight, and the widths of texts in em."""

from functools import lru_cache
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from kiosk.fonts import font_file


@lru_cache(maxsize=8192)
def width_of(script: str, weight: int, text: str) -> float:
    """Width of a text in em; letters stand side by side without kerning, as the file sets them."""
    return float(registered_font(script, weight).stringWidth(text, 1.0))


def font_name(script: str, weight: int) -> str:
    """The name under which a script and weight are known to the page."""
    return f"kiosk-{script}-{weight}"


def registered_font(script: str, weight: int) -> Any:
    """The font, loaded once for all pages of this process."""
    name = font_name(script, weight)
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, str(font_file(script, weight))))
    return pdfmetrics.getFont(name)
