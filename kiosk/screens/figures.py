"""Figures on the screen: the marks of kiosk.figures drawn in a part's canvas, in type of reading size."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kivy.graphics import Canvas

from kiosk.figures.change_chart import SCREEN, change_chart
from kiosk.figures.marks import Area, Box, Curve, Disc, Hatch, Line, Mark, Point, Ring, Triangle, Words
from kiosk.screens import alpha
from kiosk.screens.painter import Painter, stroke
from kiosk.screens.parts import Part, Scene
from kiosk.screens.text import Lettering
from kiosk.screens.theme import READ, READ_STRONG
from kiosk.wording.page_parts import ChangeChart


@dataclass(frozen=True, eq=False)
class ReadingLettering:
    """Widths of the type in which figures are lettered."""

    letters: Lettering

    def width_mm(self, text: str, strong: bool = False) -> float:
        return self.letters.width_mm(text, READ_STRONG if strong else READ)

    def lines(self, text: str, width_mm: float) -> Sequence[str]:
        """The text in lines no wider than this, where its words allow."""
        return self.letters.lines(text, READ, width_mm)


class VisitsChart(Part):
    """The change chart of one measure, over the visits."""

    def __init__(self, scene: Scene, chart: ChangeChart, box: Box) -> None:
        super().__init__(scene, "visits chart", box)
        draw(self, change_chart(chart, box, SCREEN, ReadingLettering(scene.painter.letters)))


def draw(part: Part, marks: Iterable[Mark]) -> None:
    """Draw marks in their order, about the window's centre; the part keeps the boxes of its words."""
    for mark in marks:
        if isinstance(mark, Words):
            style = READ_STRONG if mark.strong else READ
            part.say(mark.text, style, mark.x, mark.baseline, mark.role, mark.align)
        else:
            _draw(part.scene.painter, part.canvas, mark)


def _draw(painter: Painter, canvas: Canvas,
          mark: Area | Hatch | Line | Curve | Disc | Ring | Triangle) -> None:
    match mark:
        case Area(box, role):
            painter.box(canvas, box, role)
        case Hatch(box, width_mm, pitch_mm, role):
            painter.hatch(canvas, box, role, width_mm, pitch_mm)
        case Line(_, _, _, role):
            for dash in _dashes(mark):
                painter.box(canvas, dash, role)
        case Curve(points, box, width_mm, role):
            stroke(painter, canvas, box, points, width_mm, role)
        case Disc((x, y), radius_mm, role):
            painter.disc(canvas, x, y, radius_mm, role)
        case Ring((x, y), radius_mm, width_mm, role):
            painter.ring(canvas, x, y, radius_mm - width_mm / 2, radius_mm + width_mm / 2, role)
        case Triangle((x, y), corners, role):
            half = max(max(abs(across), abs(up)) for across, up in corners) + 0.2
            shape = alpha.triangle(*_counter_clockwise(corners))
            painter.shape(canvas, x, y, (half, half), ("triangle", corners), shape, role)


def _dashes(line: Line) -> list[Box]:
    """An upright or level line as rectangles: itself, or its dashes that end before it does."""
    (x, y), (end_x, end_y) = line.start, line.end
    half, dash = line.width_mm / 2, line.dash_mm
    upright = x == end_x
    if not dash:
        return [Box(x - half, end_y, line.width_mm, y - end_y) if upright else
                Box(x, y - half, end_x - x, line.width_mm)]
    made = []
    while (y - dash > end_y) if upright else (x + dash < end_x):
        made.append(Box(x - half, y - dash, line.width_mm, dash) if upright else
                    Box(x, y - half, dash, line.width_mm))
        x, y = (x, y - 2 * dash) if upright else (x + 2 * dash, y)
    return made


def _counter_clockwise(corners: tuple[Point, Point, Point]) -> tuple[Point, Point, Point]:
    (ax, ay), (bx, by), (cx, cy) = a, b, c = corners
    turn = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    return corners if turn > 0 else (a, c, b)
