"""Standard errors of one trial's figures, from the trial itself: whole seconds of the window drawn anew.

The error of one instant is much like that of the next, so single instants cannot be drawn. The window is cut
into seconds, several times as long as the error remembers itself, and as many seconds as there are are drawn
with replacement, 400 times. A figure is computed from sums over instants, so that each draw only adds up the
sums of its seconds. The draws come from a generator with a fixed seed: the same trial has the same SE.

References
----------
Carlstein E (1986), Annals of Statistics 14:1171-1179 (blocks that do not overlap).
"""

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kiosk.scoring.grid import GRID_HZ

SECONDS_SEED: Final = 1986
DRAWS: Final = 400
STRETCH: Final = GRID_HZ  # instants of one second

Sums = NDArray[Any]


def sums_by_second(columns: Sums) -> Sums:
    """Columns by instant, shape (n, k), summed over each second: shape (seconds, k).

    >>> sums_by_second(np.ones((480, 1))).ravel().tolist()
    [240.0, 240.0]
    """
    return np.asarray(np.add.reduceat(columns, np.arange(0, len(columns), STRETCH), axis=0))


def standard_error(seconds: Sums, figures: Callable[[Sums], NDArray[np.float64]]) -> NDArray[np.float64]:
    """SD of each figure over the draws; `figures` takes sums of shape (draws, k), gives (draws, m).

    A draw in which a figure has no value (no contact in any of its seconds) is left out; NaN without any.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        values = figures(_draws(len(seconds)) @ seconds)
        known = np.isfinite(values)
        draws = known.sum(axis=0)
        away = np.where(known, values - np.where(known, values, 0.0).sum(axis=0) / draws, 0.0)
        return np.asarray(np.sqrt((away**2).sum(axis=0) / (draws - 1)))


@lru_cache(maxsize=8)
def _draws(seconds: int) -> NDArray[np.float64]:
    """How often each second is in each draw, shape (draws, seconds)."""
    rng = np.random.default_rng(SECONDS_SEED)
    counts = rng.multinomial(seconds, np.full(seconds, 1.0 / seconds), size=DRAWS).astype(np.float64)
    counts.setflags(write=False)
    return counts
