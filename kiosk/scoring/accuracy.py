"""How near the hand is to the disc: error, time on target, scatter, offset.

Positions are complex, x + iy in millimetres, at every instant of the window. Where the finger is lifted the
hand is held where it last was: that counts for error and never as on target, so lifting cannot improve
either; scatter and offset take instants on the glass only.

The disc as followed is the disc turned (circle) or shifted in time (wander) by the hand's own lag. Along is
the way it goes, positive ahead; across is to its left. Decision scoring-6.
"""

from typing import Final

import numpy as np

from kiosk.scoring.grid import Bools, Points

FARTHEST_MM: Final = 40.0
_SAME_MM: Final = 1e-9  # the rim belongs to the disc, rounding or not


def error_rms_mm(hand: Points, disc: Points) -> float:
    """RMS distance from the disc over the whole window, each instant's cut at 40 mm.

    >>> round(error_rms_mm(np.array([3 + 4j, 100 + 0j]), np.array([0j, 0j])) ** 2, 9)  # (25 + 1600) / 2
    812.5
    """
    distance_mm = np.minimum(np.abs(hand - disc), FARTHEST_MM)
    return float(np.sqrt(np.mean(distance_mm**2)))


def time_on_target_percent(hand: Points, disc: Points, contact: Bools, radius_mm: float) -> float:
    """Share of the window with the fingertip on the disc, its rim included.

    >>> hand, disc = np.array([12 + 0j, 12.01 + 0j, 0j]), np.zeros(3, complex)
    >>> round(time_on_target_percent(hand, disc, np.array([True, True, False]), 12.0), 6)
    33.333333
    """
    return float(100.0 * np.mean(on_target(hand, disc, contact, radius_mm)))


def on_target(hand: Points, disc: Points, contact: Bools, radius_mm: float) -> Bools:
    """Whether the fingertip is on the disc, its rim included, at every instant."""
    return np.asarray(contact & (np.abs(hand - disc) <= radius_mm + _SAME_MM))


def offset_mm(hand: Points, disc: Points) -> complex:
    """The mean vector from disc to hand, at instants on the glass."""
    return complex(np.mean(hand - disc))


def scatter_mm(hand: Points, disc_as_followed: Points) -> float:
    """RMS distance from where the hand's own lag puts the disc, after the mean vector is taken off.

    `disc_as_followed` is the disc turned (circle) or shifted in time (wander) by the hand's own lag. This is
    the variable error of the field's terms (constant error: the offset; total: error_rms).

    >>> scatter_mm(np.array([5 + 1j, 5 - 1j]), np.array([0j, 0j]))
    1.0
    """
    left = hand - disc_as_followed
    return float(np.sqrt(np.mean(np.abs(left - left.mean()) ** 2)))


def heading(followed: Points) -> Points:
    """The way the disc goes at every instant, as unit vectors; 1 where it does not move.

    >>> heading(np.array([0j, 2j, 4j])).tolist()
    [1j, 1j, 1j]
    """
    way = np.gradient(followed)
    length = np.abs(way)
    still = length == 0.0
    way[still], length[still] = 1.0, 1.0
    return np.asarray(way / length)


def error_left(hand: Points, followed: Points, contact: Bools) -> Points:
    """Hand less disc as followed at every instant, its mean vector over the contact taken off.

    >>> error_left(np.array([1j, 3j, 5j]), np.array([0j, 2j, 4j]) + 1, np.ones(3, bool)).tolist()
    [0j, 0j, 0j]
    """
    left = hand - followed
    return np.asarray(left - left[contact].mean())
