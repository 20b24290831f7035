"""The recovery code on paper, to be locked away: one page, in the font of the staff's language."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from kiosk.language import Language
from kiosk.report.faces import font_name, registered_font
from kiosk.report.paper import MM, PAPERS, PLAIN, SPACINGS, TITLE, Style
from kiosk.report.sheet import Sheet

PITCH_MM: Final = 6.0
TITLE_PITCH_MM: Final = 9.0


def recovery_sheet(title: str, code: str, said: Sequence[str], language: Language,
                   paper_name: str = "A4") -> bytes:
    """Title, code and what it is for, as PDF."""
    paper, script, out = PAPERS[paper_name], language.script, BytesIO()
    registered_font(script, PLAIN.weight)
    first_font: Any = font_name(script, PLAIN.weight)  # typed as a number in the stubs
    canvas = Canvas(out, pagesize=(paper.width_mm * MM, paper.height_mm * MM), invariant=1,
                    lang=language.tag, initialFontName=first_font)
    canvas.setTitle(title)
    sheet = Sheet(paper, script, SPACINGS[0], canvas, language.direction)
    baseline_mm = _written(sheet, 12.0, title, TITLE, TITLE_PITCH_MM)
    baseline_mm = _written(sheet, baseline_mm + PITCH_MM, code, TITLE, TITLE_PITCH_MM) + PITCH_MM
    for sentence in said:
        baseline_mm = _written(sheet, baseline_mm, sentence, PLAIN, PITCH_MM) + PITCH_MM / 2
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _written(sheet: Sheet, baseline_mm: float, text: str, style: Style, pitch_mm: float) -> float:
    lines = sheet.wrap(text, style, sheet.width_mm)
    return sheet.write_lines(0.0, baseline_mm, lines, style, pitch_mm)
