"""Change since an earlier visit: the chart at the left, the table beside it, the notes below."""

from collections.abc import Sequence

from kiosk.figures.change_chart import PAPER, change_chart
from kiosk.figures.marks import Box
from kiosk.figures.profile_scale import PAPER as SCALE_SIZES
from kiosk.figures.profile_scale import change_mark
from kiosk.report.figures import SheetLettering, draw
from kiosk.report.paper import (
    LINE,
    SECTION,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    Style,
)
from kiosk.report.sheet import Overflow, Sheet
from kiosk.wording.page_parts import ChangeChart, ChangeRow, ChangeSection

GAP_MM = 2.2
CHART_LEAST_MM, CHART_MOST_MM = 36.0, 80.0
WIDTHS = (  # widest name, then, today, expected, limits, reading; closer where words are long
    (36.0, 40.0, 40.0, 40.0, 19.0, 27.0),
    (44.0, 40.0, 40.0, 40.0, 19.0, 44.0),
    (33.0, 17.0, 17.0, 17.0, 17.0, 30.0),
    (29.0, 17.0, 17.0, 17.0, 17.0, 23.0),
)
HEAD_LINES_MM = 2.9
MARK_MM = 3.4


def change_part(sheet: Sheet, section: ChangeSection, top_mm: float) -> float:
    """Draw the whole section; return its lower edge."""
    sheet.write(0, top_mm + 3.9, section.title, SECTION)
    body = top_mm + 5.6
    widths = _fitting_widths(sheet, section)
    chart_width = min(CHART_MOST_MM, sheet.width_mm - sum(widths) - GAP_MM * (len(widths) - 1) - 4.0)
    bottom = body
    if section.chart is not None:
        if chart_width < CHART_LEAST_MM:
            raise Overflow(f"chart, must have {CHART_LEAST_MM} mm beside the table, got {chart_width:.1f}")
        _chart(sheet, section.chart, body, chart_width)
        bottom = body + sheet.spacing.chart_mm
    left = 0.0 if section.chart is None else chart_width + 4.0
    bottom = max(bottom, _table(sheet, section, left, widths, body if left == 0 else top_mm + 1.1))
    notes, pitch = [[(note, SMALL_QUIET)] for note in section.notes], sheet.spacing.small_pitch_mm
    return sheet.paragraphs(0, bottom + pitch, notes, sheet.spacing.run_notes) - pitch + 0.8


def _chart(sheet: Sheet, chart: ChangeChart, top_mm: float, width_mm: float) -> None:
    """Draw the title, the chart below it and its dates."""
    lines = sheet.wrap(chart.title, SMALL_STRONG, width_mm)
    below_title = sheet.write_lines(0, top_mm + 2.8, lines, SMALL_STRONG, 3.4) - 1.6
    bottom = top_mm + sheet.spacing.chart_mm
    box = Box(0.0, -bottom, width_mm, bottom - below_title)
    with sheet.unmirrored(0.0, width_mm):
        draw(sheet, change_chart(chart, box, PAPER, SheetLettering(sheet)))


def _fitting_widths(sheet: Sheet, section: ChangeSection) -> list[float]:
    """The column widths with the fewest lines that leave the chart its least width; else the narrowest."""
    tried = [column_widths(sheet, section, most) for most in WIDTHS]
    room = sheet.width_mm - CHART_LEAST_MM
    fitting = [widths for widths in tried if sum(widths) + GAP_MM * len(widths) <= room]
    return min(fitting, key=lambda widths: _lines(sheet, section, widths), default=tried[-1])


def _lines(sheet: Sheet, section: ChangeSection, widths: Sequence[float]) -> int:
    return sum(max(len(lines) for lines in _wrapped(sheet, row, widths)) for row in section.rows)


def column_widths(sheet: Sheet, section: ChangeSection, most: Sequence[float]) -> list[float]:
    """Widths of name, then, today, expected, limits and reading, as wide as their longest words."""
    rows = section.rows
    columns: tuple[tuple[list[str], Style], ...] = (
        ([row.name for row in rows], SMALL),
        ([row.before for row in rows], SMALL),
        ([row.today for row in rows], SMALL_STRONG),
        ([row.expected for row in rows], SMALL),
        ([row.limits for row in rows], SMALL),
        ([row.reading for row in rows], SMALL_STRONG),
    )
    widths = [
        _width(sheet, words, head, style, cap)
        for (words, style), head, cap in zip(columns, section.heads, most, strict=True)
    ]
    return [*widths[:-1], widths[-1] + (MARK_MM if any(row.mark for row in rows) else 0.0)]


