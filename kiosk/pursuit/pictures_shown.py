"""What the person saw of a moving disc: how long the picture stood still, and how old it was.

A picture is behind the disc by its own age, so that a hand which follows it is behind too. Sixty pictures a
second are enough on any machine: a faster display that misses every second refresh still shows them. A slower
display shows its own number, and that is due. Seconds; flip_t_s (n,) are the times, increasing, at which
pictures went to the display. Decision touch-8.
"""

from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats

ENOUGH_HZ: Final = 60.0
LATE: Final = 1.5  # due intervals between two pictures beyond which one is late


def due_s(refresh_hz: float) -> float:
    """The interval at which new pictures are due on a display of this refresh rate, seconds.

    >>> due_s(120.0) == 1 / 60, due_s(30.0) == 1 / 30
    (True, True)
    """
    return 1.0 / min(refresh_hz, ENOUGH_HZ)


def standstill_s(flip_t_s: Floats, from_s: float, to_s: float) -> float:
    """The longest time between two pictures that reaches into from_s to to_s; 0 with fewer than two pictures.

    >>> standstill_s(np.array([0.0, 0.1, 0.4, 0.5]), 0.2, 0.5)
    0.30000000000000004
    """
    return float(_intervals(flip_t_s, from_s, to_s).max(initial=0.0))


def late_s(flip_t_s: Floats, refresh_hz: float, from_s: float, to_s: float) -> float:
    """Time between from_s and to_s without the new picture that was due: of each late one, what it was late.

    >>> round(late_s(np.array([0.0, 1 / 60, 2 / 60, 6 / 60]), 60.0, 0.0, 1.0), 3)  # one took four intervals
    0.05
    """
    intervals, due = _intervals(flip_t_s, from_s, to_s), due_s(refresh_hz)
    return float(np.sum(intervals[intervals > LATE * due] - due))


def added_age_s(flip_t_s: Floats, refresh_hz: float, from_s: float, to_s: float) -> float:
    """How much older than due the picture was on average between from_s and to_s; below 0 where it was newer.

    A picture that is shown for g seconds is g/2 old on average, where d/2 was due. Whoever follows the
    picture is behind by as much. 0 with fewer than two pictures.

    >>> t_s = np.array([0.0, 1 / 60, 2 / 60, 6 / 60])  # two thirds of the time 1.5/60 s older
    >>> round(added_age_s(t_s, 60.0, 0.0, 0.1), 6) == round(2 / 3 * 1.5 / 60, 6)
    True
    """
    intervals = _intervals(flip_t_s, from_s, to_s)
    if not intervals.size:
        return 0.0
    return float(np.sum(intervals**2) / np.sum(intervals) / 2) - due_s(refresh_hz) / 2


def _intervals(flip_t_s: Floats, from_s: float, to_s: float) -> Floats:
    return np.diff(flip_t_s)[(flip_t_s[1:] > from_s) & (flip_t_s[:-1] < to_s)]
