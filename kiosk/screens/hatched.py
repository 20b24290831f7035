"""A caution's edge: hatched, of no hue. Millimetres."""

from typing import Any, Final

import numpy as np

from kiosk.screens import alpha
from kiosk.screens.layout import Box
from kiosk.screens.parts import Part, Scene

HATCHED_MM: Final = 2.4


class Hatched(Part):
    """The edge as a part of its own."""

    def __init__(self, scene: Scene, box: Box) -> None:
        super().__init__(scene, "caution edge", box)
        self.draw(scene, self.canvas, box)

    @staticmethod
    def draw(scene: Scene, canvas: Any, box: Box, role: str = "text") -> None:
        """The edge within another part."""
        half = (box.width / 2, box.height / 2)
        scene.pen.shape(canvas, box.x, box.y, half, ("hatch", *half), hatch(*half), role)


def hatch(half_width: float, half_height: float) -> alpha.Distance:
    """Lines at 45 degrees, 0.6 thick, pitch 1.8, within a rectangle."""

    def distance(x: alpha.Floats, y: alpha.Floats) -> alpha.Floats:
        across = ((x - y) / 2**0.5) % 1.8
        line = abs(across - 0.9) - 0.3
        inside = alpha.rounded(half_width, half_height, 0.0)(x, y)
        return np.maximum(line, inside)

    return distance
