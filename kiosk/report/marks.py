"""The marks that rows and keys share: dot, ring, whisker, triangle, hatched column. Black-and-white safe."""

from kiosk.report.drawing import Point
from kiosk.report.paper import DATA, LINE, TEXT, WHITE
from kiosk.report.sheet import Sheet


def triangle(sheet: Sheet, centre: Point, kind: str) -> None:
    """Reliably poorer points down, reliably better points up."""
    x, y = centre
    step = 1.0 if kind == "poorer" else -1.0
    sheet.polygon([(x, y + step * 1.1), (x - 1.2, y - step * 1.0), (x + 1.2, y - step * 1.0)], TEXT)


def draw_key_mark(sheet: Sheet, name: str, centre: Point) -> None:
    """One mark as a key shows it; ValueError for an unknown name."""
    x, y = centre
    if name == "dot":
        sheet.disc(centre, 1.2, DATA)
    elif name == "ring":
        sheet.disc(centre, 0.8, WHITE)
        sheet.ring(centre, 0.68, 0.3, TEXT)
    elif name == "whisker":
        sheet.line((x - 2.0, y), (x + 2.0, y), 0.5, DATA)
        for end in (x - 2.0, x + 2.0):
            sheet.line((end, y - 0.9), (end, y + 0.9), 0.4, DATA)
    elif name in ("poorer", "better"):
        triangle(sheet, centre, name)
    else:
        raise ValueError(f"mark, must be one of dot, ring, whisker, poorer, better, got {name!r}")


def hatched_column(sheet: Sheet, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float) -> None:
    """How far a value may stray without reliable change: hatched, with bars at both ends."""
    inset = (right_mm - left_mm) * 0.12
    sheet.hatch(left_mm + inset, top_mm, right_mm - inset, bottom_mm, LINE, 0.2, 1.1)
    for y in (top_mm, bottom_mm):
        sheet.line((left_mm, y), (right_mm, y), 0.5)
