"""One measure over the visits: time true to scale, earlier visits open, the latest solid and larger. mm.

What noise and practice allow is a hatched column at the latest date only: it is a forecast for that date.
Neither axis is ever mirrored.
"""

from typing import Final

import numpy as np

from kiosk.screens.curves import stroke
from kiosk.screens.hatched import Hatched
from kiosk.screens.layout import Box
from kiosk.screens.parts import Part, Scene
from kiosk.screens.scale import EDGES_Z, USUAL_Z, Z_FROM, Z_TO
from kiosk.screens.theme import READ, READ_STRONG, RULE_MM
from kiosk.wording.page_parts import ChangeChart, ChartPoint

AXIS_MM: Final = 11.0
DATES_MM: Final = 9.0
INSET_MM: Final = 11.0
COLUMN_MM: Final = 9.0
BAR_MM: Final = 0.8
EARLIER_MM: Final = 2.0
LATEST_MM: Final = 2.5
DASH_MM: Final = 1.2


class VisitsChart(Part):
    """Grid, column, line and marks, dates below."""

    def __init__(self, scene: Scene, chart: ChangeChart, box: Box) -> None:
        super().__init__(scene, "visits chart", box)
        self._plot = Box(box.left + AXIS_MM, box.bottom + DATES_MM, box.width - AXIS_MM,
                         box.height - DATES_MM)
        self._days = chart.points[-1].day if chart.points else 0.0
        self._draw_grid()
        for tick in chart.ticks:
            self.say(tick.text, READ, self._plot.left - 2.0, self.y(tick.z) - 2.0, "quiet", "right")
        if chart.limits_z is not None:
            self._draw_limits(chart.limits_z)
        self._draw_points(chart.points)
        self._draw_dates(chart.points)

    def x(self, day: float) -> float:
        """Where a day stands."""
        first, last = self._plot.left + INSET_MM, self._plot.right - INSET_MM
        return (first + last) / 2 if self._days == 0 else first + day / self._days * (last - first)

    def y(self, z: float) -> float:
        """Where a z stands; one beyond the scale stands at its edge."""
        share = (min(max(z, Z_FROM), Z_TO) - Z_FROM) / (Z_TO - Z_FROM)
        return self._plot.bottom + share * self._plot.height

    def _draw_grid(self) -> None:
        pen, plot = self.scene.pen, self._plot
        low, high = (self.y(z) for z in USUAL_Z)
        pen.box(self.canvas, Box(plot.left, low, plot.width, high - low), "surface")
        for y in (low, high):
            pen.box(self.canvas, Box(plot.left, y - RULE_MM / 2, plot.width, RULE_MM), "line")
        for z in EDGES_Z:
            self._dashes(self.y(z))
        pen.box(self.canvas, Box(plot.left, self.y(0.0) - 0.25, plot.width, 0.5), "line")

    def _dashes(self, y: float) -> None:
        x = self._plot.left
        while x + DASH_MM < self._plot.right:
            self.scene.pen.box(self.canvas, Box(x, y - RULE_MM / 2, DASH_MM, RULE_MM), "line")
            x += 2 * DASH_MM

    def _draw_limits(self, limits_z: tuple[float, float]) -> None:
        low, high = (self.y(z) for z in limits_z)
        x = self.x(self._days)
        column = Box(x - 0.38 * COLUMN_MM, low, 0.76 * COLUMN_MM, high - low)
        Hatched.draw(self.scene, self.canvas, column, "quiet")
        for y in (low, high):
            bar = Box(x - COLUMN_MM / 2, y - BAR_MM / 2, COLUMN_MM, BAR_MM)
            self.scene.pen.box(self.canvas, bar, "text")

    def _draw_points(self, points: tuple[ChartPoint, ...]) -> None:
        pen, plot = self.scene.pen, self._plot
        places = [(self.x(point.day), self.y(point.z)) for point in points]
        if len(places) > 1:
            line = np.array(places) - (plot.left, plot.bottom)
            stroke(pen, self.canvas, plot, line, 0.4, "quiet")
        for x, y in places[:-1]:
            pen.disc(self.canvas, x, y, EARLIER_MM + 0.5, "surface")
            pen.ring(self.canvas, x, y, EARLIER_MM - 0.7, EARLIER_MM, "quiet")
        for x, y in places[-1:]:
            pen.disc(self.canvas, x, y, LATEST_MM + 0.6, "ground")
            pen.disc(self.canvas, x, y, LATEST_MM, "accent")

    def _draw_dates(self, points: tuple[ChartPoint, ...]) -> None:
        """The latest and the first date always, others where they do not touch their neighbours."""
        order = [*reversed(points[-1:]), *points[:1], *reversed(points[1:-1])]
        taken: list[tuple[float, float]] = []
        for point in dict.fromkeys(order):
            style = READ_STRONG if point is points[-1] else READ
            width = self.scene.pen.letters.width_mm(point.date, style)
            left = min(max(self.x(point.day) - width / 2, self.box.left), self.box.right - width)
            if all(left > right + 2.0 or left + width < start - 2.0 for start, right in taken):
                self.say(point.date, style, left, self.box.bottom + 2.0, "text", "left")
                taken.append((left, left + width))
