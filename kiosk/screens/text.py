"""Words as pictures: shaped by Pillow (raqm) from plain logical strings, at the calibrated size.

Widths in mm; pixels follow the calibration's vertical scale, so that a capital has its height in mm. A line
is drawn once and never changes: no label of free width whose text is exchanged. Decision screens-3.
"""

import re
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from kiosk.i18n.fonts import font_file
from kiosk.i18n.line_breaking import direction_of, units
from kiosk.screens.theme import TypeStyle

MOST_WIDTHS: Final = 4096


@dataclass(frozen=True)
class LinePicture:
    """Alpha of one line (rows from the bottom); left_px, bottom_px from the baseline's left end."""

    alpha: NDArray[np.float64]
    left_px: int
    bottom_px: int
    advance_px: float


@dataclass(frozen=True, eq=False)
class Lettering:
    """The letters of one script and reading direction at one scale."""

    script: str
    direction: str
    px_per_mm: float
    _fonts: dict[tuple[float, int], ImageFont.FreeTypeFont] = field(default_factory=dict, repr=False)
    _widths: dict[tuple[str, float, int], float] = field(default_factory=dict, repr=False)

    def width_mm(self, text: str, style: TypeStyle) -> float:
        """How wide one line of text is, by its advance; wrapping measures the same line often."""
        key = (text, style.cap_mm, style.weight)
        if key not in self._widths:
            if len(self._widths) >= MOST_WIDTHS:
                self._widths.clear()
            length_px = self._font(style).getlength(text, direction=self._way(text))
            self._widths[key] = length_px / self.px_per_mm
        return self._widths[key]

    def lines(self, text: str, style: TypeStyle, width_mm: float) -> tuple[str, ...]:
        """The text in as few lines as fit the width, then balanced: the same number, narrowest width.

        A word wider than the width stands alone and overflows; the caller sees it by width_mm.
        """
        fewest = self._filled(text, style, width_mm)
        low, high = 0.0, width_mm
        while high - low > 0.5:
            middle = (low + high) / 2
            tried = self._filled(text, style, middle)
            fits = len(tried) == len(fewest) and self.widest_mm(tried, style) <= middle
            low, high = (low, middle) if fits else (middle, high)
        return self._filled(text, style, high)

    def widest_mm(self, lines: tuple[str, ...], style: TypeStyle) -> float:
        return max((self.width_mm(line, style) for line in lines), default=0.0)

    def picture(self, text: str, style: TypeStyle) -> LinePicture:
        """Alpha of one line of text."""
        font, way = self._font(style), self._way(text)
        left, top, right, bottom = font.getbbox(text, anchor="ls", direction=way)
        left_px, top_px = int(np.floor(left)) - 1, int(np.floor(top)) - 1
        size = int(np.ceil(right)) + 1 - left_px, int(np.ceil(bottom)) + 1 - top_px
        image = Image.new("L", size)
        painter = ImageDraw.Draw(image)
        painter.text((-left_px, -top_px), text, 255, font, anchor="ls", direction=way)
        alpha = np.asarray(image, dtype=np.float64)[::-1] / 255
        advance_px = font.getlength(text, direction=way)
        return LinePicture(alpha, left_px, -(top_px + size[1]), advance_px)

    def _filled(self, text: str, style: TypeStyle, width_mm: float) -> tuple[str, ...]:
        lines: list[str] = []
        for before, unit in units(" ".join(text.split())) if text.strip() else ():
            for number, piece in enumerate(self._pieces(unit, style, width_mm)):
                longer = f"{lines[-1]}{'' if number else before}{piece}" if lines else piece
                if lines and self.width_mm(longer, style) <= width_mm:
                    lines[-1] = longer
                else:
                    lines.append(piece)
        return tuple(lines)

    def _pieces(self, unit: str, style: TypeStyle, width_mm: float) -> list[str]:
        """A long code, too wide for one line, breaks after its hyphens."""
        if unit.count("-") < 2 or self.width_mm(unit, style) <= width_mm:
            return [unit]
        return re.split("(?<=-)", unit)

    def _way(self, text: str) -> str:
        return direction_of(text, self.direction)

    def _font(self, style: TypeStyle) -> ImageFont.FreeTypeFont:
        key = (style.cap_mm, style.weight)
        if key not in self._fonts:
            em_px = style.em_mm * self.px_per_mm
            self._fonts[key] = ImageFont.truetype(str(font_file(self.script, style.weight)), em_px,
                                                  layout_engine=ImageFont.Layout.RAQM)
        return self._fonts[key]

    @cached_property
    def rtl(self) -> bool:
        """Whether lines are read from right to left."""
        return self.direction == "rtl"
