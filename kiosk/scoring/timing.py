"""How far the hand is behind the disc, and how much of the disc's movement it takes up.

Positions are complex, x + iy in millimetres, at the instants where the finger is on the glass; seconds,
radians. Both fits take the mean out of hand and disc alike, so that a gap in contact does not leak the hand's
offset into its lag; over whole turns without a gap this is the plain definition. lag_s and delay_s are
positive behind the disc and None where the hand did not move at all.

Decisions scoring-1, scoring-2, scoring-7, scoring-9.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from math import cos, pi, sin
from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats
from kiosk.pursuit.target import Circle, Line, Wander
from kiosk.scoring.grid import Bools, Points, instants

STILL_GAIN: Final = 1e-9  # below this the hand's movement with the disc is rounding, not movement


@dataclass(frozen=True)
class CircleFit:
    """turn_rad: the angle from disc to hand, along the glass (not the direction of the disc)."""

    gain: float
    turn_rad: float
    lag_s: float | None


@dataclass(frozen=True)
class WanderFit:
    """delay_s with its standard error, and the share of the hand's variance at the six lines (0-1).

    gain: the hand's amplitude per amplitude of the disc, over the six lines in step with the delay; gain_se.
    half_turn_s: half the period of the fastest line, beyond which a delay is not told from a shorter one.
    at_lines: the part of the hand's movement at the six lines, mm, at the instants on the glass.
    """

    delay_s: float | None
    se_s: float | None
    follow: float
    gain: float = 0.0
    gain_se: float = 0.0
    half_turn_s: float = float("inf")
    at_lines: Points | None = field(default=None, compare=False, repr=False)


def fit_circle(hand: Points, disc: Points, circle: Circle) -> CircleFit:
    """Lag on a circle from the mean angle between hand and disc.

    lag = -direction x angle(sum (z_hand - mean) conj(z_disc - mean)) / angular speed. It is known only
    modulo the period; ahead is negative.

    >>> circle = Circle(40.0, 8.0, -1, 0.0)
    >>> disc = 40.0 * np.exp(-2j * np.pi * np.arange(64) / 64)
    >>> fit = fit_circle(disc * np.exp(0.25j * np.pi / 8) + 5.0, disc, circle)
    >>> round(fit.lag_s, 9), round(fit.gain, 9)
    (0.125, 1.0)
    """
    moved, asked = hand - hand.mean(), disc - disc.mean()
    product = np.vdot(asked, moved)
    gain = float(abs(product) / np.vdot(asked, asked).real)
    turn_rad = float(np.angle(product))
    lag_s = -circle.direction * turn_rad * circle.period_s / (2 * pi)
    return CircleFit(gain, turn_rad, lag_s if gain > STILL_GAIN else None)


def fit_wander(hand: Points, contact: Bools, path: Wander, run_in_s: float, window_s: float) -> WanderFit:
    """Delay on a wander path by least squares at its six lines.

    x and y are each regressed on a constant and the cosine and sine of all six lines. At each line's own axis
    G = hand / disc; the delay is the slope of angle G on the angular speed w, through the origin, the six
    lines counting alike: delay = -sum(w angle G) / sum(w^2), SE = sqrt(sum(residual^2) / (6 - 1) / sum(w^2)).
    Delays beyond half a period of the fastest line (0.77 s) are not told apart from earlier ones.
    """
    regressors = _regressors(path, run_in_s, window_s)
    known = regressors if contact.all() else regressors[contact]
    weights = _weights(hand, known)
    parts = _line_parts(weights)
    lines = (*path.x, *path.y)
    own = np.array([axis[number] for number, axis in enumerate(_axes(path, parts))])
    speed = np.array([2 * pi * line.multiple / path.period_s for line in lines])
    angle = np.angle(own / np.array([_amplitude(line) for line in lines]))
    delay_s = float(-speed @ angle / (speed @ speed))
    left_rad = angle + speed * delay_s
    se_s = float(np.sqrt(left_rad @ left_rad / (speed.size - 1) / (speed @ speed)))
    half_turn_s = float(pi / speed.max())
    if not np.abs(own).max() > STILL_GAIN:
        return WanderFit(None, None, 0.0, half_turn_s=half_turn_s)
    at_lines = _at_own_lines(path, known, weights)
    follow = _variance(at_lines) / max(_variance(hand), np.finfo(float).tiny)
    asked = np.array([_amplitude(line) for line in lines])
    return WanderFit(delay_s, se_s, min(follow, 1.0), *_gain(own * np.exp(1j * speed * delay_s), asked),
                     half_turn_s, at_lines)


def _gain(hand: Points, disc: Points) -> tuple[float, float]:
    """Amplitude per amplitude at lines in step, through the origin, with its standard error.

    >>> gain, se = _gain(np.array([0.5 + 0j, 2 + 0j]), np.array([1 + 0j, 2 + 0j]))
    >>> round(gain, 9), round(se, 9)  # (1 x 0.5 + 2 x 2) / 5, sqrt((0.4^2 + 0.2^2) / 1 / 5)
    (0.9, 0.2)
    """
    asked = np.abs(disc)
    taken = np.real(hand * np.conj(disc)) / asked
    gain = float(asked @ taken / (asked @ asked))
    left = taken - gain * asked
    return gain, float(np.sqrt(left @ left / (asked.size - 1) / (asked @ asked)))


def _amplitude(line: Line) -> complex:
    return line.amplitude_mm * complex(cos(line.phase_rad), sin(line.phase_rad))


def _variance(hand: Points) -> float:
    return float(np.mean(np.abs(hand - hand.mean()) ** 2))


def _axes(path: Wander, parts: tuple[Points, Points]) -> list[Points]:
    """The hand's lines on the axis that each line of the path belongs to, x first."""
    return [parts[0]] * len(path.x) + [parts[1]] * len(path.y)


def _weights(hand: Points, known: Floats) -> Floats:
    """Least squares of x and y on the regressors, shape (regressors, 2)."""
    both = np.stack([hand.real, hand.imag], axis=1)
    return np.asarray(np.linalg.solve(known.T @ known, known.T @ both))


def _line_parts(weights: Floats) -> tuple[Points, Points]:
    """The hand's complex amplitude at every line: Re(H exp(iws)) is the fitted cosine. For x, then for y."""
    cosines, sines = weights[1::2], weights[2::2]
    lines = cosines - 1j * sines
    return lines[:, 0], lines[:, 1]


def _at_own_lines(path: Wander, known: Floats, weights: Floats) -> Points:
    """The part of the hand's movement at the lines of each axis itself, at the same instants."""
    split, end = 1 + 2 * len(path.x), known.shape[1]
    x_mm = known[:, 1:split] @ weights[1:split, 0]
    y_mm = known[:, split:end] @ weights[split:end, 1]
    return np.asarray(x_mm + 1j * y_mm)


@lru_cache(maxsize=16)
def _regressors(path: Wander, run_in_s: float, window_s: float) -> Floats:
    """Constant, then cosine and sine of every line at path time (t less half the run-in), by instant."""
    s = instants(run_in_s, window_s) - run_in_s / 2
    columns = [np.ones_like(s)]
    for line in (*path.x, *path.y):
        angle = 2 * pi * line.multiple * s / path.period_s
        columns += [np.cos(angle), np.sin(angle)]
    return np.stack(columns, axis=1)
