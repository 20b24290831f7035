"""The pace of the frames: the display's where drawing waits for it, about sixty a second where nothing waits.

With some drivers drawing never waits for the display, and on a screen that stands still there is nothing to
draw; without a pace of its own the loop would then turn hundreds of times a second and take a processor.
Nanoseconds of the one clock.
"""

from collections import deque
from statistics import median
from typing import Final

SHORTEST_NS: Final = 16_000_000  # a little less than a refresh at 60 Hz, so that none is missed for it
WAITED_NS: Final = 6_000_000     # a frame that waited for a display took longer, up to 160 Hz
FRAMES: Final = 60


class Pace:
    """How long to rest after each frame."""

    def __init__(self) -> None:
        self._took_ns: deque[int] = deque(maxlen=FRAMES)

    def rest_s(self, began_ns: int, now_ns: int) -> float:
        """The rest, seconds, after a frame that began then and is done now.

        >>> pace = Pace()
        >>> pace.rest_s(0, 2_000_000), pace.rest_s(16_000_000, 33_000_000)
        (0.014, 0.0)
        """
        took_ns = now_ns - began_ns
        self._took_ns.append(took_ns)
        if median(self._took_ns) >= WAITED_NS:
            return 0.0
        return max(SHORTEST_NS - took_ns, 0) / 1e9
