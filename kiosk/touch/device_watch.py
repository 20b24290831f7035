"""Whether the source of touches is there; one that has gone is tried again each second. Nanoseconds.

Decision screens-8.
"""

from typing import Final

from kiosk.touch.capture import Capture

TRY_AGAIN_NS: Final = 1_000_000_000


class DeviceWatch:
    """Asked between trials, when nobody records; within a trial the recorder notices by itself."""

    def __init__(self, capture: Capture) -> None:
        self._capture = capture
        self._next_try_ns: int | None = None  # None: it was there when asked last

    def away(self, now_ns: int) -> bool:
        """Whether it is gone now; asking again a second later tries to open it anew."""
        if not self._capture.gone:
            self._next_try_ns = None
        elif self._next_try_ns is None:
            self._next_try_ns = now_ns + TRY_AGAIN_NS
        elif now_ns >= self._next_try_ns:
            self._capture.start()
            self._capture.stop()
            self._next_try_ns = now_ns + TRY_AGAIN_NS
        return self._capture.gone
