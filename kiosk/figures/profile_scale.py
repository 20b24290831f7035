"""The scale of z around which the profile stands: usual band, label edges, and one row of marks a measure.

z rises to the right from -3.2 to +2.4 in every language, so that poorer is always left. The edges are where
the published labels change. PAPER and SCREEN hold the sizes in millimetres; all else is the same for both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

from kiosk.figures.marks import Area, Box, Disc, Lettering, Line, Mark, Point, Ring, Role, Triangle, Words
from kiosk.wording.page_parts import MeasureRow, ScaleWords, Tick
from norms import LABEL_EDGES_Z

Z_FROM: Final = -3.2
Z_TO: Final = 2.4
USUAL_Z: Final = NormalDist().inv_cdf(0.9)  # 80 of 100 people lie between - and +


@dataclass(frozen=True)
class ScaleSizes:
    """Sizes of the scale's parts, mm. Baselines are measured downwards."""

    side: float              # free at both ends, for half of the outermost numbers
    band_line: float
    edge_line: float
    zero_line: float
    dash: float
    tick_baseline: float     # of the numbers, below the last row
    tick_gap: float          # least distance of two numbers
    word_gap: float          # least distance of the words above
    line_pitch: float        # of lines of words
    usual_lower: float       # by how much "usual" stands lower where the words take several lines
    dot: float
    dot_clear: float         # free around the dot
    whisker: float
    whisker_end: float
    whisker_end_half: float
    earlier_below: float     # the earlier visit's ring, below the middle of the row
    earlier_clear: float
    earlier: float
    earlier_line: float
    earlier_role: Role
    earlier_alone: bool      # drawn also where today's measure has no standing
    reason_z: float          # where the reason for no standing stands, if it takes one line
    reason_baseline: float   # below the middle of the row
    beyond_inset: float      # of the triangle for a z beyond the scale, from the scale's end
    beyond_long: float
    beyond_half: float
    beyond_gap: float        # from the triangle to its number
    change_tip: float        # of the triangle for a reliable change: its tip from the middle,
    change_flat: float       # its flat side on the other side of the middle,
    change_half: float       # and half of its width
    low_half: float          # half the side of the square for a low score
    band_half: float         # half the height of the reference group's interval


PAPER: Final = ScaleSizes(
    side=0.0, band_line=0.25, edge_line=0.15, zero_line=0.4, dash=0.8, tick_baseline=3.2, tick_gap=0.5,
    word_gap=1.0, line_pitch=3.1, usual_lower=0.0, dot=1.35, dot_clear=0.35, whisker=0.5, whisker_end=0.4,
    whisker_end_half=1.0, earlier_below=1.9, earlier_clear=0.8, earlier=0.68, earlier_line=0.3,
    earlier_role="text", earlier_alone=True, reason_z=(Z_FROM + Z_TO) / 2, reason_baseline=1.0,
    beyond_inset=0.0, beyond_long=2.2, beyond_half=1.3, beyond_gap=0.8,
    change_tip=1.1, change_flat=1.0, change_half=1.2, low_half=0.9, band_half=0.8)
SCREEN: Final = ScaleSizes(
    side=1.5, band_line=0.25, edge_line=0.25, zero_line=0.5, dash=1.2, tick_baseline=6.0, tick_gap=2.0,
    word_gap=2.0, line_pitch=5.5, usual_lower=1.0, dot=2.3, dot_clear=0.6, whisker=1.1, whisker_end=0.8,
    whisker_end_half=2.0, earlier_below=3.6, earlier_clear=1.75, earlier=1.175, earlier_line=0.55,
    earlier_role="quiet", earlier_alone=False, reason_z=0.0, reason_baseline=2.0,
    beyond_inset=0.2, beyond_long=4.6, beyond_half=2.3, beyond_gap=1.7,
    change_tip=1.9, change_flat=0.55 * 1.9, change_half=1.9, low_half=1.5, band_half=1.5)


