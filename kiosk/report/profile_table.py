"""The profile: one row a measure around the scale, keys, notes and the reference group.

Columns are as wide as their words; the scale takes what is left.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

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
from kiosk.report.scale import Scale, draw_grid, draw_marks, draw_ticks
from kiosk.report.sheet import Overflow, Sheet
from kiosk.wording.page_parts import Labelled, MeasureRow, Profile

GAP_MM, SCALE_MOST_MM, SCALE_LEAST_MM, NAME_MOST_MM, USUAL_MOST_MM = 2.5, 54.0, 28.0, 40.0, 19.0
MARK_MM, CELL_PITCH_MM = 3.0, 3.1


@dataclass(frozen=True)
class Columns:
    """Where the columns of the profile stand, mm."""

    name_width: float
    value_right: float
    usual_right: float
    usual_width: float
    scale: Scale
    percentile_right: float
    interval_left: float
    label_right: float


def profile_table(sheet: Sheet, profile: Profile, top_mm: float, row_mm: float) -> float:
    """The whole section; its lower edge."""
    columns = measure_columns(sheet, profile)
    head = _head(sheet, profile, columns, top_mm)
    heights = [_row_height(sheet, row, columns, row_mm) for row in profile.rows]
    bottom = head + sum(heights)
    draw_grid(sheet, columns.scale, head, bottom)
    top = head
    for row, height in zip(profile.rows, heights, strict=True):
        _row(sheet, row, columns, top, height, last=row is profile.rows[-1])
        top += height
    draw_ticks(sheet, columns.scale, profile.ticks, bottom + 3.2)
    keys = _keys(sheet, profile.keys, bottom + 3.2, columns.scale.at(profile.ticks[0].z) - 4.0)
    notes = [[(note, SMALL_QUIET)] for note in (*profile.notes, profile.reference) if note]
    pitch = sheet.spacing.small_pitch_mm
    return sheet.paragraphs(0, keys + pitch, notes, sheet.spacing.run_notes) - pitch + 0.8


def measure_columns(sheet: Sheet, profile: Profile) -> Columns:
    """Columns from the words they hold; Overflow where the scale would be narrower than 28 mm."""

    def widest(said: Callable[[MeasureRow], str], style: Style, least: float = 0.0) -> float:
        return max(least, *(sheet.text_width(said(row), style) for row in profile.rows))

    name = min(NAME_MOST_MM, widest(lambda row: row.name, SMALL_STRONG))
    value_right = name + GAP_MM + MARK_MM + widest(lambda row: row.value, STRONG)
    usual = min(USUAL_MOST_MM, max(widest(lambda row: row.usual, SMALL), 14.0))
    score_left = sheet.width_mm - widest(lambda row: row.standard_score, SMALL, 5.0)
    label_right = score_left - 1.5
    interval_left = label_right - widest(lambda row: row.label, SMALL) - GAP_MM - widest(_bracketed, SMALL)
    percentile_right = interval_left - 1.2
    right = percentile_right - widest(lambda row: row.percentile, STRONG) - GAP_MM
    left = value_right + GAP_MM + usual + GAP_MM
    if right - left < SCALE_LEAST_MM:
        raise Overflow(f"scale, must have {SCALE_LEAST_MM} mm beside the columns, got {right - left:.1f}")
    spare = max(0.0, right - left - SCALE_MOST_MM)
    scale = Scale(left + spare / 2, right - spare / 2)
    return Columns(
        name,
        value_right,
        left - GAP_MM + spare / 2,
        usual,
        scale,
        percentile_right,
        interval_left,
        label_right,
    )


def _bracketed(row: MeasureRow) -> str:
    return f"({row.interval})" if row.interval else ""


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
    sheet.write(scale.left_mm, low, words.poorer, SMALL_QUIET)
    sheet.write(scale.at(0), low, words.usual, SMALL_STRONG, "center")
    sheet.write(scale.right_mm, low, words.better, SMALL_QUIET, "right")
    sheet.write(max(columns.interval_left, scale.right_mm + GAP_MM), low, words.percentile, SMALL_QUIET)
    sheet.write(sheet.width_mm, low, words.standing, SMALL_QUIET, "right")
    return low + 1.4


def _row_height(sheet: Sheet, row: MeasureRow, columns: Columns, row_mm: float) -> float:
    """A row whose name or range takes two lines is as high as they need."""
    lines = max(
        len(sheet.wrap(row.name, SMALL_STRONG, columns.name_width)),
        len(sheet.wrap(row.usual, SMALL, columns.usual_width)),
    )
    return max(row_mm, CELL_PITCH_MM * lines + 1.2)


def _row(sheet: Sheet, row: MeasureRow, columns: Columns, top_mm: float, row_mm: float, last: bool) -> None:
    middle = top_mm + row_mm / 2
    baseline = middle + 1.1
    _cell_lines(
        sheet, 0, middle, sheet.wrap(row.name, SMALL_STRONG, columns.name_width), SMALL_STRONG, "left"
    )
    if row.mark in ("poorer", "better"):
        left = columns.value_right - sheet.text_width(row.value, STRONG) - MARK_MM / 2 - 0.6
        triangle(sheet, (left, middle), row.mark)
    sheet.write(columns.value_right, baseline, row.value, STRONG, "right")
    usual = sheet.wrap(row.usual, SMALL, columns.usual_width) if row.usual else []
    _cell_lines(sheet, columns.usual_right, middle, usual, SMALL, "right")
    draw_marks(sheet, columns.scale, row, middle)
    if row.percentile:
        sheet.write(columns.percentile_right, baseline, row.percentile, STRONG, "right")
        sheet.write(columns.interval_left, baseline, _bracketed(row), SMALL)
        sheet.write(columns.label_right, baseline, row.label, SMALL, "right")
        sheet.write(sheet.width_mm, baseline, row.standard_score, SMALL, "right")
    if not last:
        bottom = top_mm + row_mm
        sheet.line((0, bottom), (columns.usual_right, bottom), 0.2, LINE)
        sheet.line((columns.scale.right_mm + 1.5, bottom), (sheet.width_mm, bottom), 0.2, LINE)


def _cell_lines(
    sheet: Sheet, x_mm: float, middle_mm: float, lines: Sequence[str], style: Style, align: str
) -> None:
    """Up to two lines about the middle of a row, set close."""
    first = middle_mm + 1.1 - CELL_PITCH_MM * (len(lines) - 1) / 2
    for place, line in enumerate(lines):
        sheet.write(x_mm, first + place * CELL_PITCH_MM, line, style, align)


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
