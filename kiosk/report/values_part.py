"""Values and own history, where nothing can be compared: one row a measure, one column a visit."""

from collections.abc import Sequence

from kiosk.report.foot import explanation
from kiosk.report.paper import LINE, PLAIN, SECTION, SMALL_QUIET, SMALL_STRONG, STRONG
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import ValueTable

NAME_MM, BETWEEN_MM, LINE_MM = 44.0, 2.0, 3.6


def values_part(sheet: Sheet, table: ValueTable, top_mm: float, row_mm: float) -> float:
    """Title, why there is no comparison, and the table; the lower edge."""
    sheet.write(0, top_mm + 3.9, table.title, SECTION)
    top = explanation(sheet, table.explanation, top_mm + 6.0) + 9.0
    edges = _edges(sheet, len(table.heads) - 1)
    sheet.write(0, top, table.heads[0], SMALL_QUIET)
    for edge, head in zip(edges, table.heads[1:], strict=True):
        for up, line in enumerate(reversed(sheet.wrap(head, SMALL_QUIET, 24.0))):
            sheet.write(edge, top - up * 3.3, line, SMALL_QUIET, "right")
    row_top = top + 1.4
    for name, cells in zip(table.names, table.cells, strict=True):
        sheet.line((0, row_top), (sheet.width_mm, row_top), 0.2, LINE)
        row_top += _row(sheet, name, cells, edges, row_top, row_mm)
    return row_top


def _row(
    sheet: Sheet, name: str, cells: Sequence[str], edges: Sequence[float], top_mm: float, row_mm: float
) -> float:
    """One measure, the latest visit in strong type; the height, more where a cell takes several lines."""
    styles = [*[PLAIN] * (len(cells) - 1), STRONG]
    room = edges[0] - NAME_MM - BETWEEN_MM
    wrapped = [sheet.wrap(cell, style, room) for cell, style in zip(cells, styles, strict=True)]
    names = sheet.wrap(name, SMALL_STRONG, NAME_MM - BETWEEN_MM)
    deepest = max(map(len, [names, *wrapped]))
    height = max(row_mm, deepest * LINE_MM + 1.0)
    for x, lines, style, align in (
        (0.0, names, SMALL_STRONG, "left"),
        *zip(edges, wrapped, styles, ["right"] * len(cells), strict=True),
    ):
        first = top_mm + height / 2 + 1.1 - LINE_MM * (len(lines) - 1) / 2
        for place, line in enumerate(lines):
            sheet.write(x, first + place * LINE_MM, line, style, align)
    return height


def _edges(sheet: Sheet, columns: int) -> list[float]:
    """Right edges of the columns; a lone column stays near the names."""
    pitch = min(30.0, (sheet.width_mm - NAME_MM) / columns)
    return [NAME_MM + pitch * (place + 1) for place in range(columns)]
