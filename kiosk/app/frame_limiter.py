"""The frame limiter: the display's own rate where drawing waits for it, sixty a second where nothing waits.

With some drivers drawing never waits for the display. Without a limit the loop would then turn as fast as it
can, at a rate that changes with what is drawn, and take a whole processor. Nanoseconds of the one clock.
"""

from typing import Final

FREE_HZ: Final = 60.0
SHARE_OF_REFRESH: Final = 0.96  # rest for a little less than a refresh, so that none is missed for it


class FrameLimiter:
    """The rest after each frame. refresh_hz: of a display that drawing waits for, None without one."""

    def __init__(self, refresh_hz: float | None = None) -> None:
        self._waits = refresh_hz is not None
        share, rate_hz = (1.0, FREE_HZ) if refresh_hz is None else (SHARE_OF_REFRESH, refresh_hz)
        self._interval_ns = round(share * 1e9 / rate_hz)
        self._next_ns: int | None = None

    def rest_s(self, began_ns: int, now_ns: int) -> float:
        """The rest in seconds after a frame that began then and is done now, however long it took.

        Where nothing waits, frames keep to even instants, so that a late one does not delay all that follow.
        A display sets the instants itself: there only the frame's own time counts.

        >>> limiter = FrameLimiter(50.0)
        >>> limiter.rest_s(0, 2_000_000), limiter.rest_s(20_000_000, 40_000_000)
        (0.0172, 0.0)
        """
        due_ns = (began_ns if self._waits or self._next_ns is None else self._next_ns) + self._interval_ns
        self._next_ns = max(due_ns, now_ns - self._interval_ns)
        return max(due_ns - now_ns, 0) / 1e9
