"""Values and own history, where nothing can be compared: one row a measure, one column a visit."""

from kiosk.report.foot import explanation
from kiosk.report.paper import LINE, PLAIN, SECTION, SMALL_QUIET, SMALL_STRONG, STRONG
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import ValueTable

NAME_MM = 44.0


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
        baseline = row_top + row_mm / 2 + 1.1
        sheet.write(0, baseline, name, SMALL_STRONG)
        for place, (edge, cell) in enumerate(zip(edges, cells, strict=True)):
            sheet.write(edge, baseline, cell, STRONG if place == len(cells) - 1 else PLAIN, "right")
        row_top += row_mm
    return row_top


def _edges(sheet: Sheet, columns: int) -> list[float]:
    """Right edges of the columns; a lone column stays near the names."""
    pitch = min(30.0, (sheet.width_mm - NAME_MM) / columns)
    return [NAME_MM + pitch * (place + 1) for place in range(columns)]