def share_of_scale(z: float) -> float:
    """Where a z stands between the ends of the scale, 0 to 1 inside it.

    >>> round(share_of_scale(0.0), 6), share_of_scale(-3.2), share_of_scale(2.4)
    (0.571429, 0.0, 1.0)
    """
    return (z - Z_FROM) / (Z_TO - Z_FROM)


def on_scale(z: float) -> float:
    """The z itself, or the end of the scale where it lies beyond.

    >>> on_scale(-9.0), on_scale(1.0)
    (-3.2, 1.0)
    """
    return min(max(z, Z_FROM), Z_TO)


@dataclass(frozen=True)
class ProfileScale:
    """The scale between two x, mm."""

    left: float
    right: float
    sizes: ScaleSizes

    def x(self, z: float) -> float:
        """Where a z stands.

        >>> round(ProfileScale(0.0, 56.0, PAPER).x(0.0), 6), ProfileScale(0.0, 56.0, PAPER).x(-3.2)
        (32.0, 0.0)
        """
        return self.left + share_of_scale(z) * (self.right - self.left)

    def ground(self, top: float, bottom: float) -> list[Mark]:
        """The usual band, the label edges dashed, and zero."""
        sizes, low, high = self.sizes, self.x(-USUAL_Z), self.x(USUAL_Z)

        def upright(x: float, width: float, dash: float = 0.0) -> Line:
            return Line((x, top), (x, bottom), width, "line", dash)

        return [Area(Box(low, bottom, high - low, top - bottom), "surface"),
                *(upright(x, sizes.band_line) for x in (low, high)),
                *(upright(self.x(z), sizes.edge_line, sizes.dash) for z in LABEL_EDGES_Z),
                upright(self.x(0.0), sizes.zero_line)]

    def ticks(self, ticks: Sequence[Tick], bottom: float, letters: Lettering) -> list[Mark]:
        """Numbers of z below the scale: all, or every second one about 0 where they would touch."""
        widest = max((letters.width_mm(tick.text) for tick in ticks), default=0.0)
        step = 1 if self.x(1.0) - self.x(0.0) >= widest + self.sizes.tick_gap else 2
        baseline = bottom - self.sizes.tick_baseline
        return [Words(tick.text, self.x(tick.z), baseline, "quiet") for tick in ticks if tick.z % step == 0]

    def head_lines(self, words: ScaleWords, letters: Lettering) -> int:
        """On how many lines "poorer", "usual" and "better" stand, so that none touches another."""
        gap, room = self.sizes.word_gap, self.right - self.left
        poorer, better = letters.width_mm(words.poorer), letters.width_mm(words.better)
        half, zero = letters.width_mm(words.usual, strong=True) / 2 + gap, self.x(0.0) - self.left
        if poorer <= zero - half and better <= room - zero - half:
            return 1
        return 2 if poorer + better + gap <= room else 3

    def heads(self, words: ScaleWords, baseline: float, top_baseline: float, lines: int) -> list[Mark]:
        """The words above: all on the baseline, or, on more lines, "usual" there and the others above."""
        top, usual = (top_baseline, baseline - self.sizes.usual_lower) if lines > 1 else (baseline, baseline)
        better = top - self.sizes.line_pitch * max(lines - 2, 0)
        return [Words(words.poorer, self.left, top, "quiet", "left"),
                Words(words.usual, self.x(0.0), usual, "text", strong=True),
                Words(words.better, self.right, better, "quiet", "right")]

    def row(self, row: MeasureRow, y: float, letters: Lettering) -> list[Mark]:
        """Today's dot on band and whisker, the earlier visit's ring below it; or why there is no dot."""
        if row.z_star is None:
            earlier = self._earlier(row, y) if self.sizes.earlier_alone else []
            return earlier + self._reason(row.short_reason, y, letters)
        marks = self._band(row.interval_z, y) if row.interval_z is not None else []
        marks += self._earlier(row, y)
        if row.own_z is not None:
            marks += self._whisker(row.own_z, y)
        if Z_FROM <= row.z_star <= Z_TO:
            at = (self.x(row.z_star), y)
            return [*marks, Disc(at, self.sizes.dot + self.sizes.dot_clear, "ground"),
                    Disc(at, self.sizes.dot, "accent")]
        return marks + self._beyond(row, y)

    def _earlier(self, row: MeasureRow, y: float) -> list[Mark]:
        if row.z_before is None or not Z_FROM <= row.z_before <= Z_TO:
            return []
        sizes, at = self.sizes, (self.x(row.z_before), y - self.sizes.earlier_below)
        return [Disc(at, sizes.earlier_clear, "ground"),
                Ring(at, sizes.earlier, sizes.earlier_line, sizes.earlier_role)]

    def _band(self, interval_z: tuple[float, float], y: float) -> list[Mark]:
        """The reference group's interval as far as it lies on the scale."""
        low, high = (on_scale(z) for z in interval_z)
        half = self.sizes.band_half
        return [Area(Box(self.x(low), y - half, self.x(high) - self.x(low), 2 * half), "line")]

    def _whisker(self, interval_z: tuple[float, float], y: float) -> list[Mark]:
        """The person's own interval as far as it lies on the scale; an end beyond the scale has no bar."""
        low, high = interval_z
        if high < Z_FROM or low > Z_TO:
            return []
        half = self.sizes.whisker_end_half
        ends = [self.x(z) for z in interval_z if Z_FROM <= z <= Z_TO]
        return [Line((self.x(on_scale(low)), y), (self.x(on_scale(high)), y), self.sizes.whisker, "accent"),
                *(Line((x, y + half), (x, y - half), self.sizes.whisker_end, "accent") for x in ends)]

    def _reason(self, reason: str, y: float, letters: Lettering) -> list[Mark]:
        """Why there is no mark, on as many lines as the scale's width asks for."""
        lines, middle = letters.lines(reason, self.right - self.left), (self.left + self.right) / 2
        x, pitch = self.x(self.sizes.reason_z), self.sizes.line_pitch
        if len(lines) > 1 or letters.width_mm(reason) / 2 > self.right - x:
            x = middle
        first = y - self.sizes.reason_baseline + pitch * (len(lines) - 1) / 2
        return [Words(line, x, first - pitch * place, "text") for place, line in enumerate(lines)]

    def _beyond(self, row: MeasureRow, y: float) -> list[Mark]:
        """A triangle at the end of the scale, the number beside it, clear of the whisker."""
        sizes, z = self.sizes, row.z_star or 0.0
        way, end = (1.0, self.left) if z < Z_FROM else (-1.0, self.right)
        tip, half = end + way * sizes.beyond_inset, sizes.beyond_long / 2
        corners = ((-way * half, 0.0), (way * half, sizes.beyond_half), (way * half, -sizes.beyond_half))
        drawn = (way * (self.x(on_scale(one)) - tip) for one in (*(row.interval_z or ()), *(row.own_z or ())))
        number = tip + way * (max([sizes.beyond_long, *drawn]) + sizes.beyond_gap)
        return [Triangle((tip + way * half, y), corners, "accent"),
                Words(row.z_text, number, y - sizes.reason_baseline, "text", "left" if way > 0 else "right")]


def low_mark(centre: Point, sizes: ScaleSizes) -> Area:
    """A square beside the value of a score that is low: no way up or down, as nothing has changed."""
    (x, y), half = centre, sizes.low_half
    return Area(Box(x - half, y - half, 2 * half, 2 * half), "text")


def change_mark(change: str, centre: Point, sizes: ScaleSizes) -> Triangle:
    """Reliably poorer points down, reliably better up; ValueError for any other."""
    if change not in ("poorer", "better"):
        raise ValueError(f"change, must be one of poorer, better, got {change!r}")
    up = -1.0 if change == "poorer" else 1.0
    half, flat = sizes.change_half, -up * sizes.change_flat
    return Triangle(centre, ((0.0, up * sizes.change_tip), (-half, flat), (half, flat)), "text")
