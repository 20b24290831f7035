"""When drawn frames went to the display, and how many that were due did not. Nanoseconds of one clock; Hz.

Decision touch-1.
"""

from typing import Final

import numpy as np

from kiosk.pursuit.pictures_shown import LATE, due_s
from kiosk.pursuit.samples import Floats

NS: Final = 1e9


class FrameTimes:
    """The frames of one trial. refresh_hz: what the display says of itself, None where it is not known."""

    def __init__(self, refresh_hz: float | None = None) -> None:
        self.refresh_hz = refresh_hz
        self._t_ns: list[int] = []

    def add(self, t_ns: int) -> None:
        """One frame went to the display."""
        self._t_ns.append(t_ns)

    def since(self, set_off_ns: int) -> Floats:
        """Seconds of the frames since the disc set off, and of the one before; (n,)."""
        t_s = (np.array(self._t_ns, dtype=np.int64) - set_off_ns) / NS
        return t_s[max(int(np.searchsorted(t_s, 0.0, side="right")) - 1, 0):]

    def dropped(self, set_off_ns: int) -> int | None:
        """Pictures due since the disc set off that did not come; None where the refresh rate is not known."""
        if self.refresh_hz is None or len(self._t_ns) < 2:
            return None
        return missed(self.since(set_off_ns), self.refresh_hz)


def missed(flip_t_s: Floats, refresh_hz: float) -> int:
    """Pictures that were due and did not come, in intervals longer than 1.5 due ones.

    >>> missed(np.array([0.0, 1.0, 2.4, 4.0, 8.1]), refresh_hz=1.0)  # one late, one that took four
    4
    """
    due = np.diff(flip_t_s) / due_s(refresh_hz)
    return int(np.sum(np.rint(due[due > LATE]) - 1))
