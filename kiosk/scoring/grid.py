"""The window of a trial on even instants: where the hand was, and whether it was on the glass.

Instants t = run-in + k/240 s, k = 0 .. 240 x window - 1 (half open). Positions are complex, x + iy in
millimetres; times in seconds since the disc set off, the device's latency taken off: a touch stamped t shows
the hand as it answered the disc of t - latency, so the samples move earlier by the latency.

Between samples
---------------
silence   Input layers drop unchanged values, so a longer silence with the finger down means that the hand is
          where it was. Samples up to 2.5 nominal intervals apart are joined by a straight line; over a longer
          silence the hand holds until one nominal interval before the next sample, then moves straight to it.
          Nominal is the median interval while moving (both samples in contact, positions differ).
lift      Begins at the first contact-0 sample, where the finger last was, and ends at the next contact-1
          sample, whatever lies between. Up to 100 ms it is bridged by a straight line and does not count; a
          longer one holds the last position and is no contact.
edges     Before the first sample the hand is where it came down, after the last where it was. Samples at
          negative times do not count; the last of them only says where a silent finger rests at 0.
`hand` is NaN, and `contact` False, only where there is no sample at all. Decision scoring-3.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kiosk.pursuit.samples import Floats, Samples
from kiosk.pursuit.trial import TrialPlan

GRID_HZ: Final = 240
JOINED_INTERVALS: Final = 2.5
BRIDGED_LIFT_S: Final = 0.100
_SAME_S: Final = 1e-9  # times nearer than this are equal

Points = NDArray[np.complex128]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Window:
    """Hand and contact at every instant, each of shape (n,), and how the hand was sampled.

    nominal_s and p95_s: median and 95th percentile of the interval while moving; None where nothing moved.
    first_s and last_s: between these the hand is known, on the recording's own clock; None without samples.
    jump_mm: the longest way between two neighbouring samples on the glass, up to the window's end.
    """

    t_s: Floats
    hand: Points
    contact: Bools
    lifts: int
    nominal_s: float | None
    p95_s: float | None
    first_s: float | None
    last_s: float | None
    jump_mm: float


@dataclass(frozen=True)
class _Track:
    """Samples with one row for each lift, each of shape (n,); lasting_s: time to the next row, last inf."""

    t_s: Floats
    at: Points
    down: Bools
    lasting_s: Floats


def instants(run_in_s: float, window_s: float) -> Floats:
    """The window's instants.

    >>> t = instants(2.0, 16.0)
    >>> t.size, float(t[0]), float(t[-1]) < 18.0
    (3840, 2.0, True)
    """
    return run_in_s + np.arange(round(GRID_HZ * window_s)) / GRID_HZ


def on_grid(samples: Samples, plan: TrialPlan, latency_s: float = 0.0) -> Window:
    """The window of a recording, after the device's latency is taken off."""
    t_s = instants(plan.run_in_s, plan.window_s)
    track = _track(samples)
    intervals_s = track.lasting_s[_moving(track)]
    nominal_s = float(np.median(intervals_s)) if intervals_s.size else None
    hand, contact, lifts = _sampled(track, nominal_s or 0.0, t_s + latency_s)
    return Window(
        t_s=t_s, hand=hand, contact=contact, lifts=lifts, nominal_s=nominal_s,
        p95_s=float(np.percentile(intervals_s, 95)) if intervals_s.size else None,
        first_s=max(float(track.t_s[0]), 0.0) if track.t_s.size else None,
        last_s=float(samples.t_s[-1]) if track.t_s.size else None,
        jump_mm=_longest_jump(track, plan.run_in_s + plan.window_s))


def _track(samples: Samples) -> _Track:
    """All samples, but of each lift only its begin, held where the finger last was."""
    down, at = samples.contact, samples.x_mm + 1j * samples.y_mm
    lifting = down[:-1] & ~down[1:]
    at[1:][lifting] = at[:-1][lifting]
    kept = down.copy()
    kept[1:] |= lifting
    kept[:1] = True
    t_s = samples.t_s[kept]
    return _Track(t_s, at[kept], down[kept], np.diff(t_s, append=np.inf))


def _moving(track: _Track) -> Bools:
    """Which rows, from 0 on, are on the glass and followed by a later one on the glass at another place."""
    moving = np.zeros(track.t_s.size, np.bool_)
    moving[:-1] = (np.diff(track.at) != 0) & (track.lasting_s[:-1] > 0.0) & track.down[1:] & track.down[:-1]
    return np.logical_and(moving, track.t_s >= 0.0)


def _sampled(track: _Track, nominal_s: float, t_s: Floats) -> tuple[Points, Bools, int]:
    """Hand, contact and number of lifts at t_s."""
    if not track.t_s.size:
        return np.full(t_s.size, np.nan + 0j), np.zeros(t_s.size, np.bool_), 0
    row = np.maximum(np.searchsorted(track.t_s, t_s + _SAME_S, side="right") - 1, 0)
    on_glass = track.down | (track.lasting_s <= BRIDGED_LIFT_S + _SAME_S)
    contact = on_glass[row]
    leaves_s = _leaves_s(track, on_glass, nominal_s)[row]
    until_s = (track.t_s + track.lasting_s)[row]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip((t_s - leaves_s) / (until_s - leaves_s), 0.0, 1.0)
    step = np.diff(track.at, append=track.at[-1:])[row]
    hand = track.at[row] + np.where(np.isfinite(leaves_s), share, 0.0) * step
    return hand, contact, np.unique(row[~contact]).size


def _leaves_s(track: _Track, on_glass: Bools, nominal_s: float) -> Floats:
    """When the hand leaves each row's place on a straight line to the next row; inf: not before that row."""
    silent = track.down & (track.lasting_s > JOINED_INTERVALS * nominal_s + _SAME_S)
    leaves_s = np.where(silent, track.t_s + track.lasting_s - nominal_s, track.t_s)
    return np.where(on_glass & np.isfinite(track.lasting_s), leaves_s, np.inf)


def _longest_jump(track: _Track, end_s: float) -> float:
    near = track.down[:-1] & track.down[1:] & (track.t_s[:-1] >= 0.0) & (track.t_s[1:] <= end_s)
    return float(np.abs(np.diff(track.at))[near].max(initial=0.0))
