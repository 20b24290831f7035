"""Stalls: moments at which the hand stood still although the disc went on.

Positions are complex, x + iy in millimetres, at every instant of the window. Speeds are taken over a tenth of
a second, so that the grain of the samples does not make one. Which speed and how long count as a stall is
decided in validity.py.
"""

from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats
from kiosk.scoring.grid import GRID_HZ, Bools, Points

OVER: Final = round(0.1 * GRID_HZ)  # instants


def speed_mm_s(points: Points) -> Floats:
    """Speed over a tenth of a second about each instant; half of that at the window's edges.

    >>> speed_mm_s(np.arange(48) * 0.1).round(9)[[0, 24, 47]].tolist()
    [24.0, 24.0, 24.0]
    """
    at = np.arange(points.size)
    after, before = np.minimum(at + OVER // 2, points.size - 1), np.maximum(at - OVER // 2, 0)
    return np.asarray(np.abs(points[after] - points[before]) * GRID_HZ / (after - before))


def long_spells(flags: Bools, at_least_s: float) -> Bools:
    """The flags in unbroken spells of at least that length.

    >>> long_spells(np.array([True, False, True, True]), 2 / GRID_HZ).tolist()
    [False, False, True, True]
    """
    padded = np.concatenate(([False], flags, [False]))
    begins, ends = np.flatnonzero(~padded[:-1] & padded[1:]), np.flatnonzero(padded[:-1] & ~padded[1:])
    kept = ends - begins >= at_least_s * GRID_HZ - 1e-9
    found = np.zeros(flags.size, np.bool_)
    for begin, end in zip(begins[kept].tolist(), ends[kept].tolist(), strict=True):
        found[begin:end] = True
    return found


def stalled(hand: Points, disc: Points, contact: Bools, slower_than: float, at_least_s: float) -> Bools:
    """Whether the hand, on the glass, is in a spell slower than this share of the disc's speed.

    >>> disc = np.arange(240) * 0.2 + 0j
    >>> hand = np.where(np.arange(240) < 100, 0, disc)
    >>> int(stalled(hand, disc, np.ones(240, bool), 0.2, 0.2).sum())
    88
    """
    slow = speed_mm_s(hand) < slower_than * speed_mm_s(disc)
    return long_spells(slow & contact, at_least_s)


def begins(flags: Bools) -> Bools:
    """The first instant of every spell.

    >>> begins(np.array([True, True, False, True])).tolist()
    [True, False, False, True]
    """
    found = flags.copy()
    found[1:] &= ~flags[:-1]
    return found
