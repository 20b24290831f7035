"""A printed page on the glass: whole, or as large as on paper in parts from its top to its foot. mm.

Decision page-6.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from kiosk.figures.marks import Box, around
from kiosk.screens.parts import Part, Scene
from kiosk.wording.page_parts import PaperPixels

AGAIN_MM: Final = 5.0      # of one part's foot stands at the head of the next, so that no line is cut in both
AROUND_MM: Final = 2.0     # left white about what is printed
WHITE: Final = 250
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class PagePart:
    """A part of a page: rows of RGB pixels from the top, and its size on paper in mm."""

    pixels: Pixels
    width_mm: float
    height_mm: float


def whole_page(paper: PaperPixels) -> PagePart:
    """The page with its margins."""
    pixels = np.frombuffer(paper.rgb, dtype=np.uint8).reshape(paper.height_px, paper.width_px, 3)
    return PagePart(pixels, paper.width_mm, paper.height_mm)


def parts_of_page(paper: PaperPixels, body: Box) -> Iterator[PagePart]:
    """What is printed, in parts that fill this body at the size they have on paper, or its width if less."""
    printed = _printed(whole_page(paper))
    high = body.height * max(printed.width_mm / body.width, 1.0)
    count = max(ceil((printed.height_mm - AGAIN_MM) / (high - AGAIN_MM)), 1)
    for top in np.linspace(0.0, max(printed.height_mm - high, 0.0), count):
        yield _rows(printed, float(top), min(float(top) + high, printed.height_mm))


def _printed(page: PagePart) -> PagePart:
    """Without the margins."""
    dark = page.pixels.min(axis=2) < WHITE
    if not dark.any():
        return page
    px_per_mm = page.pixels.shape[1] / page.width_mm
    spare = round(AROUND_MM * px_per_mm)
    rows, columns = (np.flatnonzero(dark.any(axis=axis)) for axis in (1, 0))
    top, left = max(int(rows[0]) - spare, 0), max(int(columns[0]) - spare, 0)
    cut = page.pixels[top:int(rows[-1]) + spare + 1, left:int(columns[-1]) + spare + 1]
    return PagePart(cut, cut.shape[1] / px_per_mm, cut.shape[0] / px_per_mm)


def _rows(page: PagePart, top_mm: float, bottom_mm: float) -> PagePart:
    per_mm = page.pixels.shape[0] / page.height_mm
    cut = page.pixels[round(top_mm * per_mm):round(bottom_mm * per_mm)]
    return PagePart(cut, page.width_mm, cut.shape[0] / per_mm)


class PagePicture(Part):
    """A page or a part of it, as large as the box allows and never larger than on paper, edged."""

    def __init__(self, scene: Scene, box: Box, shown: PagePart) -> None:
        scale = min(box.width / shown.width_mm, box.height / shown.height_mm, 1.0)
        width, height = shown.width_mm * scale, shown.height_mm * scale
        placed = around(box.x, box.top - height / 2, width, height)
        super().__init__(scene, "page picture", placed)
        left, bottom, right, top = scene.pen.edges_px(placed)
        fitted = Image.fromarray(shown.pixels).resize((right - left, top - bottom), Image.Resampling.LANCZOS)
        scene.pen.pixels(self.canvas, placed, np.asarray(fitted)[::-1])
        scene.pen.outline(self.canvas, placed, 0.5, 0.25, "line")
