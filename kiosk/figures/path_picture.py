"""The paths of one trial: the disc's in grey, the hand's in dark over it, all trials at one scale.

PAPER and SCREEN hold the sizes in millimetres.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.figures.marks import Curve, Point, Points, around
from kiosk.wording.page_parts import PathFigure

REACH_MM: Final = 56.0  # a hand further from the field's centre than this is drawn at the edge


@dataclass(frozen=True)
class PathSizes:
    """How many millimetres of the field one side of the picture shows, and the two lines' widths, mm."""

    span: float
    disc_line: float
    hand_line: float


PAPER: Final = PathSizes(100.0, 0.45, 0.3)
SCREEN: Final = PathSizes(112.0, 0.7, 0.5)


def path_picture(figure: PathFigure, centre: Point, side: float, sizes: PathSizes) -> tuple[Curve, Curve]:
    """Both paths about a centre, in a square with this side; NaN where the finger was off the screen."""
    per_mm, across = side / sizes.span, side * (2 * REACH_MM / sizes.span)
    box = around(*centre, across, across)

    def placed(xy_mm: Points) -> Points:
        return np.asarray(np.clip(xy_mm * per_mm + across / 2, 0.0, across))

    return (Curve(placed(figure.target_xy_mm), box, sizes.disc_line, "line"),
            Curve(placed(figure.hand_xy_mm), box, sizes.hand_line, "accent"))
