"""A page of sentences under a heading, in staff's language: a recovery code, a tablet's passport."""

from collections.abc import Sequence
from io import BytesIO
from typing import Final

from kiosk.i18n.language import Language
from kiosk.report.paper import PLAIN, SPACINGS, TITLE, Style, paper_named
from kiosk.report.sheet import Sheet, document

PITCH_MM: Final = 6.0
TITLE_PITCH_MM: Final = 9.0


def plain_sheet(title: str, heading: str, said: Sequence[str], language: Language,
                paper_name: str = "A4") -> bytes:
    """Title, heading and sentences, as PDF."""
    paper, script, out = paper_named(paper_name), language.script, BytesIO()
    canvas = document(out, paper, script, language.tag, title, PLAIN)
    sheet = Sheet(paper, script, SPACINGS[0], canvas, language.direction)
    baseline_mm = _written(sheet, 12.0, title, TITLE, TITLE_PITCH_MM)
    baseline_mm = _written(sheet, baseline_mm + PITCH_MM, heading, TITLE, TITLE_PITCH_MM) + PITCH_MM
    for sentence in said:
        baseline_mm = _written(sheet, baseline_mm, sentence, PLAIN, PITCH_MM) + PITCH_MM / 2
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _written(sheet: Sheet, baseline_mm: float, text: str, style: Style, pitch_mm: float) -> float:
    lines = sheet.wrap(text, style, sheet.width_mm)
    return sheet.write_lines(0.0, baseline_mm, lines, style, pitch_mm)
