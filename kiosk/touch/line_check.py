"""What a panel does to a straight line: jitter still and moving, bowing, pull at the edges, dead zones.

A finger rests, then is drawn along the edge of a ruler or card: across, up, and from corner to corner, slowly
and briskly. The edge holds the finger, so what lies beside the straight line is the panel's. Along the line
nothing is known of the finger but that it moves.

jitter      SD beside a smooth curve (a polynomial of degree 4 in the way).
bow, edge   Largest distance of that curve from the straight line through the middle 60 % of the way: within
            it, and outside it, where the panel's edges are.
gap         Longest way between two reports, as far as it is longer than three usual ones and than jitter
            makes it: a place where the panel feels nothing, or a silence.
smoothing   White noise of the sensor leaves a first-order filter with an autocorrelation of exp(-dt / tau)
            from one report to the next (Box and Jenkins, Time Series Analysis, AR(1); from memory). tau is
            None where the autocorrelation is not above what chance gives (2 / sqrt(n)): without noise a
            filter does not show, and nothing is said of it.
Millimetres, seconds, milliseconds. Decision touch-10.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import Floats, Samples
from kiosk.touch.device_check import MOST_NOISE_MM, REFUSED_NOISE_MM
from kiosk.touch.verdict import DeviceReason, Verdict, above, worst

LEAST_REPORTS: Final = 40
LEAST_WAY_MM: Final = 60.0
MOST_STILL_MM: Final = 10.0
MIDDLE: Final = (0.2, 0.8)
CURVE_DEGREE: Final = 4
USUAL_STEPS: Final = 3.0
JITTER_TIMES: Final = 6.0
MOST_BOW_MM: Final = 1.0
MOST_EDGE_MM: Final = 3.0
MOST_GAP_MM: Final = 2.0
MOST_SMOOTHING_MS: Final = 15.0
REFUSED_SMOOTHING_MS: Final = 45.0   # .1 SD of wander scatter (tests/benchmarks/panel_consequences.py)
NOISE_SHOWS_MM: Final = 0.02
OF_STILL: Final = 2.0                # jitter of movement: this many times that at rest


class Line(StrEnum):
    """What is drawn, in this order."""

    STILL = "still"
    ACROSS_SLOW = "across_slow"
    ACROSS_BRISK = "across_brisk"
    UP_SLOW = "up_slow"
    UP_BRISK = "up_brisk"
    CORNERS_SLOW = "corners_slow"
    CORNERS_BRISK = "corners_brisk"


@dataclass(frozen=True)
class LineFigures:
    """Of one line; gap_x_mm and gap_y_mm: where the longest way without a report begins."""

    line: Line
    jitter_mm: float
    bow_mm: float = 0.0
    edge_mm: float = 0.0
    gap_mm: float = 0.0
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0
    smoothing_ms: float | None = None


@dataclass(frozen=True)
class LineCheck:
    """All lines, and the verdict."""

    lines: tuple[LineFigures, ...]
    verdict: Verdict
    reasons: tuple[DeviceReason, ...]

    @property
    def moving_jitter_mm(self) -> float:
        """Root mean square over the lines drawn."""
        return float(np.sqrt(np.mean([one.jitter_mm**2 for one in self.lines if one.line is not Line.STILL])))


def of_line(line: Line, contact: Samples) -> LineFigures:
    """The figures of one contact; Refused `line_too_short` or `finger_did_not_rest`."""
    place = np.stack([contact.x_mm, contact.y_mm])[:, contact.contact]
    t_s = contact.t_s[contact.contact]
    if line is Line.STILL:
        spread = place - place.mean(axis=1, keepdims=True)
        far_mm = float(np.hypot(*spread).max(initial=0.0))
        if above(far_mm, MOST_STILL_MM):
            raise Refused("finger_did_not_rest", {"moved_mm": far_mm, "most_mm": MOST_STILL_MM})
        return LineFigures(line, float(np.sqrt(np.mean(spread**2))))
    way_mm = float(np.hypot(*(place[:, -1] - place[:, 0]))) if t_s.size else 0.0
    if t_s.size < LEAST_REPORTS or way_mm < LEAST_WAY_MM:
        raise Refused("line_too_short", {"way_mm": way_mm, "least_mm": LEAST_WAY_MM})
    along, beside = _turned(place)
    through = (along - along[0]) / (along[-1] - along[0])
    curve = np.polynomial.Polynomial.fit(through, beside, CURVE_DEGREE)(through)
    middle = (through >= MIDDLE[0]) & (through <= MIDDLE[1])
    straight = np.polynomial.Polynomial.fit(through[middle], curve[middle], 1)(through)
    rest, off_mm = beside - curve, np.abs(curve - straight)
    steps_mm = np.hypot(*np.diff(place))
    longest = int(steps_mm.argmax())
    jitter_mm = float(rest.std(ddof=CURVE_DEGREE + 1))
    gap = steps_mm[longest] > USUAL_STEPS * np.median(steps_mm) + JITTER_TIMES * jitter_mm
    return LineFigures(
        line, jitter_mm, float(off_mm[middle].max()),
        float(off_mm[~middle].max(initial=0.0)), float(steps_mm[longest]) if gap else 0.0,
        float(place[0, longest]), float(place[1, longest]), _filter_ms(rest, np.diff(t_s)))


def _turned(place: Floats) -> tuple[Floats, Floats]:
    """Along and beside the line from the first place to the last."""
    way = place[:, -1] - place[:, 0]
    turned = (place[0] - place[0, 0] + 1j * (place[1] - place[1, 0])) * np.conj(way[0] + 1j * way[1])
    turned /= np.hypot(*way)
    return turned.real, turned.imag


def _filter_ms(rest_mm: Floats, interval_s: Floats) -> float | None:
    power = float(rest_mm @ rest_mm)
    follows = float(rest_mm[1:] @ rest_mm[:-1]) / power if power > 0 else 0.0
    if follows <= 2 / np.sqrt(rest_mm.size) or follows >= 1:
        return None
    return float(-1000 * np.median(interval_s) / np.log(follows))


def response_ms(lines: Sequence[LineFigures]) -> float | None:
    """The filter's time constant; 0 where noise came through as it was, None where too little shows."""
    found_ms = smoothing_ms(lines)
    drawn = [one.jitter_mm for one in lines if one.line is not Line.STILL]
    if found_ms is None and drawn and float(np.median(drawn)) >= NOISE_SHOWS_MM:
        return 0.0
    return found_ms


