"""A PDF to be drawn on: paper, language and first font set; no time and no fact of the machine enters it."""

from io import BytesIO
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from kiosk.report.faces import font_name, registered_font
from kiosk.report.paper import MM, Paper, Style


def document(out: BytesIO, paper: Paper, script: str, language: str, title: str, style: Style) -> Canvas:
    """An empty document whose language is a tag; `style` is the first it is written in."""
    registered_font(script, style.weight)
    first_font: Any = font_name(script, style.weight)  # typed as a number in the stubs
    canvas = Canvas(out, pagesize=(paper.width_mm * MM, paper.height_mm * MM), invariant=1, pageCompression=1,
                    lang=language, initialFontName=first_font, initialFontSize=style.size_pt)
    rl_config.useA85 = 0  # streams as plain bytes: a fifth smaller, and quicker
    canvas.setTitle(title)
    return canvas
