"""What a figure is made of: filled areas, lines, curves, discs and words, as plain data.

A layout gives marks in the order of drawing, later ones on top; kiosk.report.figures draws them on paper,
kiosk.screens.figures on the screen. Lengths are millimetres, x to the right and y up, whatever the language's
reading direction. A colour is a role that page and theme each have a colour for.
Decision page-12.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Points = NDArray[np.float64]
Role = Literal["ground", "surface", "line", "quiet", "text", "accent"]
Align = Literal["left", "centre", "right"]


@dataclass(frozen=True)
class Box:
    """A rectangle in mm."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.left + self.width

    @property
    def top(self) -> float:
        return self.bottom + self.height

    @property
    def x(self) -> float:
        """Its centre, across."""
        return self.left + self.width / 2

    @property
    def y(self) -> float:
        """Its centre, up."""
        return self.bottom + self.height / 2

    def holds(self, other: "Box", slack_mm: float = 0.0) -> bool:
        """Whether the other lies inside, give or take the slack."""
        return (other.left >= self.left - slack_mm and other.right <= self.right + slack_mm
                and other.bottom >= self.bottom - slack_mm and other.top <= self.top + slack_mm)

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share any area; boxes that touch do not."""
        touching_mm = 1e-6
        return (min(self.right, other.right) - max(self.left, other.left) > touching_mm
                and min(self.top, other.top) - max(self.bottom, other.bottom) > touching_mm)


def around(x: float, y: float, width: float, height: float) -> Box:
    """The box of this size about a centre.

    >>> around(0, 0, 150, 125)
    Box(left=-75.0, bottom=-62.5, width=150, height=125)
    """
    return Box(x - width / 2, y - height / 2, width, height)


@dataclass(frozen=True)
class Area:
    """A filled rectangle."""

    box: Box
    role: Role


@dataclass(frozen=True)
class Hatch:
    """Lines at 45 degrees inside a rectangle; the pitch is from line to line along an edge."""

    box: Box
    width_mm: float
    pitch_mm: float
    role: Role


@dataclass(frozen=True)
class Line:
    """A straight line, level or upright; dashes and gaps of dash_mm from the start on, 0 for none."""

    start: Point
    end: Point
    width_mm: float
    role: Role
    dash_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class Curve:
    """A line in a box: points of shape (n, 2) from its lower left corner; a row of NaN breaks the line."""

    points: Points
    box: Box
    width_mm: float
    role: Role

    def __post_init__(self) -> None:
        self.points.setflags(write=False)


@dataclass(frozen=True)
class Disc:
    """A filled circle."""

    centre: Point
    radius_mm: float
    role: Role


@dataclass(frozen=True)
class Ring:
    """An open circle; the radius is that of the middle of its line."""

    centre: Point
    radius_mm: float
    width_mm: float
    role: Role


@dataclass(frozen=True)
class Triangle:
    """A filled triangle: its corners from a point inside, the tip first."""

    centre: Point
    corners: tuple[Point, Point, Point]
    role: Role


@dataclass(frozen=True)
class Words:
    """One line of text: its left end, its middle or its right end stands at x."""

    text: str
    x: float
    baseline: float
    role: Role
    align: Align = "centre"
    strong: bool = False


Mark = Area | Hatch | Line | Curve | Disc | Ring | Triangle | Words


class Lettering(Protocol):
    """How wide words will be in a medium's type; a layout asks before it places them."""

    def width_mm(self, text: str, strong: bool = False) -> float:
        """The width of one line."""

    def lines(self, text: str, width_mm: float) -> Sequence[str]:
        """The text in lines no wider than this, where its words allow."""


def unbroken(points: Points, most: int | None = None) -> Iterator[Points]:
    """The runs of points (n, 2) between rows of NaN; more points than most are thinned, ends kept.

    >>> [run.tolist() for run in unbroken(np.array([[0.0, 0.0], [np.nan, np.nan], [2.0, 2.0]]))]
    [[[0.0, 0.0]], [[2.0, 2.0]]]
    """
    known = np.asarray(np.isfinite(points).all(axis=1))
    borders = np.flatnonzero(np.diff(known.astype(int))) + 1
    step = 1 if most is None else max(1, len(points) // most)
    for run in np.split(np.arange(len(points)), borders):
        if run.size and known[run[0]]:
            yield points[np.unique([*run[::step], run[-1]])]
