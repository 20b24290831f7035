"""The ring of the finger check: 30 mm inside, so that a whole fingertip finds room. Seconds, mm."""

from collections.abc import Sequence
from math import hypot
from typing import Final

from kiosk.figures.marks import around
from kiosk.screens import alpha
from kiosk.screens.buttons import Button
from kiosk.screens.fade import ContactFade
from kiosk.screens.parts import Scene
from kiosk.screens.target import CLOSED_MM, OPEN_MM
from kiosk.visits.actions import CourseAction

FINGER_HOLD_S: Final = 0.5
INSIDE_MM: Final = 18.0


class FingerRing(Button):
    """The ring of the finger check: closes while a finger is in it, and has felt it after half a second."""

    def __init__(self, scene: Scene, x: float, y: float) -> None:
        super().__init__(scene, "finger ring", CourseAction.FINGER_FELT,
                         around(x, y, 36.0, 36.0), FINGER_HOLD_S)
        pen, half = scene.pen, (17.0, 17.0)
        arcs = alpha.arcs(*OPEN_MM, alpha.OPEN_ARC_DEG)
        self._open = pen.shape(self.canvas, x, y, half, ("arcs", alpha.OPEN_ARC_DEG), arcs, "target")
        self._closed = pen.ring(self.canvas, x, y, *CLOSED_MM, "contact")
        self._fade, self._inside, self._felt = ContactFade(), False, False
        self.tick(scene.now_s())

    def feel(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """Fingers as the source of the trials has them; from now on the window's touches do nothing here."""
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
