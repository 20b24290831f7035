"""The target: disc, pip, and the ring that tells contact. Millimetres from the disc's centre, y up.

All pictures are made once. A frame moves one translation and sets two opacities; nothing is allocated, and
nothing is ever drawn at the touch point. Decision screens-4.
"""

from typing import Any, Final

import numpy as np
from kivy.graphics import Color, PopMatrix, PushMatrix, Rectangle, Translate

from kiosk.pursuit.running import Picture
from kiosk.screens import alpha
from kiosk.screens.fade import CLOSING_STEPS, ContactFade, closing_step
from kiosk.screens.parts import FIELD, Part, Scene
from kiosk.screens.pen import Pen, texture_of_pixels
from kiosk.screens.theme import rgb

DISC_MM: Final = 12.0
PIP_MM: Final = 2.0
CLEAR_MM: Final = 19.5
OPEN_MM: Final = (15.0, 17.0)
CLOSED_MM: Final = (14.0, 18.0)
_CLOSING_BY_DEG: Final = (alpha.ARC_PITCH_DEG - alpha.OPEN_ARC_DEG) / CLOSING_STEPS


class Target(Part):
    """The moving target in its field."""

    def __init__(self, scene: Scene) -> None:
        super().__init__(scene, "target", FIELD)
        pen = scene.pen
        self._fade = ContactFade()
        self._rests = tuple(_arcs(pen, step) for step in range(CLOSING_STEPS + 1))
        self._step = 0
        self._move = Translate(0.0, 0.0)
        self.canvas.add(PushMatrix())
        self.canvas.add(self._move)
        self.canvas.add(Color(1, 1, 1, 1))
        self.canvas.add(_centred(_disc_texture(pen)))
        self._open_ink = pen.colour(self.canvas, "target")
        self._open = _centred(self._rests[0])
        self.canvas.add(self._open)
        self._closed_ink = pen.colour(self.canvas, "contact", 0.0)
        self._closed = _centred(pen.texture(("closed ring",), (CLOSED_MM[1],) * 2, alpha.ring(*CLOSED_MM)))
        self.canvas.add(self._closed)
        self.canvas.add(PopMatrix())
        self._level = -1.0
        self._set_level(0.0)

    def show(self, picture: Picture, now_s: float) -> None:
        """The picture at now_s."""
        self._move.xy = self.scene.glass.px(picture.x_mm, picture.y_mm)
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


def _centred(texture: Any) -> Any:
    return Rectangle(pos=(-texture.width / 2, -texture.height / 2), size=texture.size, texture=texture)


def _arcs(pen: Pen, step: int) -> Any:
    shape = alpha.arcs(*OPEN_MM, alpha.OPEN_ARC_DEG + step * _CLOSING_BY_DEG)
    return pen.texture(("arcs", step), (OPEN_MM[1],) * 2, shape)


def _disc_texture(pen: Pen) -> Any:
    """The disc and pip on a round of field, which hides the path to 19.5 mm from the centre."""
    calibration = pen.glass.calibration
    half = (CLEAR_MM, CLEAR_MM)
    clear = alpha.picture(calibration, *half, alpha.disc(CLEAR_MM))
    colour = np.broadcast_to(rgb(pen.role("field")), (*clear.shape, 3))
    for radius_mm, role in ((DISC_MM, "target"), (PIP_MM, "pip")):
        cover = alpha.picture(calibration, *half, alpha.disc(radius_mm))[..., np.newaxis]
        colour = colour * (1 - cover) + np.array(rgb(pen.role(role))) * cover
    pixels = np.rint(np.dstack([colour, clear]) * 255).astype(np.uint8)
    return texture_of_pixels(pixels)
