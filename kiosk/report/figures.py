"""Figures on paper: the marks of kiosk.figures drawn on a sheet, whose y runs downwards from its top.

Decision page-7.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.figures.marks import (
    Area,
    Curve,
    Disc,
    Hatch,
    Line,
    Mark,
    Point,
    Ring,
    Role,
    Triangle,
    Words,
    unbroken,
)
from kiosk.report.paper import (
    DATA,
    LINE,
    QUIET,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    TARGET,
    TEXT,
    TINT,
    WHITE,
    Style,
)
from kiosk.report.sheet import Sheet

COLOURS: Final[dict[Role, str]] = {
    "ground": WHITE, "surface": TINT, "line": LINE, "quiet": QUIET, "text": TEXT, "accent": DATA}
MOST_POINTS: Final = 600  # of a curve


@dataclass(frozen=True, eq=False)
class SheetLettering:
    """Widths of the small type in which figures are lettered."""

    sheet: Sheet

    def width_mm(self, text: str, strong: bool = False) -> float:
        return self.sheet.text_width(text, SMALL_STRONG if strong else SMALL)

    def lines(self, text: str, width_mm: float) -> Sequence[str]:
        """The text in lines no wider than this, where its words allow."""
        return self.sheet.wrap(text, SMALL, width_mm)


def draw(sheet: Sheet, marks: Iterable[Mark]) -> None:
    """Draw marks in their order; y up from the sheet's top edge, so that all of the sheet is below 0."""
    for mark in marks:
        _draw(sheet, mark)


def _draw(sheet: Sheet, mark: Mark) -> None:
    colour = COLOURS[mark.role]
    match mark:
        case Area(box):
            sheet.rectangle(box.left, -box.top, box.right, -box.bottom, colour)
        case Hatch(box, width_mm, pitch_mm):
            sheet.hatch(box.left, -box.top, box.right, -box.bottom, colour, width_mm, pitch_mm)
        case Line(start, end, width_mm, _, dash_mm):
            sheet.line(_down(start), _down(end), width_mm, colour, (dash_mm, dash_mm) if dash_mm else ())
        case Curve(points, box, width_mm) if sheet.draws:
            for run in unbroken(points, MOST_POINTS):
                places = [_down((box.left + x, box.bottom + y)) for x, y in run.tolist()]
                sheet.polyline(places, width_mm, colour)
        case Disc(centre, radius_mm):
            sheet.disc(_down(centre), radius_mm, colour)
        case Ring(centre, radius_mm, width_mm):
            sheet.ring(_down(centre), radius_mm, width_mm, colour)
        case Triangle((x, y), corners):
            sheet.polygon([_down((x + across, y + up)) for across, up in corners], colour)
        case Words(text, x, baseline, _, align):
            sheet.write(x, -baseline, text, _style(mark), align)


def _style(words: Words) -> Style:
    if words.strong:
        return SMALL_STRONG
    return SMALL_QUIET if words.role == "quiet" else SMALL


def _down(point: Point) -> Point:
    return (point[0], -point[1])


def identity_mark(sheet: Sheet, centre: tuple[float, float], radius_mm: float) -> None:
    """The identity mark: the amber disc inside its closed ring."""
    sheet.disc(centre, radius_mm, TEXT)
    sheet.disc(centre, radius_mm * 0.78, WHITE)
    sheet.disc(centre, radius_mm * 0.56, TARGET)
