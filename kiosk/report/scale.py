"""The scale of z: where a z stands on the paper, the usual band, the label edges, and the marks of a row.

z rises to the right, -3.2 to +2.4. Edges lie where the labels really change: the standard score
100 + 15 z rounded half away from zero.
"""

from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

from kiosk.report.paper import DATA, LINE, SMALL, SMALL_QUIET, TEXT, TINT, WHITE
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import MeasureRow, Tick
from norms.judge.labels import LABEL_ROWS

Z_FROM: Final = -3.2
Z_TO: Final = 2.4
USUAL_Z: Final = NormalDist().inv_cdf(0.9)  # 80 of 100 people lie between - and +
LABEL_EDGES_Z: Final = tuple((row.score_from - 0.5 - 100) / 15 for row in LABEL_ROWS[1:])
DOT_MM, CLEARING_MM, RING_MM, RING_BELOW_MM = 1.35, 0.35, 0.8, 1.9


@dataclass(frozen=True)
class Scale:
    """The stretch of paper that carries z, mm."""

    left_mm: float
    right_mm: float

    def at(self, z: float) -> float:
        """Where a z stands, mm from the left of the live area.

        >>> round(Scale(0.0, 56.0).at(0.0), 6), round(Scale(0.0, 56.0).at(-3.2), 6)
        (32.0, 0.0)
        """
        return self.left_mm + (z - Z_FROM) / (Z_TO - Z_FROM) * (self.right_mm - self.left_mm)

    def cut(self, z: float) -> float:
        """Where a z stands, at the edge where it lies beyond the scale."""
        return self.at(min(max(z, Z_FROM), Z_TO))


def draw_grid(sheet: Sheet, scale: Scale, top_mm: float, bottom_mm: float) -> None:
    """The usual band, the label edges dashed, and zero."""
    low, high = scale.at(-USUAL_Z), scale.at(USUAL_Z)
    sheet.rectangle(low, top_mm, high, bottom_mm, TINT)
    for x in (low, high):
        sheet.line((x, top_mm), (x, bottom_mm), 0.25, LINE)
    for z in LABEL_EDGES_Z:
        sheet.line((scale.at(z), top_mm), (scale.at(z), bottom_mm), 0.15, LINE, (0.8, 0.8))
    sheet.line((scale.at(0), top_mm), (scale.at(0), bottom_mm), 0.4, LINE)


def draw_ticks(sheet: Sheet, scale: Scale, ticks: tuple[Tick, ...], baseline_mm: float) -> None:
    """Numbers of z below the scale."""
    for tick in ticks:
        sheet.write(scale.at(tick.z), baseline_mm, tick.text, SMALL_QUIET, "center")


def draw_marks(sheet: Sheet, scale: Scale, row: MeasureRow, y_mm: float) -> None:
    """Today's dot with its whisker, the earlier visit's ring below it, or why there is none."""
    if row.z_before is not None and Z_FROM <= row.z_before <= Z_TO:
        centre = (scale.at(row.z_before), y_mm + RING_BELOW_MM)
        sheet.disc(centre, RING_MM, WHITE)
        sheet.ring(centre, RING_MM - 0.12, 0.3, TEXT)
    if row.z_star is None:
        sheet.write(scale.at(-0.4), y_mm + 1.0, row.short_reason, SMALL, "center")
        return
    if row.interval_z is not None:
        _whisker(sheet, scale, row.interval_z, y_mm)
    if Z_FROM <= row.z_star <= Z_TO:
        centre = (scale.at(row.z_star), y_mm)
        sheet.disc(centre, DOT_MM + CLEARING_MM, WHITE)
        sheet.disc(centre, DOT_MM, DATA)
    else:
        _beyond(sheet, scale, row, y_mm)


def _whisker(sheet: Sheet, scale: Scale, interval_z: tuple[float, float], y_mm: float) -> None:
    low, high = interval_z
    if high < Z_FROM or low > Z_TO:
        return
    sheet.line((scale.cut(low), y_mm), (scale.cut(high), y_mm), 0.5, DATA)
    for z in interval_z:
        if Z_FROM <= z <= Z_TO:
            sheet.line((scale.at(z), y_mm - 1.0), (scale.at(z), y_mm + 1.0), 0.4, DATA)


def _beyond(sheet: Sheet, scale: Scale, row: MeasureRow, y_mm: float) -> None:
    """A triangle at the edge with the number beside it."""
    below = row.z_star is not None and row.z_star < Z_FROM
    tip, step = (scale.left_mm, 1.0) if below else (scale.right_mm, -1.0)
    sheet.polygon([(tip, y_mm), (tip + step * 2.2, y_mm - 1.3), (tip + step * 2.2, y_mm + 1.3)], DATA)
    sheet.write(tip + step * 3.0, y_mm + 1.0, row.z_text, SMALL, "left" if below else "right")
