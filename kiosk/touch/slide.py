"""The tablet's latency without a camera: a line is drawn ahead of a sliding fingertip until it lies under it.

The operator slides a fingertip to and fro with a mark that sets an even pace. A line is drawn where the
finger will be `lead` later than its latest report: at place + speed x (now - stamp + lead). Finger and line
are seen at the same moment, so they lie on each other when the lead is the latency of touch and picture.
How far the operator trails the pacing mark does not enter. A touch beside the place that is meant, or a look
from the side, shifts the line the same way in both directions and is balanced between them; how soon an
operator is satisfied is balanced by starting in turn from too short and from too long a lead. One pair of
settings is one estimate; their spread gives the standard error.

Method: E. Cattan, A. Rochet-Capellan, F. Bérard, A predictive approach for an end-to-end touch-latency
measurement, ITS 2015, pp. 215-218 (the operator tunes a prediction until it makes up for the lag; abstract
read, page numbers from memory), which its authors found more precise than the estimator without prediction of
F. Bérard and R. Blanch, Two touch system latency estimators, ITS 2013, pp. 241-250. Starts from above and
below: the method of adjustment of psychophysics (Gescheider, Psychophysics: The Fundamentals, from memory).
Millimetres, seconds, milliseconds.
"""

from collections.abc import Sequence
from math import sqrt
from statistics import fmean, stdev
from typing import Final

import numpy as np

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import Floats
from kiosk.touch.latency import DeviceLatency, check_plausible
from kiosk.touch.verdict import above

METHOD: Final = "operator_slide"
PAIRS: Final = 5
STARTS_MS: Final = (0.0, 200.0)  # too short and too long, in turn
START_BESIDE_MS: Final = 40.0    # once a pair is known: so far below and above it
STEP_MS: Final = 4.0
COARSE_STEP_MS: Final = 20.0
HALF_WAY_MM: Final = 70.0
PASS_S: Final = 0.7              # the pacing mark crosses in this time, 200 mm/s
SPEED_OVER_S: Final = 0.060      # the finger's speed is the slope of its reports in this time
LEAST_SPEED_MM_S: Final = 80.0
FROM_MM: Final = -20.0           # along the pass: the latest report lies beyond, the line lies before
UNTIL_MM: Final = 50.0
MOST_SE_MS: Final = 2.7          # moves no score by more than .1 SD (tests/benchmarks/panel_consequences.py)


def pace_mm(t_s: float) -> float:
    """Where the pacing mark is: to and fro at even speed.

    >>> [round(pace_mm(t), 1) for t in (0.0, 0.175, 0.7, 0.875, 1.4)]
    [-70.0, -35.0, 70.0, 35.0, -70.0]
    """
    through = (t_s / PASS_S) % 2.0
    return HALF_WAY_MM * (2.0 * min(through, 2.0 - through) - 1.0)


def line_mm(t_s: Floats, x_mm: Floats, now_s: float, lead_s: float) -> float | None:
    """Where the line is drawn, from the latest reports of one contact; None where it is not.

    It is drawn only while the finger has long moved evenly: not after a turn, and not before the next one.

    >>> line_mm(np.array([0.0, 0.01, 0.02]), np.array([0.0, 2.0, 4.0]), now_s=0.025, lead_s=0.05)
    15.0
    """
    if t_s.size == 0:
        return None
    recent = t_s >= t_s[-1] - SPEED_OVER_S
    if int(np.sum(recent)) < 3:
        return None
    late_s, place_mm = t_s[recent] - t_s[-1], x_mm[recent]
    spread = late_s - late_s.mean()
    if not np.any(spread):
        return None
    speed_mm_s = float(np.sum(spread * place_mm) / np.sum(spread**2))
    at_end_mm = float(place_mm.mean() - speed_mm_s * late_s.mean())
    way, line = float(np.sign(speed_mm_s)), at_end_mm + speed_mm_s * (now_s - float(t_s[-1]) + lead_s)
    even = abs(speed_mm_s) > LEAST_SPEED_MM_S and way * at_end_mm > FROM_MM and way * line < UNTIL_MM
    return round(line, 9) if even else None


def start_ms(leads_ms: Sequence[float]) -> float:
    """The lead that the next setting begins with.

    >>> start_ms([]), start_ms([60.0]), start_ms([60.0, 70.0]), start_ms([60.0, 70.0, 66.0])
    (0.0, 200.0, 25.0, 105.0)
    """
    if len(leads_ms) < 2:
        return STARTS_MS[len(leads_ms)]
    side = (-1.0, 1.0)[len(leads_ms) % 2]
    return fmean(leads_ms[:2]) + side * START_BESIDE_MS


def from_settings(leads_ms: Sequence[float]) -> DeviceLatency:
    """The latency from leads at which the line lay under the fingertip, begun too short and too long in turn.

    Refused `too_few_settings`, `latency_not_plausible` or `settings_differ` (SE above its limit).

    >>> found = from_settings([60, 70, 64, 68, 61, 71, 63, 67, 64, 72])
    >>> round(found.latency_ms, 3), round(found.se_ms, 3)  # pairs 65 66 66 65 68: SD 1.225 over sqrt 5
    (66.0, 0.548)
    """
    if len(leads_ms) < 2 * PAIRS:
        raise Refused("too_few_settings", {"settings": len(leads_ms), "least": 2 * PAIRS})
    check_plausible([fmean(leads_ms), max(leads_ms)])  # one setting of a fast panel may be near 0
    pairs_ms = [(low_ms + high_ms) / 2 for low_ms, high_ms in zip(leads_ms[::2], leads_ms[1::2], strict=True)]
    sd_ms = stdev(pairs_ms)
    se_ms = sd_ms / sqrt(len(pairs_ms))
    if above(se_ms, MOST_SE_MS):
        raise Refused("settings_differ", {"se_ms": se_ms, "most_ms": MOST_SE_MS})
    return DeviceLatency(fmean(pairs_ms), sd_ms, se_ms, METHOD, tuple(leads_ms))