def _width(sheet: Sheet, words: Sequence[str], head: str, style: Style, most_mm: float) -> float:
    """As wide as the longest line of a cell within `most_mm`, at least as the longest word of the head."""
    longest_word = max(sheet.text_width(word, SMALL_QUIET) for word in head.split(" "))
    lines = [line for text in words for line in sheet.wrap(text, style, most_mm)]
    return max(longest_word, max(sheet.text_width(line, style) for line in lines))


def _table(
    sheet: Sheet, section: ChangeSection, left_mm: float, widths: Sequence[float], top_mm: float
) -> float:
    edges = _right_edges(left_mm, widths)
    heads = [
        sheet.wrap(head, SMALL_QUIET, width + GAP_MM)
        for head, width in zip(section.heads, widths, strict=True)
    ]
    deepest = max(len(lines) for lines in heads)
    baseline = top_mm + 2.8 + (deepest - 1) * HEAD_LINES_MM
    for place, lines in enumerate(heads):
        for up, line in enumerate(reversed(lines)):
            _cell(sheet, place, line, edges, widths, baseline - up * HEAD_LINES_MM, SMALL_QUIET)
    row_top = baseline + 1.2
    for row in section.rows:
        sheet.line((left_mm, row_top), (sheet.width_mm, row_top), 0.2, LINE)
        row_top = _row(sheet, row, edges, widths, row_top)
    return row_top


def _right_edges(left_mm: float, widths: Sequence[float]) -> list[float]:
    edges, at = [], left_mm
    for width in widths:
        edges.append(at + width)
        at += width + GAP_MM
    return edges


def _row(
    sheet: Sheet, row: ChangeRow, edges: Sequence[float], widths: Sequence[float], top_mm: float
) -> float:
    cells, wrapped = _cells(row), _wrapped(sheet, row, widths)
    deepest = max(len(lines) for lines in wrapped)
    pitch = HEAD_LINES_MM + sheet.deeper_mm
    height = max(min(sheet.spacing.row_mm, 5.4) - 0.6, deepest * pitch + 0.9)
    for place, (lines, (_, style)) in enumerate(zip(wrapped, cells, strict=True)):
        first = top_mm + height / 2 + 1.0 - pitch * (len(lines) - 1) / 2
        for down, line in enumerate(lines):
            _cell(sheet, place, line, edges, widths, first + down * pitch, style)
    if row.mark in ("poorer", "better"):
        centre = (sheet.width_mm - 1.3, -(top_mm + height / 2))
        draw(sheet, [change_mark(row.mark, centre, SCALE_SIZES)])
    return top_mm + height


def _cells(row: ChangeRow) -> tuple[tuple[str, Style], ...]:
    return (
        (row.name, SMALL),
        (row.before, SMALL),
        (row.today, SMALL_STRONG),
        (row.expected, SMALL),
        (row.limits, SMALL),
        (row.reading, SMALL_STRONG if row.mark else SMALL),
    )


def _wrapped(sheet: Sheet, row: ChangeRow, widths: Sequence[float]) -> list[list[str]]:
    room = [*widths[:-1], widths[-1] - (MARK_MM if row.mark else 0.0)]
    return [
        sheet.wrap(text, style, width + 0.01) if text else []
        for (text, style), width in zip(_cells(row), room, strict=True)
    ]


def _cell(
    sheet: Sheet,
    place: int,
    text: str,
    edges: Sequence[float],
    widths: Sequence[float],
    baseline_mm: float,
    style: Style,
) -> None:
    """Write a cell: names and readings from the left, figures to the right."""
    if place in (0, len(edges) - 1):
        sheet.write(edges[place] - widths[place], baseline_mm, text, style)
    else:
        sheet.write(edges[place], baseline_mm, text, style, "right")