def check_lines(lines: Sequence[LineFigures]) -> LineCheck:
    """The verdict on all lines."""
    reasons = tuple(_reasons(lines))
    return LineCheck(tuple(lines), worst(reasons), reasons)


def _reasons(lines: Sequence[LineFigures]) -> Iterator[DeviceReason]:
    drawn = [one for one in lines if one.line is not Line.STILL]
    still_mm = max((one.jitter_mm for one in lines if one.line is Line.STILL), default=0.0)
    moving_mm = float(np.sqrt(np.mean([one.jitter_mm**2 for one in drawn])))
    if above(moving_mm, MOST_NOISE_MM) and moving_mm > OF_STILL * still_mm:
        yield DeviceReason("jitter_in_motion", {"moving_mm": moving_mm, "still_mm": still_mm},
                           "refuse" if above(moving_mm, REFUSED_NOISE_MM) else "warn")
    elif above(max(moving_mm, still_mm), MOST_NOISE_MM):
        yield DeviceReason("touch_noisy", {"noise_mm": max(moving_mm, still_mm), "most_mm": MOST_NOISE_MM},
                           "refuse" if above(max(moving_mm, still_mm), REFUSED_NOISE_MM) else "warn")
    bow_mm, edge_mm = (max(getattr(one, name) for one in drawn) for name in ("bow_mm", "edge_mm"))
    if above(bow_mm, MOST_BOW_MM):
        yield DeviceReason("lines_bowed", {"bow_mm": bow_mm, "most_mm": MOST_BOW_MM})
    if above(edge_mm, MOST_EDGE_MM):
        yield DeviceReason("edges_pulled", {"edge_mm": edge_mm, "most_mm": MOST_EDGE_MM})
    deaf = max(drawn, key=lambda one: one.gap_mm)
    if above(deaf.gap_mm, MOST_GAP_MM):
        yield DeviceReason("dead_zone", {
            "gap_mm": deaf.gap_mm, "x_mm": deaf.gap_x_mm, "y_mm": deaf.gap_y_mm}, "refuse")
    tau_ms = smoothing_ms(lines)
    if tau_ms is not None and above(tau_ms, MOST_SMOOTHING_MS):
        yield DeviceReason("panel_smooths", {"tau_ms": tau_ms, "most_ms": MOST_SMOOTHING_MS},
                           "refuse" if above(tau_ms, REFUSED_SMOOTHING_MS) else "warn")


def smoothing_ms(lines: Sequence[LineFigures]) -> float | None:
    """The filter's time constant, the median of the lines; None where at least half of them show none."""
    found = [one.smoothing_ms for one in lines if one.line is not Line.STILL]
    seen = [one for one in found if one is not None]
    return float(np.median(seen)) if 2 * len(seen) > len(found) else None
