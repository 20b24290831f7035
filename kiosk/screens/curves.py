"""Curves as alpha pictures: drawn by Pillow at three times the size and averaged. Millimetres, y up.

A row of NaN breaks a line. Points outside the box are cut off at its edge.
"""

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from kivy.graphics import Rectangle
from PIL import Image, ImageDraw

from kiosk.figures.marks import Box, Points, unbroken
from kiosk.screens.pen import Pen, texture_of

FINER: Final = 3


def stroke(pen: Pen, canvas: Any, box: Box, points: Points, width_mm: float, role: str) -> None:
    """A line through points (n, 2), mm about the box's lower left corner."""
    pixels = _to_px(pen, box, points)
    image = Image.new("L", _size(pen, box))
    draw = ImageDraw.Draw(image)
    thick = max(round(width_mm * pen.glass.calibration.px_per_mm_x * FINER), FINER)
    for run in _runs(pixels):
        draw.line([tuple(place) for place in run], fill=255, width=thick, joint="curve")
    _add(pen, canvas, box, image, role)


def under(pen: Pen, canvas: Any, box: Box, points: Points, floor_mm: float, role: str,
          opacity: float = 1.0) -> None:
    """The area between a curve and a level below it."""
    image = Image.new("L", _size(pen, box))
    draw = ImageDraw.Draw(image)
    for run in _runs(points):
        ends = np.array([[run[-1, 0], floor_mm], [run[0, 0], floor_mm]])
        shape = _to_px(pen, box, np.vstack([run, ends]))
        draw.polygon([tuple(place) for place in shape], fill=255)
    _add(pen, canvas, box, image, role, opacity)


def _to_px(pen: Pen, box: Box, points: Points) -> Points:
    """Pixels of the finer picture, rows from the top."""
    calibration = pen.glass.calibration
    scale = np.array([calibration.px_per_mm_x, calibration.px_per_mm_y]) * FINER
    placed: Points = np.clip(points, (0.0, 0.0), (box.width, box.height)) * scale
    placed[:, 1] = _size(pen, box)[1] - placed[:, 1]
    return placed


def _size(pen: Pen, box: Box) -> tuple[int, int]:
    width, height = pen.glass.size_px(box.width, box.height)
    return max(round(width), 1) * FINER, max(round(height), 1) * FINER


def _runs(points: Points) -> Iterator[Points]:
    """Runs of two points and more without NaN."""
    return (run for run in unbroken(points) if len(run) > 1)


def _add(pen: Pen, canvas: Any, box: Box, image: Image.Image, role: str, opacity: float = 1.0) -> None:
    size = image.width // FINER, image.height // FINER
    cover = np.asarray(image.resize(size, Image.Resampling.BOX), dtype=np.float64)[::-1] / 255
    pen.colour(canvas, role, opacity)
    left, bottom, _, _ = pen.edges_px(box)
    canvas.add(Rectangle(pos=(left, bottom), size=size, texture=texture_of(cover)))
