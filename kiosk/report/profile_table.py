"""The profile: one row a measure around the scale, keys, notes and the reference group."""

from collections.abc import Sequence

from kiosk.report.marks import draw_key_mark, triangle
from kiosk.report.paper import (
    LINE,
    SECTION,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    STRONG,
    Style,
)
from kiosk.report.profile_columns import GAP_MM, MARK_MM, Columns, bracketed, measure_columns
from kiosk.report.scale import draw_grid, draw_marks, draw_ticks
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import Labelled, MeasureRow, Profile

CELL_PITCH_MM = 3.1


def profile_table(sheet: Sheet, profile: Profile, top_mm: float, row_mm: float) -> float:
    """The whole section; its lower edge."""
    columns = measure_columns(sheet, profile)
    head = _head(sheet, profile, columns, top_mm)
    heights = [_row_height(sheet, row, columns, row_mm) for row in profile.rows]
    bottom = head + sum(heights)
    with sheet.unmirrored(columns.scale.left_mm, columns.scale.right_mm):
        draw_grid(sheet, columns.scale, head, bottom)
    top = head
    for row, height in zip(profile.rows, heights, strict=True):
        _row(sheet, row, columns, top, height, last=row is profile.rows[-1])
        top += height
    with sheet.unmirrored(columns.scale.left_mm, columns.scale.right_mm):
        draw_ticks(sheet, columns.scale, profile.ticks, bottom + 3.2)
    keys = _keys(sheet, profile.keys, bottom + 3.2, columns.scale.at(profile.ticks[0].z) - 4.0)
    notes = [[(note, SMALL_QUIET)] for note in (*profile.notes, profile.reference) if note]
    pitch = sheet.spacing.small_pitch_mm
    return sheet.paragraphs(0, keys + pitch, notes, sheet.spacing.run_notes) - pitch + 0.8


def _head(sheet: Sheet, profile: Profile, columns: Columns, top_mm: float) -> float:
    """Section title and heads of the columns; the top of the first row."""
    words, baseline = profile.words, top_mm + 3.9
    sheet.write(0, baseline, words.title, SECTION)
    low = baseline + CELL_PITCH_MM
    sheet.write(columns.value_right, low, words.today, SMALL_QUIET, "right")
    lines = sheet.wrap(words.usual_range, SMALL_QUIET, columns.usual_width + GAP_MM)
    for place, line in enumerate(reversed(lines)):
        sheet.write(columns.usual_right, low - place * CELL_PITCH_MM, line, SMALL_QUIET, "right")
    scale = columns.scale
    with sheet.unmirrored(scale.left_mm, scale.right_mm):
        sheet.write(scale.left_mm, low, words.poorer, SMALL_QUIET)
        sheet.write(scale.at(0), low, words.usual, SMALL_STRONG, "center")
        sheet.write(scale.right_mm, low, words.better, SMALL_QUIET, "right")
    percentile_left = max(columns.interval_left, scale.right_mm + GAP_MM)
    after = sheet.write(percentile_left, low, words.percentile, SMALL_QUIET)
    fits = after + GAP_MM <= sheet.width_mm - sheet.text_width(words.standing, SMALL_QUIET)
    sheet.write(sheet.width_mm, low if fits else low - CELL_PITCH_MM, words.standing, SMALL_QUIET, "right")
    return low + 1.4


def _cells(sheet: Sheet, row: MeasureRow, columns: Columns) -> dict[str, list[str]]:
    """The cells that may take more than one line, by column."""
    return {
        "name": sheet.wrap(row.name, SMALL_STRONG, columns.name_width + 0.01),
        "value": sheet.wrap(row.value, STRONG, columns.value_width + 0.01),
        "usual": sheet.wrap(row.usual, SMALL, columns.usual_width + 0.01) if row.usual else [],
        "label": sheet.wrap(row.label, SMALL, columns.label_width + 0.01) if row.label else [],
    }


def _row_height(sheet: Sheet, row: MeasureRow, columns: Columns, row_mm: float) -> float:
    """A row with a cell of several lines is as high as that cell needs."""
    deepest = max(map(len, _cells(sheet, row, columns).values()))
    return max(row_mm, (CELL_PITCH_MM + sheet.deeper_mm) * deepest + 1.2)


def _row(sheet: Sheet, row: MeasureRow, columns: Columns, top_mm: float, row_mm: float, last: bool) -> None:
    middle, cells = top_mm + row_mm / 2, _cells(sheet, row, columns)
    _cell_lines(sheet, 0, middle, cells["name"], SMALL_STRONG, "left")
    _cell_lines(sheet, columns.value_right, middle, cells["value"], STRONG, "right")
    _cell_lines(sheet, columns.usual_right, middle, cells["usual"], SMALL, "right")
    _cell_lines(sheet, columns.label_right, middle, cells["label"], SMALL, "right")
    if row.mark in ("poorer", "better"):
        widest = max(sheet.text_width(line, STRONG) for line in cells["value"])
        triangle(sheet, (columns.value_right - widest - MARK_MM / 2 - 0.6, middle), row.mark)
    with sheet.unmirrored(columns.scale.left_mm, columns.scale.right_mm):
        draw_marks(sheet, columns.scale, row, middle)
    if row.percentile:
        sheet.write(columns.percentile_right, middle + 1.1, row.percentile, STRONG, "right")
        sheet.write(columns.interval_left, middle + 1.1, bracketed(row), SMALL)
        sheet.write(sheet.width_mm, middle + 1.1, row.standard_score, SMALL, "right")
    if not last:
        bottom = top_mm + row_mm
        sheet.line((0, bottom), (columns.usual_right, bottom), 0.2, LINE)
        sheet.line((columns.scale.right_mm + 1.5, bottom), (sheet.width_mm, bottom), 0.2, LINE)


def _cell_lines(
    sheet: Sheet, x_mm: float, middle_mm: float, lines: Sequence[str], style: Style, align: str
) -> None:
    """Lines about the middle of a row, set close."""
    pitch = CELL_PITCH_MM + sheet.deeper_mm
    first = middle_mm + 1.1 - pitch * (len(lines) - 1) / 2
    for place, line in enumerate(lines):
        sheet.write(x_mm, first + place * pitch, line, style, align)


def _keys(sheet: Sheet, keys: Sequence[Labelled], baseline_mm: float, right_mm: float) -> float:
    """The marks with their words left of the ticks, on as many lines as they need; the last baseline."""
    left = 0.0
    for key in keys:
        width = 4.4 + sheet.text_width(key.value, SMALL)
        if left > 0 and left + width > right_mm:
            left, baseline_mm = 0.0, baseline_mm + sheet.spacing.small_pitch_mm
        draw_key_mark(sheet, key.label, (left + 2.0, baseline_mm - 1.0))
        sheet.write(left + 4.4, baseline_mm, key.value, SMALL)
        left += width + 1.5
    return baseline_mm
