"""The lower part of the page: conditions, cautions with their hatched edge, sign-off, versions."""

from collections.abc import Sequence

from kiosk.report.paper import (
    LINE,
    PLAIN,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    STRONG,
    TEXT,
)
from kiosk.report.sheet import Sheet
from kiosk.wording.cautions import FIXED_CAUTIONS
from kiosk.wording.page_parts import Labelled, PageContent, SignOff

EDGE_MM, TEXT_LEFT_MM = 1.8, 4.5
FOOTER_PITCH_MM = 3.4
CLEAR_MM = 12.0  # above the sign-off lines, for a hand


def conditions(sheet: Sheet, lines: Sequence[Labelled], top_mm: float) -> float:
    """Label and words of each condition."""
    said = [[(line.label, SMALL_STRONG), (line.value, SMALL)] for line in lines]
    return (
        sheet.paragraphs(0, top_mm + 2.8, said, sheet.spacing.run_notes) - sheet.spacing.small_pitch_mm + 0.8
    )


def cautions(sheet: Sheet, said: Sequence[str], top_mm: float) -> float:
    """The fixed cautions, then those of this visit in strong type; a hatched edge beside them."""
    sheet.line((0, top_mm), (sheet.width_mm, top_mm), 0.25, LINE)
    pieces = [[(text, SMALL if place < FIXED_CAUTIONS else SMALL_STRONG)] for place, text in enumerate(said)]
    after = sheet.paragraphs(TEXT_LEFT_MM, top_mm + 4.4, pieces, sheet.spacing.run_cautions)
    bottom = after - sheet.spacing.small_pitch_mm + 0.8
    sheet.hatch(0, top_mm + 1.8, EDGE_MM, bottom, TEXT, 0.6, 1.8)
    return bottom


def sign_off_top(sheet: Sheet, content: PageContent) -> float:
    """Where the sign-off lines stand, measured up from the lower margin."""
    return sheet.height_mm - len(_footer_lines(sheet, content)) * FOOTER_PITCH_MM - 6.4


def sign_off(sheet: Sheet, content: PageContent) -> None:
    """Three lines to write on, the state of review, and the versions at the very bottom."""
    top = sign_off_top(sheet, content)
    _signature_lines(sheet, content.sign_off, top)
    sheet.write_lines(0, top + 9.4, _footer_lines(sheet, content), SMALL_QUIET, FOOTER_PITCH_MM)


def _signature_lines(sheet: Sheet, words: SignOff, top_mm: float) -> None:
    right = sheet.width_mm
    state_width = sheet.text_width(words.state, STRONG)
    lines_end = right - state_width - 6.0
    edges = [0.0, lines_end * 0.4, lines_end * 0.75, lines_end]
    for left, end, label in zip(
        edges, edges[1:], (words.clinician, words.signature, words.date), strict=False
    ):
        sheet.line((left, top_mm), (end - 5.0, top_mm), 0.4)
        sheet.write(left, top_mm + 4.0, label, SMALL_QUIET)
    sheet.write(right, top_mm, words.state, STRONG, "right")


def _footer_lines(sheet: Sheet, content: PageContent) -> list[str]:
    return sheet.wrap(content.footer, SMALL_QUIET, sheet.width_mm)


def explanation(sheet: Sheet, text: str, top_mm: float) -> float:
    """A paragraph of plain text over the whole width."""
    lines = sheet.wrap(text, PLAIN, sheet.width_mm)
    return sheet.write_lines(0, top_mm + 3.4, lines, PLAIN, 4.4) - 3.4
