"""A neutral pointing hand, life size, for the demonstration and for "this hand". Millimetres, y up.

Drawn for a right hand with the fingertip's pad at the origin; a left hand is its mirror image.
"""

from typing import Final

import numpy as np
from kivy.graphics import Canvas, Color, Rectangle
from kivy.graphics.texture import Texture

from kiosk.screens import alpha
from kiosk.screens.painter import Painter, texture_of_pixels
from kiosk.screens.theme import rgb

EDGE_MM: Final = 0.9
# Half size of the whole picture and its middle on a right hand: wherever the fingertip is on the circle, the
# forearm leaves the field.
HALF_MM: Final = (48.0, 58.5)
MIDDLE_MM: Final = (38.5, -49.0)
_CREASES: Final = (
    ((19.9, -27.9), (28.4, -46.8)), ((33.0, -26.2), (40.0, -41.7)), ((45.1, -25.3), (50.7, -38.8)),
    ((19.0, -58.1), (25.3, -71.2)),
)


def outline() -> alpha.Distance:
    """Index finger 13.8 mm wide, three bent fingers, thumb, back of the hand, forearm."""
    return alpha.union(
        alpha.capsule((0.3, -1.3), (22.0, -50.0), 6.9),
        alpha.capsule((27.0, -28.4), (36.0, -50.0), 6.6),
        alpha.capsule((39.1, -26.5), (47.0, -48.0), 6.4),
        alpha.capsule((50.6, -25.6), (55.0, -40.0), 5.5),
        alpha.capsule((8.6, -48.9), (26.5, -70.5), 6.1),
        alpha.capsule((24.0, -50.0), (34.0, -70.0), 11.0),
        alpha.capsule((45.0, -46.0), (49.5, -62.0), 15.0),
        alpha.capsule((36.0, -55.0), (44.0, -70.0), 13.0),
        alpha.capsule((47.0, -66.0), (120.0, -229.0), 16.5),
    )


def creases() -> alpha.Distance:
    """The lines between the fingers, and the edge of the nail."""
    nail = alpha.capsule((0.0, 0.4), (1.9, -3.9), 4.2)
    edge = alpha.without(nail, alpha.grown(nail, -EDGE_MM / 2))
    return alpha.union(edge, *(alpha.capsule(start, end, EDGE_MM / 2) for start, end in _CREASES))


def hand_picture(painter: Painter, side: str, scale: float = 1.0, paper: str = "field",
                 half_mm: tuple[float, float] = HALF_MM,
                 middle_mm: tuple[float, float] = MIDDLE_MM) -> Texture:
    """RGBA texture of the hand about a place on it: in the text's colour, edged with the paper's."""
    shapes = [alpha.grown(outline(), EDGE_MM), outline(), creases()]
    shapes = [alpha.scaled(alpha.moved(shape, -middle_mm[0], -middle_mm[1]), scale) for shape in shapes]
    if side == "left":
        shapes = [alpha.mirrored(shape) for shape in shapes]
    covers = [alpha.picture(painter.panel.calibration, *half_mm, shape) for shape in shapes]
    colour = np.broadcast_to(rgb(painter.role(paper)), (*covers[0].shape, 3))
    for layer, role in ((covers[1], "text"), (covers[2], paper)):
        cover = layer[..., np.newaxis]
        colour = colour * (1 - cover) + np.array(rgb(painter.role(role))) * cover
    return texture_of_pixels(np.rint(np.dstack([colour, covers[0]]) * 255).astype(np.uint8))


def add_hand(canvas: Canvas, texture: Texture) -> None:
    """The hand, its picture's middle at (0, 0) of the matrix in force."""
    canvas.add(Color(1, 1, 1, 1))
    canvas.add(Rectangle(pos=(-texture.width / 2, -texture.height / 2), size=texture.size, texture=texture))


def chevron(turn_rad: float) -> alpha.Distance:
    """One open arrow head pointing along turn_rad, 6 mm high."""
    cos, sin = np.cos(turn_rad), np.sin(turn_rad)

    def turned(x: float, y: float) -> tuple[float, float]:
        return float(x * cos - y * sin), float(x * sin + y * cos)

    tip = turned(1.6, 0.0)
    ends = (turned(-1.9, 2.8), turned(-1.9, -2.8))
    return alpha.union(*(alpha.capsule(tip, end, 0.6) for end in ends))
