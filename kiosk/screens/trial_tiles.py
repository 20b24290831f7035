"""Small pictures, one a trial, in order of testing: paths, distance from the disc, and the movement. mm.

The movement is shown along and across the way, as speed and as spectrum. All trials of one kind share one
scale, so that they can be set side by side; the spectrum's axes are logarithmic. Trials stand from the
leading edge on; neither the field nor an axis of time or frequency is ever mirrored.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final

import numpy as np

from kiosk.figures.marks import Box, Points
from kiosk.figures.path_picture import SCREEN, path_picture
from kiosk.screens.figures import draw
from kiosk.screens.painter import stroke, under
from kiosk.screens.parts import Part, Scene
from kiosk.screens.staff_text import lines_mm
from kiosk.screens.theme import READ, RULE_MM
from kiosk.wording.page_parts import PathFigure
from kiosk.wording.staff_parts import ReplayPath
from kiosk.wording.trial_curves import TrialCurves

LABEL_MM: Final = 7.0
GAP_MM: Final = 3.0
MOST_MM: Final = 40.0      # distances are drawn to here
DISC_MM: Final = 12.0
FASTEST_SHOWN: Final = 99.5  # percentile of the hand's speed at which the scale ends
LINE_HZ: Final = (3.0, 12.0)
LEAST_POWER: Final = 1e-9    # mm^2/Hz: power of nothing at all has no log


class PathTile(Part):
    """The disc's path and the hand's over it."""

    def __init__(self, scene: Scene, figure: PathFigure, box: Box) -> None:
        super().__init__(scene, "path tile", box)
        high = box.height - label_high(self, figure.label)
        side = min(box.width, high)
        draw(self, path_picture(figure, (box.x, box.bottom + high / 2), side, SCREEN))


class ErrorTile(Part):
    """Distance from the disc over the window; shaded where off the disc or the finger off the screen."""

    def __init__(self, scene: Scene, trial: ReplayPath, box: Box) -> None:
        super().__init__(scene, "error tile", box)
        high = box.height - label_high(self, trial.label)
        painter, plot = scene.painter, Box(box.left, box.bottom, box.width, high)
        painter.box(self.canvas, plot, "surface")
        distance = np.hypot(*(trial.hand_xy_mm - trial.disc_xy_mm).T)
        curve = _curve(trial.t_s, distance, plot)
        off = np.where(np.isfinite(distance) & (distance <= DISC_MM), np.nan, MOST_MM)
        shaded = _curve(trial.t_s, off, plot)
        under(painter, self.canvas, plot, shaded, 0.0, "quiet", 0.25)
        level = plot.bottom + DISC_MM / MOST_MM * plot.height
        painter.box(self.canvas, Box(plot.left, level, plot.width, RULE_MM), "line")
        painter.box(self.canvas, Box(plot.left, plot.bottom, plot.width, RULE_MM), "line")
        stroke(painter, self.canvas, plot, curve, SCREEN.hand_line, "accent")


def tiles(room: Box, count: int, wide: float, least_high: float) -> list[Box]:
    """Boxes of one size for so many trials, in as few rows as keep them at least so wide."""
    across = max(min(count, int((room.width + GAP_MM) // (wide + GAP_MM))), 1)
    rows = ceil(count / across)
    across = ceil(count / rows) if rows else 1
    width = (room.width - GAP_MM * (across - 1)) / across
    height = max((room.height - GAP_MM * (rows - 1)) / max(rows, 1), least_high)
    return [Box(room.left + (number % across) * (width + GAP_MM),
                room.top - (number // across) * (height + GAP_MM) - height, width, height)
            for number in range(count)]


def most_tiles(width: float, high: float, wide: float, least_high: float) -> int:
    """How many tiles of at least this size one sheet holds; at least one row of them."""
    across = max(int((width + GAP_MM) // (wide + GAP_MM)), 1)
    return across * max(int((high + GAP_MM + 1e-6) // (least_high + GAP_MM)), 1)


def mirrored(scene: Scene, room: Box, boxes: Sequence[Box]) -> list[Box]:
    """The boxes in reading order: from the right where the language is written so."""
    if scene.leading < 0:
        return list(boxes)
    return [Box(room.left + room.right - box.right, box.bottom, box.width, box.height) for box in boxes]


def _curve(t_s: Points, values: Points, plot: Box) -> Points:
    span = max(float(t_s[-1] - t_s[0]), 1e-9)
    x, y = (t_s - t_s[0]) / span * plot.width, np.minimum(values, MOST_MM) / MOST_MM * plot.height
    return np.column_stack([x, y])


def label_high(part: Part, text: str) -> float:
    """Draw the label above a tile; return the height it takes."""
    x, align = part.scene.line_start(part.box.left, part.box.right)
    baseline = part.box.top - 5.0
    lines = part.scene.painter.letters.lines(text, READ, part.box.width)
    for line in lines:
        part.say(line, READ, x, baseline, "quiet", align)
        baseline -= lines_mm(part.scene)
    return LABEL_MM + lines_mm(part.scene) * (len(lines) - 1)


@dataclass(frozen=True)
class Scale:
    """What the lower and the upper edge of the tiles stand for; level: where a thin line is drawn."""

    low: float
    high: float
    level: float | None = None


@dataclass(frozen=True, eq=False)
class Line:
    """A curve over its own x, from the left edge (0) to the right (1), in a colour of the theme."""

    x: Points
    y: Points
    role: str
    width_mm: float = SCREEN.hand_line


@dataclass(frozen=True)
class MovementKind:
    """One way of looking at the movement: the scale all trials share, and a trial's curves on it."""

    name: str
    scale_of: Callable[[Sequence[TrialCurves]], Scale]
    lines_of: Callable[[TrialCurves], list[Line]]


