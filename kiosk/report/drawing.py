"""Strokes and shapes on one sheet: millimetres from the top left of the live area, y downwards.

Where the language reads from right to left the whole sheet is mirrored: x is then measured from the right
edge, and "left" is where lines begin. Figures keep their sides (`unmirrored`): only their place is mirrored.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from kiosk.report.paper import MM, TEXT, Paper

Point = tuple[float, float]


class Drawing:
    """The live area of one page; without a canvas nothing is drawn."""

    def __init__(self, paper: Paper, canvas: Canvas | None, direction: str) -> None:
        self.paper = paper
        self.width_mm, self.height_mm = paper.live_width_mm, paper.live_height_mm
        self._canvas = canvas
        self._mirrored = direction == "rtl"
        self._shift_mm = 0.0  # of what keeps its sides on a mirrored sheet

    @property
    def draws(self) -> bool:
        """Whether there is a canvas; without one the page is only measured."""
        return self._canvas is not None

    @contextmanager
    def unmirrored(self, left_mm: float, right_mm: float) -> Iterator[None]:
        """What is drawn between these sides stands where the mirrored sheet has them, but is not turned."""
        before = self._mirrored, self._shift_mm
        if self._mirrored:
            self._mirrored, self._shift_mm = False, self.width_mm - right_mm - left_mm
        try:
            yield
        finally:
            self._mirrored, self._shift_mm = before

    def line(
        self, start: Point, end: Point, width_mm: float, colour: str = TEXT, dash_mm: Sequence[float] = ()
    ) -> None:
        """A straight stroke."""
        self.polyline([start, end], width_mm, colour, dash_mm)

    def polyline(
        self, points: Sequence[Point], width_mm: float, colour: str = TEXT, dash_mm: Sequence[float] = ()
    ) -> None:
        """A stroke through points."""
        if self._canvas is None or len(points) < 2:
            return
        self._stroke(width_mm, colour, dash_mm)
        path = self._canvas.beginPath()
        path.moveTo(*self._point(*points[0]))
        for point in points[1:]:
            path.lineTo(*self._point(*point))
        self._canvas.drawPath(path, stroke=1, fill=0)

    def polygon(self, points: Sequence[Point], colour: str) -> None:
        """A filled shape."""
        if self._canvas is None:
            return
        self._canvas.setFillColor(HexColor(colour))
        path = self._canvas.beginPath()
        path.moveTo(*self._point(*points[0]))
        for point in points[1:]:
            path.lineTo(*self._point(*point))
        path.close()
        self._canvas.drawPath(path, stroke=0, fill=1)

    def rectangle(
        self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float, colour: str
    ) -> None:
        """A filled rectangle."""
        self.polygon(
            [(left_mm, top_mm), (right_mm, top_mm), (right_mm, bottom_mm), (left_mm, bottom_mm)], colour
        )

    def disc(self, centre: Point, radius_mm: float, fill: str) -> None:
        """A filled circle."""
        if self._canvas is not None:
            self._canvas.setFillColor(HexColor(fill))
            self._canvas.circle(*self._point(*centre), radius_mm * MM, stroke=0, fill=1)

    def ring(self, centre: Point, radius_mm: float, width_mm: float, colour: str) -> None:
        """An open circle; the radius is that of the middle of the stroke."""
        if self._canvas is not None:
            self._stroke(width_mm, colour, ())
            self._canvas.circle(*self._point(*centre), radius_mm * MM, stroke=1, fill=0)

    def hatch(
        self,
        left_mm: float,
        top_mm: float,
        right_mm: float,
        bottom_mm: float,
        colour: str,
        width_mm: float,
        pitch_mm: float,
    ) -> None:
        """Lines at 45 degrees inside a rectangle."""
        if self._canvas is None:
            return
        self._canvas.saveState()
        clip, (x, y), (end, _) = (
            self._canvas.beginPath(),
            *(self._point(side, bottom_mm) for side in (left_mm, right_mm)),
        )
        clip.rect(min(x, end), y, abs(end - x), (bottom_mm - top_mm) * MM)
        self._canvas.clipPath(clip, stroke=0, fill=0)
        rise = right_mm - left_mm
        foot = top_mm
        while foot < bottom_mm + rise:
            self.line((left_mm, foot), (right_mm, foot - rise), width_mm, colour)
            foot += pitch_mm
        self._canvas.restoreState()

    def _stroke(self, width_mm: float, colour: str, dash_mm: Sequence[float]) -> None:
        canvas: Any = self._canvas
        canvas.setStrokeColor(HexColor(colour))
        canvas.setLineWidth(width_mm * MM)
        canvas.setDash([part * MM for part in dash_mm])

    def _across(self, x_mm: float) -> float:
        """Where an x stands from the sheet's left edge."""
        return self.width_mm - x_mm if self._mirrored else x_mm + self._shift_mm

    def _point(self, x_mm: float, y_mm: float) -> Point:
        across = self.paper.side_mm + self._across(x_mm)
        return (across * MM, (self.paper.height_mm - self.paper.top_mm - y_mm) * MM)
