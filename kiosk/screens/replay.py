"""Replay: the same trial of the first and of the latest visit side by side, played by the scene's clock.

The hand mark is drawn here and in the demonstration only, never while a person is being tested. Millimetres,
seconds; the hand is NaN where the finger was off the panel, and no mark is drawn there.
"""

from collections.abc import Hashable
from typing import Final

import numpy as np
from kivy.graphics import Color, InstructionGroup, Line, PopMatrix, PushMatrix, Rectangle, Translate
from numpy.typing import NDArray

from kiosk.figures.marks import Box, around
from kiosk.screens import alpha
from kiosk.screens.buttons import show
from kiosk.screens.parts import FIELD, Part, Scene
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.theme import HAND_CORE, HAND_RIM, HAND_RING, READ, rgb
from kiosk.wording.staff_parts import ReplayPath, ReplayView

LABEL_MM: Final = 8.0
Layer = tuple[str, Hashable, alpha.Distance, tuple[float, float]]   # colour role, key, shape, half size
MARK_MM: Final = (1.6, 2.6, 3.2)   # core, ring, rim
DISC_MM: Final = 12.0
PAUSE_S: Final = 1.0


class ReplayScreen(StaffScreen):
    """Two fields of one size; the trials to choose from at the foot."""

    def __init__(self, scene: Scene, view: ReplayView, sheet: int) -> None:
        super().__init__(scene, view.head, view.controls, view.note, tabs=view.trials)
        self.frame_parts()
        for path, box in zip(view.paths, _side_by_side(scene, self.body, len(view.paths)), strict=True):
            self.put(Replay(scene, path, box, self.since_s))


class Replay(Part):
    """One trial over time: its label, the disc, and where the hand was."""

    def __init__(self, scene: Scene, path: ReplayPath, box: Box, since_s: float) -> None:
        super().__init__(scene, "replay", box)
        self._path, self._since_s = path, since_s
        self._scale = min(box.width / FIELD.width, (box.height - LABEL_MM) / FIELD.height)
        self._centre = (box.x, box.bottom + (box.height - LABEL_MM) / 2)
        field = around(*self._centre, FIELD.width * self._scale, FIELD.height * self._scale)
        scene.painter.rounded(self.canvas, field, 8.0 * self._scale, "field")
        self._label(path.label, field)
        self._trace(path.disc_xy_mm)
        disc = alpha.disc(DISC_MM * self._scale)
        half = (DISC_MM * self._scale,) * 2
        self._disc = self._mover([("target", ("replay disc", self._scale), disc, half)])
        self._hand_shown = InstructionGroup()
        self._hand = self._mover(_mark(), self._hand_shown)
        self.tick(since_s)

    def tick(self, now_s: float) -> None:
        """Where disc and hand were so long after the start; after the end a pause, then once more."""
        t_s = self._path.t_s
        if not len(t_s):
            return
        along = (now_s - self._since_s) % (t_s[-1] - t_s[0] + PAUSE_S) + t_s[0]
        index = min(int(np.searchsorted(t_s, along)), len(t_s) - 1)
        self._disc.xy = self._px(self._path.disc_xy_mm[index])
        hand = self._path.hand_xy_mm[index]
        seen = bool(np.isfinite(hand).all())
        show(self.canvas, self._hand_shown, seen)
        if seen:
            self._hand.xy = self._px(hand)

    def _px(self, place: NDArray[np.float64]) -> tuple[float, float]:
        x, y = np.clip(place, (FIELD.left, FIELD.bottom), (FIELD.right, FIELD.top)) * self._scale
        return self.scene.panel.px(self._centre[0] + float(x), self._centre[1] + float(y))

    def _trace(self, xy_mm: NDArray[np.float64]) -> None:
        points = [length for place in xy_mm[::8] if np.isfinite(place).all() for length in self._px(place)]
        if len(points) >= 4:
            self.canvas.add(Color(*rgb(self.scene.painter.role("line")), 1.0))
            self.canvas.add(Line(points=points, width=1.2))

    def _label(self, text: str, field: Box) -> None:
        x, align = self.scene.line_start(field.left, field.right)
        self.say(text, READ, x, field.top + 2.5, "text", align)

    def _mover(self, layers: list[Layer], group: InstructionGroup | None = None) -> Translate:
        """Shapes about (0, 0) that one translation moves."""
        canvas, move = group or self.canvas, Translate(0.0, 0.0)
        canvas.add(PushMatrix())
        canvas.add(move)
        for role, key, shape, half in layers:
            texture = self.scene.painter.texture(key, half, shape)
            canvas.add(Color(*rgb(self.scene.painter.role(role)), 1.0))
            canvas.add(Rectangle(pos=(-texture.width / 2, -texture.height / 2), size=texture.size,
                                 texture=texture))
        canvas.add(PopMatrix())
        return move


def _mark() -> list[Layer]:
    """The hand mark: white rim, black ring, white core."""
    return [(role, ("hand mark", radius), alpha.disc(radius), (radius, radius))
            for role, radius in zip((HAND_RIM, HAND_RING, HAND_CORE), reversed(MARK_MM), strict=True)]


def _side_by_side(scene: Scene, room: Box, count: int) -> list[Box]:
    """Boxes in reading order: the first visit leads."""
    width = (room.width - 8.0 * max(count - 1, 0)) / max(count, 1)
    lefts = [room.left + number * (width + 8.0) for number in range(count)]
    return [Box(left, room.bottom, width, room.height) for left in lefts[::-scene.leading or 1]]
