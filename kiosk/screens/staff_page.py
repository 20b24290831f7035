"""The page before it is printed: its picture, its tag, facts to check, copy lines and their QR code. mm.

The picture shows the page whole, or as large as on paper in parts from its top to its foot. Decision page-6.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from kiosk.figures.marks import Box, around
from kiosk.screens.parts import Part, Scene
from kiosk.screens.screen import OwnAction, Screen
from kiosk.screens.staff_blocks import Block
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.staff_text import Text
from kiosk.screens.theme import ACT, FIGURE, READ, STAFF_GAP_MM
from kiosk.wording.page_parts import PaperPixels
from kiosk.wording.results_words import more_word
from kiosk.wording.staff_parts import Control, PageView

AGAIN_MM: Final = 5.0      # of one part's foot stands at the head of the next, so that no line is cut in both
AROUND_MM: Final = 2.0     # left white about what is printed
WHITE: Final = 250
Pixels = NDArray[np.uint8]
QR_MM: Final = 40.0
QR_SIDES_MM: Final = (80.0, 60.0, QR_MM)   # where no picture of the page stands beside it
QUIET_MODULES: Final = 4


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
    """The printed area of the page, without its margins."""
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
        left, bottom, right, top = scene.painter.edges_px(placed)
        fitted = Image.fromarray(shown.pixels).resize((right - left, top - bottom), Image.Resampling.LANCZOS)
        scene.painter.pixels(self.canvas, placed, np.asarray(fitted)[::-1])
        scene.painter.outline(self.canvas, placed, 0.5, 0.25, "line")


class PageScreen(StaffScreen):
    """Picture of the page at the leading edge, words beside it, the code at the trailing edge.

    Where there is a picture, further sheets show the page to be read, with the main control alone.
    """

    def __init__(self, scene: Scene, view: PageView, sheet: int) -> None:
        turn = Control(OwnAction.MORE_SHEETS, more_word(scene.language), "quiet")
        more = () if view.pixels is None else (turn,)
        super().__init__(scene, view.head, (*more, *view.controls), view.note, sheet=sheet)
        self._view, self._all = view, self._controls
        self._reading = (*more, *(one for one in view.controls if one.weight == "main"))
        overview = Block(self._turned_to(0).height, self._put_overview)
        body = self._turned_to(1)
        parts = () if view.pixels is None else parts_of_page(view.pixels, body)
        self._sheets = [[overview], *([Block(body.height, _picture(scene, part))] for part in parts)]
        self._put_sheet()

    def _put_sheet(self) -> None:
        self.body = self._turned_to(self.sheet)
        super()._put_sheet()

    def _turned_to(self, sheet: int) -> Box:
        """What the controls of this sheet leave; those that read on need no note."""
        self._controls, self._note = (self._reading, "") if sheet else (self._all, self._view.note)
        return self._lay_out(self._controls)

    def _put_overview(self, _: Screen, body: Box) -> None:
        view, scene, taken = self._view, self.scene, 0.0
        if view.pixels is not None:
            page = whole_page(view.pixels)
            width = page.width_mm / page.height_mm * body.height
            self.put(PagePicture(scene, _beside(scene, body, 0.0, width), page))
            taken = width + 8.0
        side = self._put_words(view, taken, (QR_MM,) if taken else QR_SIDES_MM)
        if view.qr_modules:
            left = body.right - side if scene.leading < 0 else body.left
            self.put(QrCode(scene, Box(left, body.top - side, side, side), view.qr_modules))

    def _put_words(self, view: PageView, taken: float, sides: Sequence[float]) -> float:
        """Draw the words beside the largest code they leave room for; return the side of the code.

        Where they fit beside none, the copy lines are left to the screen that is theirs, which does then
        without the tag above them: they say it.
        """
        body, scene = self.body, self.scene
        for copied, headed, one in product((True, not view.lines), (True, bool(view.lines)), sides):
            side = min(body.height, one)
            qr = side + 8.0 if view.qr_modules else 0.0
            text = _facts(scene, view, _beside(scene, body, taken, body.width - taken - qr), copied, headed)
            if text.bottom >= body.bottom:
                break
        self.put(text)
        return side


def _picture(scene: Scene, part: PagePart) -> Callable[[Screen, Box], None]:
    def put(screen: Screen, box: Box) -> None:
        screen.put(PagePicture(scene, box, part))

    return put


def _facts(scene: Scene, view: PageView, box: Box, copied: bool, headed: bool) -> Text:
    text = Text(scene, "page facts", box)
    if headed:
        text.paragraph(view.tag, ACT if copied else FIGURE, "accent", after=1.0 if copied else 3.0)
    for line in view.lines:
        text.paragraph(line, READ, "text", after=0.5)
    text.bottom -= STAFF_GAP_MM if headed else 0.0
    for line in view.copy_lines if copied else ():
        text.paragraph(line, READ, "quiet", after=0.5)
    return text


class QrCode(Part):
    """The matrix of a QR code with its quiet zone (ISO/IEC 18004: four modules), black on white."""

    def __init__(self, scene: Scene, box: Box, modules: tuple[tuple[bool, ...], ...]) -> None:
        super().__init__(scene, "qr code", box)
        side = len(modules) + 2 * QUIET_MODULES
        per_module = max(int(min(scene.panel.size_px(box.width, box.height)) / side), 1)
        bits = np.pad(np.array(modules, dtype=bool), QUIET_MODULES)[::-1]
        dark = np.kron(bits, np.ones((per_module, per_module), dtype=bool))
        grey = np.where(dark, 0, 255).astype(np.uint8)
        calibration = scene.panel.calibration
        shown = around(box.x, box.y, grey.shape[1] / calibration.px_per_mm_x,
                       grey.shape[0] / calibration.px_per_mm_y)
        scene.painter.pixels(self.canvas, shown, np.dstack([grey, grey, grey]), sharp=True)


def _beside(scene: Scene, body: Box, after: float, width: float) -> Box:
    """A column that begins so far from the leading edge."""
    left = body.left + after if scene.leading < 0 else body.right - after - width
    return Box(left, body.bottom, width, body.height)
