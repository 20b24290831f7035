"""The page before it is printed: its picture, its tag, facts to check, copy lines and their QR code. mm."""

from collections.abc import Sequence
from itertools import product
from typing import Any, Final

import numpy as np
from kivy.graphics import Color, Rectangle

from kiosk.screens.layout import Box, around
from kiosk.screens.parts import Part, Scene
from kiosk.screens.pen import texture_of_pixels
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.staff_text import Text
from kiosk.screens.theme import ACT, FIGURE, READ, STAFF_GAP_MM
from kiosk.wording.staff_parts import PageView

QR_MM: Final = 40.0
QR_SIDES_MM: Final = (80.0, 60.0, QR_MM)   # where no picture of the page stands beside it
QUIET_MODULES: Final = 4
A4: Final = 210.0 / 297.0


class PageScreen(StaffScreen):
    """Picture of the page at the leading edge, words beside it, the code at the trailing edge."""

    def __init__(self, scene: Scene, view: PageView, sheet: int) -> None:
        super().__init__(scene, view.head, view.controls, view.note)
        self.frame_parts()
        body, lead = self.body, scene.leading
        ratio = view.pixels[0] / view.pixels[1] if view.pixels else A4
        page = _beside(scene, body, 0.0, ratio * body.height) if view.pixels else None
        taken = page.width + 8.0 if page else 0.0
        if page and view.pixels:
            self.put(PagePicture(scene, page, view.pixels))
        side = self._put_words(view, taken, (QR_MM,) if page else QR_SIDES_MM)
        if view.qr_modules:
            left = body.right - side if lead < 0 else body.left
            self.put(QrCode(scene, Box(left, body.top - side, side, side), view.qr_modules))

    def _put_words(self, view: PageView, taken: float, sides: Sequence[float]) -> float:
        """Words beside the largest code they fit beside; the code's side.

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


class PagePicture(Part):
    """The page's own pixels, edged."""

    def __init__(self, scene: Scene, box: Box, pixels: tuple[int, int, bytes]) -> None:
        super().__init__(scene, "page picture", box)
        width, height, rgb = pixels
        rows = np.frombuffer(rgb, dtype=np.uint8).reshape(height, width, 3)[::-1]
        opaque = np.dstack([rows, np.full((height, width), 255, dtype=np.uint8)])
        draw_pixels(scene, self.canvas, box, opaque)
        scene.pen.outline(self.canvas, box, 0.5, 0.25, "line")


class QrCode(Part):
    """The matrix of a QR code with its quiet zone (ISO/IEC 18004: four modules), black on white."""

    def __init__(self, scene: Scene, box: Box, modules: tuple[tuple[bool, ...], ...]) -> None:
        super().__init__(scene, "qr code", box)
        side = len(modules) + 2 * QUIET_MODULES
        per_module = max(int(min(scene.glass.size_px(box.width, box.height)) / side), 1)
        bits = np.pad(np.array(modules, dtype=bool), QUIET_MODULES)[::-1]
        dark = np.kron(bits, np.ones((per_module, per_module), dtype=bool))
        grey = np.where(dark, 0, 255).astype(np.uint8)
        pixels = np.dstack([grey, grey, grey, np.full_like(grey, 255)])
        calibration = scene.glass.calibration
        shown = around(box.x, box.y, grey.shape[1] / calibration.px_per_mm_x,
                       grey.shape[0] / calibration.px_per_mm_y)
        draw_pixels(scene, self.canvas, shown, pixels, sharp=True)


def draw_pixels(scene: Scene, canvas: Any, box: Box, pixels: Any, *, sharp: bool = False) -> None:
    """RGBA pixels, rows from the bottom, spread over a box."""
    texture = texture_of_pixels(pixels)
    if sharp:
        texture.mag_filter = texture.min_filter = "nearest"
    left, bottom, right, top = scene.pen.edges_px(box)
    canvas.add(Color(1, 1, 1, 1))
    canvas.add(Rectangle(pos=(left, bottom), size=(right - left, top - bottom), texture=texture))


def _beside(scene: Scene, body: Box, after: float, width: float) -> Box:
    """A column that begins so far from the leading edge."""
    left = body.left + after if scene.leading < 0 else body.right - after - width
    return Box(left, body.bottom, width, body.height)
