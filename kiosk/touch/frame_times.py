"""When drawn frames went to the display, and how many came late. Nanoseconds of the one clock; hertz."""

from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats

LATE: Final = 1.5  # refresh intervals between two flips beyond which a frame has been dropped


class Flips:
    """The flips of one trial."""

    def __init__(self, refresh_hz: float | None = None) -> None:
        """refresh_hz as measured at the start of the program; None: take the median of the flips."""
        self._given_hz = refresh_hz
        self._t_ns: list[int] = []

    def add(self, t_ns: int) -> None:
        """One flip."""
        self._t_ns.append(t_ns)

    def refresh_hz(self) -> float | None:
        """The refresh rate given, else one over the median interval; None with fewer than two flips."""
        if self._given_hz is not None or len(self._t_ns) < 2:
            return self._given_hz
        return float(1e9 / np.median(np.diff(self._t_ns)))

    def since(self, set_off_ns: int) -> Floats:
        """Seconds of the flips since the disc set off, and the one before; (n,)."""
        t_s = (np.array(self._t_ns, dtype=np.int64) - set_off_ns) / 1e9
        return t_s[max(int(np.searchsorted(t_s, 0.0, side="right")) - 1, 0):]

    def dropped(self, set_off_ns: int) -> int | None:
        """Refreshes since setting off that brought no new frame; None where there are no flips."""
        refresh_hz = self.refresh_hz()
        if refresh_hz is None or len(self._t_ns) < 2:
            return None
        return missed(self.since(set_off_ns), refresh_hz)


def missed(flip_t_s: Floats, refresh_hz: float) -> int:
    """Refreshes without a frame, in intervals longer than 1.5 refreshes.

    >>> missed(np.array([0.0, 1.0, 2.4, 4.0, 8.1]), refresh_hz=1.0)  # one late, one that took four
    4
    """
    refreshes = np.diff(flip_t_s) * refresh_hz
    return int(np.sum(np.rint(refreshes[refreshes > LATE]) - 1))
