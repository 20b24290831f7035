"""One window as measured: hand and disc on even instants, and the disc as the hand followed it.

Positions are complex, x + iy in millimetres, at every instant of the window. Where there is not contact
enough for scatter, lag and delay (or the recording does not cover the window) `timed` is None.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kiosk.pursuit.samples import Floats
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan, TrialRecord
from kiosk.scoring.accuracy import error_left, heading
from kiosk.scoring.grid import Bools, Points, Window, instants, on_grid
from kiosk.scoring.stalls import stalled
from kiosk.scoring.timing import CircleFit, WanderFit, fit_circle, fit_wander
from kiosk.scoring.validity import STALL_AT_LEAST_S, STALL_SHARE_OF_SPEED, is_covered, is_timed

Fit = CircleFit | WanderFit


@dataclass(frozen=True)
class Timed:
    """The fit, the disc as followed, and the stalls.

    left: the error (x + iy) from the disc as followed, its mean off; parts: the same as along + i across.
    """

    fit: Fit
    followed: Points
    left: Points
    parts: Points
    stalled: Bools


@dataclass(frozen=True)
class Movement:
    """The window of one recording beside its disc; latency_ms is what was taken off, None where not known."""

    plan: TrialPlan
    window: Window
    disc: Points
    covered: bool
    timed: Timed | None
    latency_ms: float | None


def measure(record: TrialRecord) -> Movement:
    """The movement of a recording, the device's latency taken off where the record carries it."""
    plan, latency_ms = record.plan, record.facts.latency_ms
    window = on_grid(record.samples, plan, (latency_ms or 0.0) / 1000.0)
    covered = is_covered(window, plan)
    timed = _timed(window, plan) if covered and is_timed(window) else None
    return Movement(plan, window, disc_of(plan), covered, timed, latency_ms)


def _timed(window: Window, plan: TrialPlan) -> Timed:
    disc = disc_of(plan)
    fit = _fit(window, plan)
    followed = _as_followed(window, fit, plan)
    left = error_left(window.hand, followed, window.contact)
    still = stalled(window.hand, disc, window.contact, STALL_SHARE_OF_SPEED, STALL_AT_LEAST_S)
    return Timed(fit, followed, left, np.asarray(left * np.conj(heading(followed))), still)


def _fit(window: Window, plan: TrialPlan) -> Fit:
    hand = window.hand[window.contact]
    if isinstance(plan.path, Circle):
        return fit_circle(hand, disc_of(plan)[window.contact], plan.path)
    return fit_wander(hand, window.contact, plan.path, plan.run_in_s, plan.window_s)


def _as_followed(window: Window, fit: Fit, plan: TrialPlan) -> Points:
    """The disc as the hand followed it: turned, or earlier by the delay."""
    if isinstance(fit, CircleFit):
        return np.asarray(disc_of(plan) * np.exp(1j * fit.turn_rad))
    return _points(plan, window.t_s - (fit.delay_s or 0.0))


@lru_cache(maxsize=32)
def disc_of(plan: TrialPlan) -> Points:
    """The disc at every instant of the window."""
    disc = _points(plan, instants(plan.run_in_s, plan.window_s))
    disc.setflags(write=False)
    return disc


def _points(plan: TrialPlan, t_s: Floats) -> Points:
    x_mm, y_mm = plan.position(t_s)
    return np.asarray(x_mm + 1j * y_mm)
