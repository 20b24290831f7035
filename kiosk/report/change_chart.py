"""One measure over the visits: time true to scale, the latest visit solid, and a hatched column at its date.

The column is where an unchanged person lies at the latest date; it is a forecast for that date only.
"""

from dataclasses import dataclass
from typing import Final

from kiosk.report.drawing import Point
from kiosk.report.marks import hatched_column
from kiosk.report.paper import DATA, LINE, SMALL, SMALL_QUIET, SMALL_STRONG, TINT, WHITE
from kiosk.report.scale import LABEL_EDGES_Z, USUAL_Z, Z_FROM, Z_TO
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import ChangeChart, ChartPoint

AXIS_MM, FOOT_MM, INSET_MM, COLUMN_MM = 6.0, 4.2, 5.0, 5.0
TICK_PITCH_MM: Final = 3.0
EARLIER_MM: Final = 0.95
LATEST_MM: Final = EARLIER_MM * 1.25


@dataclass(frozen=True)
class Frame:
    """The chart's plotting area, mm, and the days it spans."""

    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float
    days: float

    def at(self, day: float, z: float) -> Point:
        """Where a visit stands; a z beyond the scale stands at its edge.

        >>> Frame(0.0, 0.0, 110.0, 56.0, 100.0).at(50.0, 0.0)
        (55.0, 24.0)
        """
        first, last = self.left_mm + INSET_MM, self.right_mm - INSET_MM
        x = (first + last) / 2 if self.days == 0 else first + day / self.days * (last - first)
        share = (Z_TO - min(max(z, Z_FROM), Z_TO)) / (Z_TO - Z_FROM)
        return (x, round(self.top_mm + share * (self.bottom_mm - self.top_mm), 9))


def change_chart(
    sheet: Sheet, chart: ChangeChart, left_mm: float, top_mm: float, width_mm: float, height_mm: float
) -> None:
    """Title above, chart, dates below, inside the given rectangle."""
    lines = sheet.wrap(chart.title, SMALL_STRONG, width_mm)
    top = sheet.write_lines(left_mm, top_mm + 2.8, lines, SMALL_STRONG, 3.4) - 1.6
    frame = Frame(
        left_mm + AXIS_MM,
        top,
        left_mm + width_mm,
        top_mm + height_mm - FOOT_MM,
        chart.points[-1].day if chart.points else 0.0,
    )
    with sheet.unmirrored(left_mm, left_mm + width_mm):
        _grid(sheet, chart, frame)
        _limits(sheet, chart, frame)
        _points(sheet, chart, frame)
        _dates(sheet, chart.points, frame)


def _grid(sheet: Sheet, chart: ChangeChart, frame: Frame) -> None:
    high, low = frame.at(0, USUAL_Z)[1], frame.at(0, -USUAL_Z)[1]
    sheet.rectangle(frame.left_mm, high, frame.right_mm, low, TINT)
    for y in (high, low):
        sheet.line((frame.left_mm, y), (frame.right_mm, y), 0.25, LINE)
    for z in LABEL_EDGES_Z:
        y = frame.at(0, z)[1]
        sheet.line((frame.left_mm, y), (frame.right_mm, y), 0.15, LINE, (0.8, 0.8))
    zero = frame.at(0, 0)[1]
    sheet.line((frame.left_mm, zero), (frame.right_mm, zero), 0.4, LINE)
    _ticks(sheet, chart, frame)


def _ticks(sheet: Sheet, chart: ChangeChart, frame: Frame) -> None:
    """Numbers of z, every other one where the chart is low."""
    pitch = frame.at(0, 0)[1] - frame.at(0, 1)[1]
    for tick in chart.ticks:
        if pitch >= TICK_PITCH_MM or tick.z % 2 == 0:
            sheet.write(frame.left_mm - 1.2, frame.at(0, tick.z)[1] + 1.0, tick.text, SMALL_QUIET, "right")


def _limits(sheet: Sheet, chart: ChangeChart, frame: Frame) -> None:
    if chart.limits_z is None:
        return
    x, bottom = frame.at(chart.points[-1].day, chart.limits_z[0])
    top = frame.at(chart.points[-1].day, chart.limits_z[1])[1]
    hatched_column(sheet, x - COLUMN_MM / 2, top, x + COLUMN_MM / 2, bottom)


def _points(sheet: Sheet, chart: ChangeChart, frame: Frame) -> None:
    places = [frame.at(point.day, point.z) for point in chart.points]
    sheet.polyline(places, 0.25, DATA)
    for place in places[:-1]:
        sheet.disc(place, EARLIER_MM + 0.3, WHITE)
        sheet.ring(place, EARLIER_MM - 0.15, 0.3, DATA)
    for place in places[-1:]:
        sheet.disc(place, LATEST_MM + 0.3, WHITE)
        sheet.disc(place, LATEST_MM, DATA)


def _dates(sheet: Sheet, points: tuple[ChartPoint, ...], frame: Frame) -> None:
    """The latest and the first date always, others where they do not touch their neighbours."""
    order = [*reversed(points[-1:]), *points[:1], *reversed(points[1:-1])]
    taken: list[tuple[float, float]] = []
    for point in dict.fromkeys(order):
        style = SMALL_STRONG if point is points[-1] else SMALL
        width = sheet.text_width(point.date, style)
        left = frame.at(point.day, 0)[0] - width / 2
        left = min(max(left, frame.left_mm - AXIS_MM), frame.right_mm - width)
        if all(left > right + 1.5 or left + width < start - 1.5 for start, right in taken):
            sheet.write(left, frame.bottom_mm + FOOT_MM - 0.8, point.date, style)
            taken.append((left, left + width))
