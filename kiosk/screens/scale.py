"""The scale of standings: z* from -3.2 to +2.4, poorer always left, in every reading direction.

Edges stand where the published labels change: standard scores are rounded half away from zero, so at
-2.033, -1.367, -0.700, +0.633, +1.300, +1.967. The usual band holds 80 of 100 people.
"""

from collections.abc import Sequence
from typing import Final

from kiosk.screens import alpha
from kiosk.screens.layout import Box
from kiosk.screens.parts import Part, Scene
from kiosk.screens.staff_text import HEAD_MM
from kiosk.screens.theme import READ, READ_STRONG, RULE_MM
from kiosk.wording.page_parts import MeasureRow, Profile, ScaleWords, Tick

Z_FROM: Final = -3.2
Z_TO: Final = 2.4
EDGES_Z: Final = (-2.033, -1.367, -0.700, 0.633, 1.300, 1.967)
USUAL_Z: Final = (-1.282, 1.282)
DOT_MM: Final = 2.3
CLEARING_MM: Final = 0.6
BEFORE_MM: Final = 1.45
BEFORE_BELOW_MM: Final = 3.6
TICKS_MM: Final = 7.5
BETWEEN_MM: Final = 2.0   # the least gap between the words above
LINE_MM: Final = 5.5      # from one line of them to the next
EDGE_MM: Final = 1.5   # for the outer ticks' numbers


class Scale(Part):
    """Head words above, band and edges behind, one row for each of the measures given."""

    def __init__(self, scene: Scene, box: Box, profile: Profile, row_mm: float,
                 rows: Sequence[MeasureRow], *, head_lines: int) -> None:
        super().__init__(scene, "scale", box)
        self._rows = box.bottom + TICKS_MM + len(rows) * row_mm
        self._draw_words(profile, head_lines)
        height = len(rows) * row_mm
        self._draw_ground(height)
        for tick in self._told_apart(profile.ticks):
            self.say(tick.text, READ, self.x(tick.z), self._rows - height - 6.0, "quiet")
        for number, row in enumerate(rows):
            self._draw_row(row, self._rows - (number + 0.5) * row_mm)

    def x(self, z: float) -> float:
        """Where a z stands."""
        width = self.box.width - 2 * EDGE_MM
        return self.box.left + EDGE_MM + (z - Z_FROM) / (Z_TO - Z_FROM) * width

    def _told_apart(self, ticks: Sequence[Tick]) -> list[Tick]:
        """Those whose numbers stand apart: all, or every second one about 0."""
        widest = max((self.scene.pen.letters.width_mm(tick.text, READ) for tick in ticks), default=0.0)
        step = 1 if self.x(1.0) - self.x(0.0) >= widest + BETWEEN_MM else 2
        return [tick for tick in ticks if tick.z % step == 0]

    def _draw_words(self, profile: Profile, lines: int) -> None:
        words, low = profile.words, self._rows + HEAD_MM - 5.0
        top = self.box.top - 5.0 if lines > 1 else low
        self.say(words.poorer, READ, self.box.left + EDGE_MM, top, "quiet", "left")
        self.say(words.usual, READ_STRONG, self.x(0.0), low - (1.0 if lines > 1 else 0.0), "text")
        self.say(words.better, READ, self.box.right - EDGE_MM, top - LINE_MM * max(lines - 2, 0), "quiet",
                 "right")

    def _draw_ground(self, height: float) -> None:
        pen, low, high = self.scene.pen, self.x(USUAL_Z[0]), self.x(USUAL_Z[1])
        pen.box(self.canvas, Box(low, self._rows - height, high - low, height), "surface")
        for x in (low, high):
            pen.box(self.canvas, Box(x - RULE_MM / 2, self._rows - height, RULE_MM, height), "line")
        for z in EDGES_Z:
            self._dashes(self.x(z), height)
        pen.box(self.canvas, Box(self.x(0.0) - 0.25, self._rows - height, 0.5, height), "line")

    def _dashes(self, x: float, height: float) -> None:
        y = self._rows
        while y - 1.2 > self._rows - height:
            self.scene.pen.box(self.canvas, Box(x - RULE_MM / 2, y - 1.2, RULE_MM, 1.2), "line")
            y -= 2.4

    def _draw_row(self, row: MeasureRow, y: float) -> None:
        if row.z_star is None:
            self._say_why(row.short_reason, y)
            return
        if row.z_before is not None and Z_FROM <= row.z_before <= Z_TO:
            self._ring(self.x(row.z_before), y - BEFORE_BELOW_MM)
        if not Z_FROM <= row.z_star <= Z_TO:
            self._beyond(row, y)
            return
        if row.interval_z:
            self._whisker(row.interval_z, y)
        self.scene.pen.disc(self.canvas, self.x(row.z_star), y, DOT_MM + CLEARING_MM, "ground")
        self.scene.pen.disc(self.canvas, self.x(row.z_star), y, DOT_MM, "accent")

    def _say_why(self, reason: str, y: float) -> None:
        """Why there is no mark, on as many lines as the scale's width asks for."""
        letters = self.scene.pen.letters
        lines = letters.lines(reason, READ, self.box.width - 1.0)
        fits_about_zero = letters.widest_mm(lines, READ) / 2 <= self.box.right - self.x(0.0)
        x = self.x(0.0) if len(lines) == 1 and fits_about_zero else self.box.x
        for number, line in enumerate(lines):
            below = (number - (len(lines) - 1) / 2) * LINE_MM
            self.say(line, READ, x, y - 2.0 - below, "text")

    def _ring(self, x: float, y: float) -> None:
        self.scene.pen.disc(self.canvas, x, y, BEFORE_MM + 0.3, "ground")
        self.scene.pen.ring(self.canvas, x, y, BEFORE_MM - 0.55, BEFORE_MM, "quiet")

    def _whisker(self, interval: Sequence[float], y: float) -> None:
        low, high = (self.x(min(max(z, Z_FROM), Z_TO)) for z in interval)
        pen = self.scene.pen
        pen.box(self.canvas, Box(low, y - 0.55, high - low, 1.1), "accent")
        for x in (low, high):
            pen.box(self.canvas, Box(x - 0.4, y - 2.0, 0.8, 4.0), "accent")

    def _beyond(self, row: MeasureRow, y: float) -> None:
        """A triangle at the edge, the number beside it."""
        left = (row.z_star or 0.0) < Z_FROM
        points = ((2.3, -2.3), (2.3, 2.3), (-2.3, 0.0)) if left else ((-2.3, 2.3), (-2.3, -2.3), (2.3, 0.0))
        x = self.box.left + EDGE_MM + 2.5 if left else self.box.right - EDGE_MM - 2.5
        shape = alpha.triangle(*points)
        self.scene.pen.shape(self.canvas, x, y, (2.5, 2.5), ("beyond", left), shape, "accent")
        self.say(row.z_text, READ, x + (4.0 if left else -4.0), y - 2.0, "text", "left" if left else "right")


def head_lines(scene: Scene, words: ScaleWords, width: float) -> int:
    """On how many lines "poorer", "usual" and "better" stand, so that none touches another."""
    letters, inner = scene.pen.letters, width - 2 * EDGE_MM
    poorer, better = (letters.width_mm(one, READ) for one in (words.poorer, words.better))
    half = letters.width_mm(words.usual, READ_STRONG) / 2 + BETWEEN_MM
    zero = -Z_FROM / (Z_TO - Z_FROM) * inner
    if poorer <= zero - half and better <= inner - zero - half:
        return 1
    return 2 if poorer + better + BETWEEN_MM <= inner else 3
