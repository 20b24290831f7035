"""Small pictures, one a trial, in order of testing: the paths, and the distance from the disc over time. mm.

Trials stand from the leading edge on; neither field nor time axis is ever mirrored.
"""

from collections.abc import Sequence
from math import ceil
from typing import Final

import numpy as np

from kiosk.screens.curves import Points, stroke, under
from kiosk.screens.layout import Box, around
from kiosk.screens.parts import Part, Scene
from kiosk.screens.staff_text import lines_mm
from kiosk.screens.theme import READ, RULE_MM
from kiosk.wording.page_parts import PathFigure
from kiosk.wording.staff_parts import ReplayPath

LABEL_MM: Final = 7.0
GAP_MM: Final = 3.0
PATH_SPAN: Final = around(0.0, 0.0, 112.0, 112.0)   # both paths' reach and a little more, square
MOST_MM: Final = 40.0      # distances are drawn to here
DISC_MM: Final = 12.0
TARGET_LINE_MM: Final = 0.7
HAND_LINE_MM: Final = 0.5


class PathTile(Part):
    """The disc's path and the hand's over it."""

    def __init__(self, scene: Scene, figure: PathFigure, box: Box) -> None:
        super().__init__(scene, "path tile", box)
        high = box.height - label_high(self, figure.label)
        side = min(box.width, high)
        square = around(box.x, box.bottom + high / 2, side, side)
        scale = side / PATH_SPAN.width
        for points, width, role in ((figure.target_xy_mm, TARGET_LINE_MM, "line"),
                                    (figure.hand_xy_mm, HAND_LINE_MM, "accent")):
            stroke(scene.pen, self.canvas, square, points * scale + side / 2, width, role)


class ErrorTile(Part):
    """Distance from the disc over the window; shaded where off the disc or off the glass."""

    def __init__(self, scene: Scene, trial: ReplayPath, box: Box) -> None:
        super().__init__(scene, "error tile", box)
        high = box.height - label_high(self, trial.label)
        pen, plot = scene.pen, Box(box.left, box.bottom, box.width, high)
        pen.box(self.canvas, plot, "surface")
        distance = np.hypot(*(trial.hand_xy_mm - trial.disc_xy_mm).T)
        curve = _curve(trial.t_s, distance, plot)
        off = np.where(np.isfinite(distance) & (distance <= DISC_MM), np.nan, MOST_MM)
        shaded = _curve(trial.t_s, off, plot)
        under(pen, self.canvas, plot, shaded, 0.0, "quiet", 0.25)
        level = plot.bottom + DISC_MM / MOST_MM * plot.height
        pen.box(self.canvas, Box(plot.left, level, plot.width, RULE_MM), "line")
        pen.box(self.canvas, Box(plot.left, plot.bottom, plot.width, RULE_MM), "line")
        stroke(pen, self.canvas, plot, curve, HAND_LINE_MM, "accent")


def tiles(room: Box, count: int, wide: float, least_high: float) -> list[Box]:
    """Boxes of one size for so many trials, in as few rows as keep them at least so wide."""
    across = max(min(count, int((room.width + GAP_MM) // (wide + GAP_MM))), 1)
    rows = ceil(count / across)
    across = ceil(count / rows) if rows else 1
    width = (room.width - GAP_MM * (across - 1)) / across
    height = max((room.height - GAP_MM * (rows - 1)) / max(rows, 1), least_high)
    return [Box(room.left + (number % across) * (width + GAP_MM),
                room.top - (number // across) * (height + GAP_MM) - height, width, height)
            for number in range(count)]


def most_tiles(width: float, high: float, wide: float, least_high: float) -> int:
    """How many tiles of at least this size one sheet holds; at least one row of them."""
    across = max(int((width + GAP_MM) // (wide + GAP_MM)), 1)
    return across * max(int((high + GAP_MM + 1e-6) // (least_high + GAP_MM)), 1)


def mirrored(scene: Scene, room: Box, boxes: Sequence[Box]) -> list[Box]:
    """The boxes from the leading edge on."""
    if scene.leading < 0:
        return list(boxes)
    return [Box(room.left + room.right - box.right, box.bottom, box.width, box.height) for box in boxes]


def _curve(t_s: Points, values: Points, plot: Box) -> Points:
    span = max(float(t_s[-1] - t_s[0]), 1e-9)
    x, y = (t_s - t_s[0]) / span * plot.width, np.minimum(values, MOST_MM) / MOST_MM * plot.height
    return np.column_stack([x, y])


def label_high(part: Part, text: str) -> float:
    """Puts the label above a tile; the height it takes."""
    lead = part.scene.leading
    x, align = (part.box.left, "left") if lead < 0 else (part.box.right, "right")
    baseline = part.box.top - 5.0
    lines = part.scene.pen.letters.lines(text, READ, part.box.width)
    for line in lines:
        part.say(line, READ, x, baseline, "quiet", align)
        baseline -= lines_mm(part.scene)
    return LABEL_MM + lines_mm(part.scene) * (len(lines) - 1)
