"""The target: disc, pip, and the ring that shows contact; and the ring of the finger check, drawn alike.

Millimetres from the disc's centre, y up. All pictures are made once. A frame moves one translation and sets
two opacities; nothing is allocated, and nothing is ever drawn at the touch point. Decision screens-4.
"""

from collections.abc import Sequence
from math import hypot
from typing import Final

import numpy as np
from kivy.graphics import Color, PopMatrix, PushMatrix, Rectangle, Translate
from kivy.graphics.texture import Texture

from kiosk.figures.marks import around
from kiosk.pursuit.running import Picture
from kiosk.screens import alpha
from kiosk.screens.buttons import Button
from kiosk.screens.fade import CLOSING_STEPS, ContactFade, closing_step
from kiosk.screens.painter import Painter, texture_of_pixels
from kiosk.screens.parts import FIELD, Part, Scene
from kiosk.screens.theme import rgb
from kiosk.visits.actions import CourseAction

DISC_MM: Final = 12.0
PIP_MM: Final = 2.0
CLEAR_MM: Final = 19.5
OPEN_MM: Final = (15.0, 17.0)
CLOSED_MM: Final = (14.0, 18.0)
_CLOSING_BY_DEG: Final = (alpha.ARC_PITCH_DEG - alpha.OPEN_ARC_DEG) / CLOSING_STEPS
FINGER_HOLD_S: Final = 0.5
INSIDE_MM: Final = 18.0


class Target(Part):
    """The moving target in its field."""

    def __init__(self, scene: Scene) -> None:
        super().__init__(scene, "target", FIELD)
        painter = scene.painter
        self._fade = ContactFade()
        self._rests = tuple(_arcs(painter, step) for step in range(CLOSING_STEPS + 1))
        self._step = 0
        self._move = Translate(0.0, 0.0)
        self.canvas.add(PushMatrix())
        self.canvas.add(self._move)
        self.canvas.add(Color(1, 1, 1, 1))
        self.canvas.add(_centred(_disc_texture(painter)))
        self._open_ink = painter.colour(self.canvas, "target")
        self._open = _centred(self._rests[0])
        self.canvas.add(self._open)
        self._closed_ink = painter.colour(self.canvas, "contact", 0.0)
        closed = painter.texture(("closed ring",), (CLOSED_MM[1],) * 2, alpha.ring(*CLOSED_MM))
        self._closed = _centred(closed)
        self.canvas.add(self._closed)
        self.canvas.add(PopMatrix())
        self._level = -1.0
        self._set_level(0.0)

    def show(self, picture: Picture, now_s: float) -> None:
        self._move.xy = self.scene.panel.px(picture.x_mm, picture.y_mm)
        resting = picture.phase in ("waiting", "resting")
        level = self._fade.level(picture.on and not resting, now_s)
        if resting:
            self._show_rest(closing_step(picture.closing))
        elif level == 1.0 or not picture.on:
            self._show_rest(0)
        if level != self._level:
            self._set_level(level)

    def _set_level(self, level: float) -> None:
        """Both rings at their opacity; one that cannot be seen has no size, so that it is not painted."""
        self._level = level
        rings = ((self._open, self._open_ink, 1.0 - level), (self._closed, self._closed_ink, level))
        for ring, ink, opacity in rings:
            ink.a = opacity
            ring.size = ring.texture.size if opacity else (0, 0)

    def _show_rest(self, step: int) -> None:
        if step != self._step:
            self._step, self._open.texture = step, self._rests[step]


def _centred(texture: Texture) -> Rectangle:
    return Rectangle(pos=(-texture.width / 2, -texture.height / 2), size=texture.size, texture=texture)


def _arcs(painter: Painter, step: int) -> Texture:
    shape = alpha.arcs(*OPEN_MM, alpha.OPEN_ARC_DEG + step * _CLOSING_BY_DEG)
    return painter.texture(("arcs", step), (OPEN_MM[1],) * 2, shape)


def _disc_texture(painter: Painter) -> Texture:
    """The disc and pip on a round of field, which hides the path to 19.5 mm from the centre."""
    calibration = painter.panel.calibration
    half = (CLEAR_MM, CLEAR_MM)
    clear = alpha.picture(calibration, *half, alpha.disc(CLEAR_MM))
    colour = np.broadcast_to(rgb(painter.role("field")), (*clear.shape, 3))
    for radius_mm, role in ((DISC_MM, "target"), (PIP_MM, "pip")):
        cover = alpha.picture(calibration, *half, alpha.disc(radius_mm))[..., np.newaxis]
        colour = colour * (1 - cover) + np.array(rgb(painter.role(role))) * cover
    pixels = np.rint(np.dstack([colour, clear]) * 255).astype(np.uint8)
    return texture_of_pixels(pixels)


class FingerRing(Button):
    """The ring of the finger check: closes while a finger is in it, and has felt it after half a second."""

    def __init__(self, scene: Scene, x: float, y: float) -> None:
        super().__init__(scene, "finger ring", CourseAction.FINGER_FELT,
                         around(x, y, 36.0, 36.0), FINGER_HOLD_S)
        painter, half = scene.painter, (17.0, 17.0)
        arcs = alpha.arcs(*OPEN_MM, alpha.OPEN_ARC_DEG)
        self._open = painter.shape(self.canvas, x, y, half, ("arcs", alpha.OPEN_ARC_DEG), arcs, "target")
        self._closed = painter.ring(self.canvas, x, y, *CLOSED_MM, "contact")
        self._fade, self._inside, self._felt = ContactFade(), False, False
        self.tick(scene.now_s())

    def feel(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """Take fingers from the source that records trials; from now on the window's touches do nothing."""
        self.available = False
        felt = any(hypot(x - self.box.x, y - self.box.y) <= INSIDE_MM for x, y in places_mm)
        if felt != self._felt:
            self._felt, self._since_s = felt, self.scene.now_s() if felt else None
            self.show_pressed(felt)

    def show_pressed(self, pressed: bool) -> None:
        """One closed ring while a finger is in it, else six open arcs; as in a trial it may not flash."""
        self._inside = pressed

    def tick(self, now_s: float) -> None:
        """The rings fade into each other."""
        super().tick(now_s)
        level = self._fade.level(self._inside, now_s)
        self._open.a, self._closed.a = 1.0 - level, level
