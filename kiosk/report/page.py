"""The one-page summary: every part in its order, measured first, then drawn, on A4 or Letter.

The parts are laid out with the most generous spacing that fits; where none fits, the page is refused: never
a second page, never smaller type. The same content gives the same bytes: no time and no fact of the machine
enters the file.
"""

from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from kiosk.report import foot, head
from kiosk.report.change import change_part
from kiosk.report.document import document
from kiosk.report.paper import SMALL, SPACINGS, WATERMARK, Paper, Spacing, paper_named
from kiosk.report.paths_part import paths_part
from kiosk.report.profile import profile_table
from kiosk.report.sheet import Overflow, Sheet
from kiosk.report.values_part import values_part
from kiosk.wording.page_parts import PageContent


def render(content: PageContent, paper: str = "A4") -> bytes:
    """The page as PDF; Overflow where it cannot be one page, Refused for a paper or script not known."""
    chosen = paper_named(paper)
    spacing = fitting_spacing(content, chosen)
    out = BytesIO()
    canvas = _canvas(out, content, chosen)
    sheet = Sheet(chosen, content.script, spacing, canvas, content.direction)
    lay_out(sheet, content)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def fitting_spacing(content: PageContent, paper: Paper) -> Spacing:
    """The most generous spacing with which everything stands on the one page."""
    for spacing in SPACINGS:
        sheet = Sheet(paper, content.script, spacing, direction=content.direction)
        try:
            bottom = lay_out(sheet, content)
        except Overflow:
            if spacing is SPACINGS[-1]:
                raise
            continue
        if bottom + foot.CLEAR_MM <= foot.sign_off_top(sheet, content):
            return spacing
    raise Overflow(f"page, must hold everything on one sheet of {paper.name}, got {bottom:.0f} mm of text")


def lay_out(sheet: Sheet, content: PageContent) -> float:
    """Every part in order; the lower edge of the last one above the sign-off."""
    gap = sheet.spacing.gap_mm
    bottom = head.header(sheet, content, 0.0)
    bottom = head.identity(sheet, content.identity, bottom)
    bottom = head.fit_to_read(sheet, content.fit, content.visit_line, bottom + min(gap, 3.0))
    bottom = head.headlines(sheet, content.headlines, bottom + gap)
    bottom = _figures(sheet, content, bottom)
    bottom = paths_part(sheet, content.paths, bottom + gap, sheet.spacing.paths_mm)
    bottom = foot.conditions(sheet, content.conditions, bottom + gap)
    bottom = foot.cautions(sheet, content.cautions, bottom + gap)
    foot.sign_off(sheet, content)
    sheet.across(content.watermark, WATERMARK, 52.0, 0.06)
    return bottom


def _figures(sheet: Sheet, content: PageContent, bottom_mm: float) -> float:
    spacing = sheet.spacing
    if content.values is not None:
        return values_part(sheet, content.values, bottom_mm + spacing.gap_mm, spacing.row_mm)
    if content.profile is not None:
        bottom_mm = profile_table(sheet, content.profile, bottom_mm + spacing.gap_mm, spacing.row_mm)
    if content.change is not None:
        bottom_mm = change_part(sheet, content.change, bottom_mm + spacing.gap_mm)
    return bottom_mm


def _canvas(out: BytesIO, content: PageContent, paper: Paper) -> Canvas:
    title = f"{content.title} {content.page_tag}"
    canvas = document(out, paper, content.script, content.language, title, SMALL)
    canvas.setSubject(content.subtitle)
    canvas.setAuthor(content.place)
    canvas.setCreator("pursuit-kiosk")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas
