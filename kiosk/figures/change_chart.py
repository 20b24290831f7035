"""One measure over the visits: time true to scale, earlier visits open, the latest solid and larger.

The hatched column is where an unchanged person lies at the latest date: a forecast for that date only.
Neither axis is ever mirrored. PAPER and SCREEN hold the sizes in millimetres.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.figures.marks import (
    Area,
    Box,
    Curve,
    Disc,
    Hatch,
    Lettering,
    Line,
    Mark,
    Point,
    Ring,
    Role,
    Words,
)
from kiosk.figures.profile_scale import USUAL_Z, on_scale, share_of_scale
from kiosk.wording.page_parts import ChangeChart, ChartPoint
from norms import LABEL_EDGES_Z

HATCHED_SHARE: Final = 0.76  # of the column's width; the bars at its ends are as wide as the column


@dataclass(frozen=True)
class ChartSizes:
    """Sizes of the chart's parts, mm."""

    axis: float              # left of the plot, for the numbers
    foot: float              # below the plot, for the dates
    inset: float             # from the plot's sides to the first and the latest visit
    band_line: float
    edge_line: float
    zero_line: float
    dash: float
    tick_gap: float          # from number to plot
    tick_below: float        # from a value down to its number's baseline
    tick_pitch: float        # where numbers are closer, every other one is left out
    column: float
    column_bar: float
    hatch_line: float
    hatch_pitch: float
    hatch_role: Role
    line: float
    earlier: float
    earlier_line: float
    earlier_clear: float
    earlier_role: Role
    earlier_ground: Role
    latest: float
    latest_clear: float
    date_baseline: float     # above the lower edge
    date_gap: float          # least distance of two dates


PAPER: Final = ChartSizes(
    axis=6.0, foot=4.2, inset=5.0, band_line=0.25, edge_line=0.15, zero_line=0.4, dash=0.8, tick_gap=1.2,
    tick_below=1.0, tick_pitch=3.0, column=5.0, column_bar=0.5, hatch_line=0.2, hatch_pitch=1.1,
    hatch_role="line", line=0.25, earlier=0.8, earlier_line=0.3, earlier_clear=1.25, earlier_role="accent",
    earlier_ground="ground", latest=0.95 * 1.25, latest_clear=0.3, date_baseline=0.8, date_gap=1.5)
SCREEN: Final = ChartSizes(
    axis=11.0, foot=9.0, inset=11.0, band_line=0.25, edge_line=0.25, zero_line=0.5, dash=1.2, tick_gap=2.0,
    tick_below=2.0, tick_pitch=4.5, column=9.0, column_bar=0.8, hatch_line=0.6, hatch_pitch=1.8 * 2**0.5,
    hatch_role="quiet", line=0.4, earlier=1.65, earlier_line=0.7, earlier_clear=2.5, earlier_role="quiet",
    earlier_ground="surface", latest=2.5, latest_clear=0.6, date_baseline=2.0, date_gap=2.0)


@dataclass(frozen=True)
class Plot:
    """Where a visit stands: the plotting area and the days it spans."""

    box: Box
    days: float
    inset: float

    def x(self, day: float) -> float:
        """Days from the left; a lone visit stands in the middle.

        >>> Plot(Box(0.0, 0.0, 110.0, 56.0), 100.0, 5.0).x(50.0)
        55.0
        """
        first, last = self.box.left + self.inset, self.box.right - self.inset
        return (first + last) / 2 if self.days == 0 else first + day / self.days * (last - first)

    def y(self, z: float) -> float:
        """z from below; one beyond the scale stands at its edge.

        >>> round(Plot(Box(0.0, 0.0, 110.0, 56.0), 100.0, 5.0).y(0.0), 6)
        32.0
        """
        return self.box.bottom + share_of_scale(on_scale(z)) * self.box.height


