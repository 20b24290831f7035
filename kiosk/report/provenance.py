"""The provenance sheet of a built reference table on one page: verdict, who was tested, the checks.

What it says comes in plain English from norms, which also says it on the command line; here it is only set
on paper. Where measures and reasons are more than one page holds, the measures beside the primary profile are
left to checks.json, and the sheet says so. Decision architecture-3.
"""

from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from typing import Final

from kiosk.i18n.language import Language
from kiosk.report.paper import (
    LINE,
    SECTION,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    SPACINGS,
    TITLE,
    paper_named,
)
from kiosk.report.sheet import Overflow, Sheet, document
from norms.build.provenance import ProvenanceSheet, primary_rows

LINE_MM: Final = 3.7
GAP_MM: Final = 2.4
COLUMN_GAP_MM: Final = 2.2
ELSEWHERE: Final = "The other measures stand in checks.json."
Grid = Sequence[Sequence[str]]


def provenance_pdf(sheet: ProvenanceSheet, language: Language, paper: str = "A4") -> bytes:
    """The sheet as one page; Overflow where even the primary profile does not fit."""
    out, size = BytesIO(), paper_named(paper)
    canvas = document(out, size, language.script, "en", sheet.title, SMALL)
    lay_out(Sheet(size, language.script, SPACINGS[0], canvas), fitting(sheet, language, paper))
    canvas.save()
    return out.getvalue()


def fitting(sheet: ProvenanceSheet, language: Language, paper: str) -> ProvenanceSheet:
    """The sheet itself, or with the primary profile only."""
    try:
        lay_out(Sheet(paper_named(paper), language.script, SPACINGS[0]), sheet)
    except Overflow:
        return replace(sheet, grid=(sheet.grid[0], *primary_rows(sheet)), note=f"{ELSEWHERE} {sheet.note}")
    return sheet


def lay_out(page: Sheet, sheet: ProvenanceSheet) -> float:
    """Draw everything from top to bottom; return where it ends, mm."""
    page.write(0, 5.0, sheet.title, TITLE)
    page.write(0, 11.0, f"Verdict: {sheet.verdict}", SECTION)
    down_mm = 16.5
    for heading, lines in sheet.blocks:
        page.write(0, down_mm, heading, SMALL_STRONG)
        down_mm += LINE_MM
        for line in lines:
            down_mm = page.write_lines(0, down_mm, page.wrap(line, SMALL, page.width_mm), SMALL, LINE_MM)
        down_mm += GAP_MM / 2
    for grid in (sheet.grid, sheet.thirds):
        down_mm = _table(page, grid, down_mm + GAP_MM)
    return page.write_lines(
        0, down_mm + GAP_MM, page.wrap(sheet.note, SMALL_QUIET, page.width_mm), SMALL_QUIET, LINE_MM
    )


def _table(page: Sheet, grid: Grid, top_mm: float) -> float:
    """Draw a grid whose columns are as wide as their widest cell; the last may run to the margin."""
    styles = [SMALL_STRONG, *[SMALL] * (len(grid) - 1)]
    widths = [
        max(page.text_width(cell, style) for cell, style in zip(column, styles, strict=True))
        for column in zip(*grid, strict=True)
    ]
    for row, style in zip(grid, styles, strict=True):
        left_mm = 0.0
        for cell, width in zip(row, widths, strict=True):
            page.write(left_mm, top_mm, cell, style)
            left_mm += width + COLUMN_GAP_MM
        if style is SMALL_STRONG:
            page.line((0.0, top_mm + 1.0), (page.width_mm, top_mm + 1.0), 0.2, LINE)
        top_mm += LINE_MM
    return top_mm
