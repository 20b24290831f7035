"""One plot on a sheet: a box with two axes, and lines, bands and ticks in the units of the data.

Sheet and Picture both are surfaces: the same plot is drawn on paper and into a picture. Boxes are millimetres
from the top left, y downwards; data are in their own units, y upwards, on straight or logarithmic axes. NaN
breaks a line.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from kiosk.i18n.language import Language
from kiosk.report.paper import LINE, SMALL, SMALL_QUIET, SMALL_STRONG, TEXT, TINT, Style

MOST_POINTS: Final = 1200
Floats = NDArray[np.float64]
Point = tuple[float, float]


class Surface(Protocol):
    """What a plot is drawn on."""

    def text_width(self, text: str, style: Style) -> float: ...

    def write(
        self, x_mm: float, baseline_mm: float, text: str, style: Style, align: str = "left"
    ) -> float: ...

    def polyline(self, points: Sequence[Point], width_mm: float, colour: str = TEXT) -> None: ...

    def rectangle(
        self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float, colour: str
    ) -> None: ...


@dataclass(frozen=True)
class Axis:
    """From where to where in the data's unit, its ticks and how many decimals they show."""

    low: float
    high: float
    ticks: tuple[float, ...]
    decimals: int = 0
    log: bool = False

    def share(self, values: Floats) -> Floats:
        """Where values lie between the ends, 0 to 1; cut to the ends."""
        cut = np.clip(values, self.low, self.high)
        if self.log:
            return np.asarray(np.log(cut / self.low) / np.log(self.high / self.low))
        return np.asarray((cut - self.low) / (self.high - self.low))


@dataclass(frozen=True)
class Panel:
    """A box on a surface with its two axes."""

    surface: Surface
    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float
    x: Axis
    y: Axis

    def line(self, x: Floats, y: Floats, width_mm: float, colour: str) -> None:
        """A line through points, broken at NaN, thinned to what the eye can tell."""
        known = np.asarray(np.isfinite(x) & np.isfinite(y))
        step = max(1, len(x) // MOST_POINTS)
        for run in np.split(np.arange(len(x)), np.flatnonzero(np.diff(known)) + 1):
            if run.size and known[run[0]]:
                kept = np.unique([*run[::step], run[-1]])
                self.surface.polyline(self._points(x[kept], y[kept]), width_mm, colour)

    def band(self, from_x: float, to_x: float, colour: str = TINT) -> None:
        """A shaded stretch over the whole height."""
        left, right = (self.left_mm + self._width() * self.x.share(np.array([from_x, to_x]))).tolist()
        self.surface.rectangle(left, self.top_mm, right, self.bottom_mm, colour)

    def level(self, y: float, width_mm: float = 0.2, colour: str = LINE) -> None:
        """A line across at one value."""
        self.line(np.array([self.x.low, self.x.high]), np.array([y, y]), width_mm, colour)

    def frame(self, title: str, language: Language, x_title: str = "") -> None:
        """Title above, ticks with their numbers, the two axes."""
        surface, corner = self.surface, (self.left_mm, self.bottom_mm)
        surface.write(self.left_mm, self.top_mm - 1.4, title, SMALL_STRONG)
        surface.polyline([(self.left_mm, self.top_mm), corner, (self.right_mm, self.bottom_mm)], 0.25, LINE)
        for tick, y_mm in zip(self.y.ticks, self._down(np.array(self.y.ticks)).tolist(), strict=True):
            surface.polyline([(self.left_mm - 1.0, y_mm), (self.left_mm, y_mm)], 0.2, LINE)
            told = _number(tick, self.y, language)
            surface.write(self.left_mm - 1.6, y_mm + 1.0, told, SMALL_QUIET, "right")
        self._x_ticks(language)
        if x_title:
            surface.write(self.right_mm, self.bottom_mm + 7.2, x_title, SMALL_QUIET, "right")

    def _x_ticks(self, language: Language) -> None:
        across = self.left_mm + self._width() * self.x.share(np.array(self.x.ticks))
        for tick, x_mm in zip(self.x.ticks, across.tolist(), strict=True):
            self.surface.polyline([(x_mm, self.bottom_mm), (x_mm, self.bottom_mm + 1.0)], 0.2, LINE)
            self.surface.write(x_mm, self.bottom_mm + 4.0, _number(tick, self.x, language), SMALL, "centre")

    def _points(self, x: Floats, y: Floats) -> list[Point]:
        across = self.left_mm + self._width() * self.x.share(x)
        return list(zip(across.tolist(), self._down(y).tolist(), strict=True))

    def _down(self, y: Floats) -> Floats:
        return self.bottom_mm - (self.bottom_mm - self.top_mm) * self.y.share(y)

    def _width(self) -> float:
        return self.right_mm - self.left_mm


def _number(tick: float, axis: Axis, language: Language) -> str:
    decimals = max(axis.decimals, -int(np.floor(np.log10(tick)))) if axis.log and tick < 1 else axis.decimals
    return language.number(tick, decimals)


def even_axis(low: float, high: float) -> Axis:
    """An axis over these values with three to six round ticks.

    >>> even_axis(0.0, 23.0)
    Axis(low=0.0, high=25.0, ticks=(0.0, 5.0, 10.0, 15.0, 20.0, 25.0), decimals=0, log=False)
    """
    span = max(high - low, 1e-6)
    step = next(one for one in _round_steps() if span / one <= 5)
    first, last = int(np.floor(low / step + 1e-9)), int(np.ceil(high / step - 1e-9))
    ticks = tuple(float(step * one) for one in range(first, last + 1))
    return Axis(ticks[0], ticks[-1], ticks, max(0, -int(np.floor(np.log10(step) + 1e-9))))


def _round_steps() -> list[float]:
    return [lead * 10.0**power for power in range(-7, 7) for lead in (1.0, 2.0, 5.0)]


def log_axis(low: float, high: float) -> Axis:
    """A logarithmic axis over whole decades that holds these values, ticks at the decades.

    >>> log_axis(0.02, 3.0).ticks
    (0.01, 0.1, 1.0, 10.0)
    """
    first, last = int(np.floor(np.log10(low))), int(np.ceil(np.log10(high)))
    ticks = tuple(float(f"1e{power}") for power in range(first, max(last, first + 1) + 1))
    return Axis(ticks[0], ticks[-1], ticks, 0, log=True)
