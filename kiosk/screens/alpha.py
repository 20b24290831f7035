"""Shapes as alpha pictures at the calibrated size, smooth without multisampling. Millimetres, y up.

A shape is a signed distance in mm (below 0 inside); alpha is 1 inside, 0 outside, and half on the edge.
Arrays are float64 of shape (rows, columns), row 0 at the bottom.
"""

from collections.abc import Callable
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kiosk.touch.calibration import Calibration

Floats = NDArray[np.float64]
Distance = Callable[[Floats, Floats], Floats]

OPEN_ARC_DEG: Final = 40.0
ARC_PITCH_DEG: Final = 60.0


def picture(calibration: Calibration, half_width_mm: float, half_height_mm: float, shape: Distance) -> Floats:
    """Alpha of a shape about the origin, an even number of pixels each way, one pixel of air around it."""
    columns = _pixels(half_width_mm * calibration.px_per_mm_x)
    rows = _pixels(half_height_mm * calibration.px_per_mm_y)
    x_mm = (np.arange(-columns, columns) + 0.5) / calibration.px_per_mm_x
    y_mm = (np.arange(-rows, rows) + 0.5) / calibration.px_per_mm_y
    distance_mm = shape(*np.meshgrid(x_mm, y_mm))
    per_mm = np.sqrt(calibration.px_per_mm_x * calibration.px_per_mm_y)
    cover: Floats = np.clip(0.5 - distance_mm * per_mm, 0.0, 1.0)
    return cover


def disc(radius_mm: float) -> Distance:
    """A filled circle."""
    return lambda x, y: np.hypot(x, y) - radius_mm


def ring(inner_mm: float, outer_mm: float) -> Distance:
    middle, half = (inner_mm + outer_mm) / 2, (outer_mm - inner_mm) / 2
    return lambda x, y: np.abs(np.hypot(x, y) - middle) - half


def arcs(inner_mm: float, outer_mm: float, arc_deg: float) -> Distance:
    """Six arcs with round ends, a gap at the top; ends lie within arc_deg, at 60 they meet."""
    if arc_deg >= ARC_PITCH_DEG:
        return ring(inner_mm, outer_mm)
    middle, half = (inner_mm + outer_mm) / 2, (outer_mm - inner_mm) / 2
    reach_rad = np.radians(arc_deg) / 2 - half / middle

    def distance(x: Floats, y: Floats) -> Floats:
        pitch = np.radians(ARC_PITCH_DEG)
        from_arc = (np.arctan2(x, y) % pitch) - pitch / 2
        beyond = np.maximum(np.abs(from_arc) - reach_rad, 0.0)
        radius = np.hypot(x, y)
        along, away = radius * np.sin(beyond), radius * np.cos(beyond) - middle
        from_line: Floats = np.hypot(along, away) - half
        return from_line

    return distance


def rounded(half_width_mm: float, half_height_mm: float, radius_mm: float) -> Distance:
    """A rectangle with round corners."""

    def distance(x: Floats, y: Floats) -> Floats:
        across = np.abs(x) - (half_width_mm - radius_mm)
        up = np.abs(y) - (half_height_mm - radius_mm)
        outside = np.hypot(np.maximum(across, 0.0), np.maximum(up, 0.0))
        return outside + np.minimum(np.maximum(across, up), 0.0) - radius_mm

    return distance


def capsule(start: tuple[float, float], end: tuple[float, float], radius_mm: float) -> Distance:
    """A line from start to end with round ends; thicker by the radius."""
    (ax, ay), (bx, by) = start, end
    length2 = (bx - ax) ** 2 + (by - ay) ** 2

    def distance(x: Floats, y: Floats) -> Floats:
        along = np.clip(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length2, 0.0, 1.0)
        return np.hypot(x - ax - along * (bx - ax), y - ay - along * (by - ay)) - radius_mm

    return distance


def triangle(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> Distance:
    """A triangle, corners counter-clockwise."""

    def side(p: tuple[float, float], q: tuple[float, float], x: Floats, y: Floats) -> Floats:
        dx, dy = q[0] - p[0], q[1] - p[1]
        return ((x - p[0]) * dy - (y - p[1]) * dx) / float(np.hypot(dx, dy))

    return lambda x, y: np.maximum(np.maximum(side(a, b, x, y), side(b, c, x, y)), side(c, a, x, y))


def hatch(half_width: float, half_height: float, width: float, pitch: float) -> Distance:
    """Lines at 45 degrees within a rectangle; the pitch is from line to line along an edge."""

    def distance(x: Floats, y: Floats) -> Floats:
        apart = pitch / 2**0.5
        across = ((x - y) / 2**0.5) % apart
        return np.maximum(abs(across - apart / 2) - width / 2, rounded(half_width, half_height, 0.0)(x, y))

    return distance


def union(*shapes: Distance) -> Distance:
    """The union of several shapes."""
    return lambda x, y: np.minimum.reduce([shape(x, y) for shape in shapes])


def without(shape: Distance, *taken: Distance) -> Distance:
    """A shape with others taken out."""
    return lambda x, y: np.maximum(shape(x, y), -union(*taken)(x, y))


def scaled(shape: Distance, factor: float) -> Distance:
    """A shape of another size about the origin."""
    return lambda x, y: shape(x / factor, y / factor) * factor


def moved(shape: Distance, x_mm: float, y_mm: float) -> Distance:
    """A shape with its origin at (x, y)."""
    return lambda x, y: shape(x - x_mm, y - y_mm)


def mirrored(shape: Distance) -> Distance:
    """A shape with left and right exchanged."""
    return lambda x, y: shape(-x, y)


def grown(shape: Distance, by_mm: float) -> Distance:
    """A shape with a margin all around."""
    return lambda x, y: shape(x, y) - by_mm


def _pixels(half_length_px: float) -> int:
    return ceil(half_length_px - 1e-6) + 1
