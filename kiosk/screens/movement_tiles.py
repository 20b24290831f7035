"""Pictures of each trial's movement, in order of testing: along and across the way, speed, spectrum. mm.

All trials of one kind share one scale, so that they can be set side by side. Time and frequency run to the
right in every language; the spectrum's axes are logarithmic.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.screens.curves import Points, stroke
from kiosk.screens.layout import Box
from kiosk.screens.parts import Part, Scene
from kiosk.screens.theme import RULE_MM
from kiosk.screens.trial_tiles import HAND_LINE_MM, TARGET_LINE_MM, label_high
from kiosk.wording.trial_curves import TrialCurves

FASTEST_SHOWN: Final = 99.5  # percentile of the hand's speed at which the scale ends
LINE_HZ: Final = (3.0, 12.0)
LEAST_POWER: Final = 1e-9    # mm^2/Hz: power of nothing at all has no log


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
    width_mm: float = HAND_LINE_MM


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
        scene.pen.box(self.canvas, plot, "surface")
        if scale.level is not None:
            level = plot.bottom + float(_share(scale.level, scale)) * plot.height
            scene.pen.box(self.canvas, Box(plot.left, level, plot.width, RULE_MM), "line")
        for line in lines:
            points = np.column_stack([line.x * plot.width, _share(line.y, scale) * plot.height])
            stroke(scene.pen, self.canvas, plot, points, line.width_mm, line.role)


def both_ways(trials: Sequence[TrialCurves]) -> Scale:
    """As far up as down, for along and across alike."""
    most = max((_most(np.abs(np.concatenate([one.along_mm, one.across_mm]))) for one in trials), default=0.0)
    return Scale(-max(most, 1.0), max(most, 1.0), 0.0)


def speeds(trials: Sequence[TrialCurves]) -> Scale:
    """From 0 to what the hand reaches but for its fastest moments, and at least to the disc's fastest."""
    hand = max((_percentile(one.hand_mm_s) for one in trials), default=0.0)
    return Scale(0.0, max(hand, max((_most(one.disc_mm_s) for one in trials), default=0.0), 1.0))


def powers(trials: Sequence[TrialCurves]) -> Scale:
    """Whole powers of ten, as exponents."""
    logs = [_log_power(one.power) for one in trials if one.power.size]
    low, high = (min(one.min() for one in logs), max(one.max() for one in logs)) if logs else (-1.0, 1.0)
    return Scale(float(np.floor(low)), float(np.ceil(high)))


def along_lines(trial: TrialCurves) -> list[Line]:
    """Ahead of the disc as followed is up."""
    return [Line(_evenly(trial.along_mm), trial.along_mm, "accent")]


def across_lines(trial: TrialCurves) -> list[Line]:
    """Left of the disc's way is up."""
    return [Line(_evenly(trial.across_mm), trial.across_mm, "accent")]


def speed_lines(trial: TrialCurves) -> list[Line]:
    """The disc's, then the hand's over it."""
    return [Line(_evenly(trial.disc_mm_s), trial.disc_mm_s, "line", TARGET_LINE_MM),
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
