"""Where the disc is. One function draws it and scores against it.

Millimetres, y up, origin at the field's centre; t_s is seconds since the disc set off (negative: at rest).
Path time s runs in smoothly over the run-in (smoothstep speed, covers half of it) and evenly after.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Circle:
    """A circle about the field's centre; direction +1 is counter-clockwise on the glass."""

    radius_mm: float
    period_s: float
    direction: int
    start_rad: float

    def at(self, s: Floats) -> tuple[Floats, Floats]:
        """Position in mm at path time s (seconds)."""
        angle = self.start_rad + self.direction * 2 * np.pi * s / self.period_s
        return self.radius_mm * np.cos(angle), self.radius_mm * np.sin(angle)


@dataclass(frozen=True)
class Line:
    """One cosine of a wander path: a cos(2 pi k s / period + p), mm and radians."""

    multiple: int
    amplitude_mm: float
    phase_rad: float


@dataclass(frozen=True)
class Wander:
    """A sum of cosines on each axis, all multiples of one base frequency."""

    name: str
    period_s: float
    x: tuple[Line, ...]
    y: tuple[Line, ...]

    def at(self, s: Floats) -> tuple[Floats, Floats]:
        """Position in mm at path time s (seconds)."""
        return self._axis(self.x, s), self._axis(self.y, s)

    def _axis(self, lines: tuple[Line, ...], s: Floats) -> Floats:
        base = 2 * np.pi * s / self.period_s
        waves = [line.amplitude_mm * np.cos(line.multiple * base + line.phase_rad) for line in lines]
        total: Floats = np.sum(waves, axis=0)
        return total


Path = Circle | Wander


def path_time(t_s: ArrayLike, run_in_s: float, end_s: float) -> Floats:
    """Path time s in seconds, from t_s since setting off.

    The speed follows the smoothstep 3q^2 - 2q^3 over the run-in (q = t / run_in), so that
    s = run_in (q^3 - q^4 / 2); afterwards it is even. At rest before 0 and after end_s.

    >>> [float(s) for s in path_time([-1.0, 0.0, 1.0, 2.0, 5.0], 2.0, 19.0)]
    [0.0, 0.0, 0.1875, 1.0, 4.0]
    """
    t = np.clip(np.asarray(t_s, dtype=np.float64), 0.0, end_s)
    q = np.minimum(t / run_in_s, 1.0)
    return run_in_s * (q**3 - q**4 / 2) + np.maximum(t - run_in_s, 0.0)


def position(path: Path, t_s: ArrayLike, run_in_s: float, end_s: float) -> tuple[Floats, Floats]:
    """The disc's centre (x_mm, y_mm) at t_s seconds since it set off, same shape as t_s."""
    return path.at(path_time(t_s, run_in_s, end_s))