def change_chart(chart: ChangeChart, box: Box, sizes: ChartSizes, letters: Lettering) -> list[Mark]:
    """Grid, numbers, hatched column, visits and dates inside a box."""
    area = Box(box.left + sizes.axis, box.bottom + sizes.foot, box.width - sizes.axis,
               box.height - sizes.foot)
    plot = Plot(area, chart.points[-1].day if chart.points else 0.0, sizes.inset)
    limits = [] if chart.limits_z is None else _limits(chart.limits_z, plot, sizes)
    return [*_grid(plot, sizes), *_ticks(chart, plot, sizes), *limits, *_visits(chart.points, plot, sizes),
            *_dates(chart.points, box, plot, sizes, letters)]


def _grid(plot: Plot, sizes: ChartSizes) -> list[Mark]:
    """The usual band, the label edges dashed, and zero."""
    box, high, low = plot.box, plot.y(USUAL_Z), plot.y(-USUAL_Z)

    def level(y: float, width: float, dash: float = 0.0) -> Line:
        return Line((box.left, y), (box.right, y), width, "line", dash)

    return [Area(Box(box.left, low, box.width, high - low), "surface"),
            *(level(y, sizes.band_line) for y in (high, low)),
            *(level(plot.y(z), sizes.edge_line, sizes.dash) for z in LABEL_EDGES_Z),
            level(plot.y(0.0), sizes.zero_line)]


def _ticks(chart: ChangeChart, plot: Plot, sizes: ChartSizes) -> list[Mark]:
    """Numbers of z, every second or third one about 0 where the chart is low."""
    apart = plot.y(1.0) - plot.y(0.0)
    step = next((step for step in (1, 2) if step * apart >= sizes.tick_pitch), 3)
    return [Words(tick.text, plot.box.left - sizes.tick_gap, plot.y(tick.z) - sizes.tick_below, "quiet",
                  "right")
            for tick in chart.ticks if tick.z % step == 0]


def _limits(limits_z: tuple[float, float], plot: Plot, sizes: ChartSizes) -> list[Mark]:
    """How far a value may stray without reliable change: hatched, a bar at both ends."""
    x, (low, high) = plot.x(plot.days), (plot.y(z) for z in limits_z)
    wide = HATCHED_SHARE * sizes.column
    half = sizes.column / 2
    return [Hatch(Box(x - wide / 2, low, wide, high - low), sizes.hatch_line, sizes.hatch_pitch,
                  sizes.hatch_role),
            *(Line((x - half, y), (x + half, y), sizes.column_bar, "text") for y in (high, low))]


def _visits(points: Sequence[ChartPoint], plot: Plot, sizes: ChartSizes) -> list[Mark]:
    places: list[Point] = [(plot.x(point.day), plot.y(point.z)) for point in points]
    marks: list[Mark] = []
    if len(places) > 1:
        through = np.array(places) - (plot.box.left, plot.box.bottom)
        marks.append(Curve(through, plot.box, sizes.line, sizes.earlier_role))
    for at in places[:-1]:
        marks += [Disc(at, sizes.earlier_clear, sizes.earlier_ground),
                  Ring(at, sizes.earlier, sizes.earlier_line, sizes.earlier_role)]
    for at in places[-1:]:
        marks += [Disc(at, sizes.latest + sizes.latest_clear, "ground"), Disc(at, sizes.latest, "accent")]
    return marks


def _dates(points: Sequence[ChartPoint], box: Box, plot: Plot, sizes: ChartSizes,
           letters: Lettering) -> list[Mark]:
    """The latest and the first date always, others where they do not touch their neighbours."""
    order = [*reversed(points[-1:]), *points[:1], *reversed(points[1:-1])]
    marks: list[Mark] = []
    taken: list[tuple[float, float]] = []
    for point in dict.fromkeys(order):
        strong = point is points[-1]
        width = letters.width_mm(point.date, strong)
        left = min(max(plot.x(point.day) - width / 2, box.left), box.right - width)
        if all(left > right + sizes.date_gap or left + width < start - sizes.date_gap
               for start, right in taken):
            baseline = box.bottom + sizes.date_baseline
            marks.append(Words(point.date, left, baseline, "text", "left", strong))
            taken.append((left, left + width))
    return marks