class CurveTile(Part):
    """The curves of one trial on the scale all trials share."""

    def __init__(self, scene: Scene, label: str, lines: Sequence[Line], scale: Scale, box: Box) -> None:
        super().__init__(scene, "curve tile", box)
        plot = Box(box.left, box.bottom, box.width, box.height - label_high(self, label))
        scene.painter.box(self.canvas, plot, "surface")
        if scale.level is not None:
            level = plot.bottom + float(_share(scale.level, scale)) * plot.height
            scene.painter.box(self.canvas, Box(plot.left, level, plot.width, RULE_MM), "line")
        for line in lines:
            points = np.column_stack([line.x * plot.width, _share(line.y, scale) * plot.height])
            stroke(scene.painter, self.canvas, plot, points, line.width_mm, line.role)


def both_ways(trials: Sequence[TrialCurves]) -> Scale:
    """A scale symmetrical about 0 for along and across alike."""
    most = max((_most(np.abs(np.concatenate([one.along_mm, one.across_mm]))) for one in trials), default=0.0)
    return Scale(-max(most, 1.0), max(most, 1.0), 0.0)


def speeds(trials: Sequence[TrialCurves]) -> Scale:
    """A scale from 0 to nearly the hand's highest speed, at least to the disc's highest."""
    hand = max((_percentile(one.hand_mm_s) for one in trials), default=0.0)
    return Scale(0.0, max(hand, max((_most(one.disc_mm_s) for one in trials), default=0.0), 1.0))


def powers(trials: Sequence[TrialCurves]) -> Scale:
    """A scale of whole powers of ten, as exponents."""
    logs = [_log_power(one.power) for one in trials if one.power.size]
    low, high = (min(one.min() for one in logs), max(one.max() for one in logs)) if logs else (-1.0, 1.0)
    return Scale(float(np.floor(low)), float(np.ceil(high)))


def along_lines(trial: TrialCurves) -> list[Line]:
    """The curve along the way; ahead of the disc is up."""
    return [Line(_evenly(trial.along_mm), trial.along_mm, "accent")]


def across_lines(trial: TrialCurves) -> list[Line]:
    """The curve across the way; left of the way is up."""
    return [Line(_evenly(trial.across_mm), trial.across_mm, "accent")]


def speed_lines(trial: TrialCurves) -> list[Line]:
    """The disc's speed and the hand's over it."""
    return [Line(_evenly(trial.disc_mm_s), trial.disc_mm_s, "line", SCREEN.disc_line),
            Line(_evenly(trial.hand_mm_s), trial.hand_mm_s, "accent")]


def spectrum_lines(trial: TrialCurves) -> list[Line]:
    """The power and the line laid through it; nothing where there was too little contact."""
    if not trial.power.size:
        return []
    x = np.log(trial.f_hz / trial.f_hz[0]) / np.log(trial.f_hz[-1] / trial.f_hz[0])
    fitted = (trial.f_hz >= LINE_HZ[0]) & (trial.f_hz <= LINE_HZ[1])
    return [Line(x, _log_power(trial.power), "accent"),
            Line(x[fitted], _log_power(trial.fitted_power[fitted]), "text")]


KINDS: Final = (
    MovementKind("along", both_ways, along_lines), MovementKind("across", both_ways, across_lines),
    MovementKind("speed", speeds, speed_lines), MovementKind("spectrum", powers, spectrum_lines))


def _share(value: Points | float, scale: Scale) -> Points:
    return np.asarray((np.asarray(value) - scale.low) / (scale.high - scale.low))


def _log_power(power: Points) -> Points:
    return np.asarray(np.log10(np.maximum(power, LEAST_POWER)))


def _evenly(values: Points) -> Points:
    return np.linspace(0.0, 1.0, values.size)


def _most(values: Points) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else 0.0


def _percentile(values: Points) -> float:
    known = values[np.isfinite(values)]
    return float(np.percentile(known, FASTEST_SHOWN)) if known.size else 0.0
