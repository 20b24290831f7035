"""The faces of the page, one static cut for each weight: widths of texts in em, and the glyphs on paper.

Letters of Latin and Chinese stand side by side as the file of the font sets them; Arabic and Devanagari are
shaped.
"""

from functools import lru_cache
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from kiosk.i18n.fonts import font_file
from kiosk.i18n.line_breaking import direction_of
from kiosk.report.glyph_font import GlyphFont, GlyphPen
from kiosk.report.shaping import NOT_SEEN, is_shaped, shaped

READ_FROM = {"arabic": "rtl"}


@lru_cache(maxsize=8192)
def width_of(script: str, weight: int, text: str) -> float:
    """Width of a line in em."""
    if is_shaped(script):
        return shaped(script, weight, text, line_direction(script, text)).width_em
    return float(registered_font(script, weight).stringWidth(text, 1.0))


def draw_line(
    canvas: Canvas, at_pt: tuple[float, float], text: str, script: str, weight: int, size_pt: float
) -> None:
    """A line with its left end at a point."""
    font = registered_font(script, weight)
    canvas.setFont(font.fontName, size_pt)
    if not is_shaped(script):
        canvas.drawString(*at_pt, text)
        return
    pen = GlyphPen(canvas, font, at_pt, size_pt)
    pen.write(shaped(script, weight, text, line_direction(script, text)).clusters)


def missing_characters(script: str, weight: int, text: str) -> list[str]:
    """The characters of a text that the font lacks."""
    known = registered_font(script, weight).face.charToGlyph
    unseen = NOT_SEEN if is_shaped(script) else frozenset()
    return sorted({letter for letter in text if ord(letter) not in known and letter not in unseen})


def font_name(script: str, weight: int) -> str:
    """The name under which a script and weight are known to the page."""
    return f"kiosk-{script}-{weight}"


def registered_font(script: str, weight: int) -> Any:
    """The font, loaded once for all pages of this process."""
    name = font_name(script, weight)
    if name not in pdfmetrics.getRegisteredFontNames():
        made = GlyphFont if is_shaped(script) else TTFont
        pdfmetrics.registerFont(made(name, str(font_file(script, weight))))
    return pdfmetrics.getFont(name)


def line_direction(script: str, text: str) -> str:
    """Which way a line in a script is read: "ltr" or "rtl"."""
    return direction_of(text, READ_FROM.get(script.partition("-")[0], "ltr"))
