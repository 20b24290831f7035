"""A sheet as a picture (PNG): the same millimetres, type and colours, drawn with Pillow.

Drawn at twice the size and reduced, so that strokes and letters have smooth edges.
"""

from collections.abc import Sequence
from io import BytesIO
from typing import Final

from PIL import Image, ImageDraw, ImageFont

from kiosk.i18n.fonts import font_file
from kiosk.report.faces import line_direction
from kiosk.report.paper import MM, TEXT, WHITE, Paper, Style

PX_PER_MM: Final = 6
OVERSIZE: Final = 2
Point = tuple[float, float]


class Picture:
    """The live area of one sheet in pixels; the methods are those of Sheet."""

    def __init__(self, paper: Paper, script: str) -> None:
        self.paper, self.script = paper, script
        self.width_mm, self.height_mm = paper.live_width_mm, paper.live_height_mm
        size = (self._px(paper.width_mm), self._px(paper.height_mm))
        self._image = Image.new("RGB", size, WHITE)
        self._draw = ImageDraw.Draw(self._image)
        self._fonts: dict[Style, ImageFont.FreeTypeFont] = {}

    def text_width(self, text: str, style: Style) -> float:
        """Width of a text in mm."""
        way = line_direction(self.script, text)
        return float(self._font(style).getlength(text, direction=way)) / (PX_PER_MM * OVERSIZE)

    def write(self, x_mm: float, baseline_mm: float, text: str, style: Style, align: str = "left") -> float:
        """Write one line; the x of its right edge."""
        width = self.text_width(text, style)
        left = x_mm - {"left": 0.0, "centre": width / 2, "right": width}[align]
        way = line_direction(self.script, text)
        at = self._point(left, baseline_mm)
        self._draw.text(at, text, style.colour, self._font(style), anchor="ls", direction=way)
        return left + width

    def polyline(self, points: Sequence[Point], width_mm: float, colour: str = TEXT) -> None:
        """A stroke through points."""
        if len(points) > 1:
            placed = [self._point(*point) for point in points]
            self._draw.line(placed, colour, max(1, self._px(width_mm)), joint="curve")

    def rectangle(
        self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float, colour: str
    ) -> None:
        """A filled rectangle."""
        self._draw.rectangle((self._point(left_mm, top_mm), self._point(right_mm, bottom_mm)), colour)

    def png(self) -> bytes:
        """The picture as PNG, without any date; it bears its resolution."""
        out = BytesIO()
        size = (self._image.width // OVERSIZE, self._image.height // OVERSIZE)
        small = self._image.resize(size, Image.Resampling.LANCZOS)
        small.save(out, "PNG", dpi=(PX_PER_MM * 25.4, PX_PER_MM * 25.4))
        return out.getvalue()

    def _font(self, style: Style) -> ImageFont.FreeTypeFont:
        if style not in self._fonts:
            size_px = style.size_pt / MM * PX_PER_MM * OVERSIZE
            file = str(font_file(self.script, style.weight))
            self._fonts[style] = ImageFont.truetype(file, size_px, layout_engine=ImageFont.Layout.RAQM)
        return self._fonts[style]

    def _point(self, x_mm: float, y_mm: float) -> Point:
        scale = PX_PER_MM * OVERSIZE
        return (self.paper.side_mm + x_mm) * scale, (self.paper.top_mm + y_mm) * scale

    def _px(self, length_mm: float) -> int:
        return round(length_mm * PX_PER_MM * OVERSIZE)
