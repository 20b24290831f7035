"""The contact change in time: from six open arcs to one closed ring and back. Seconds of the caller's clock.

On in 120 ms, off in 240 ms, linear. A fade that has begun is finished before the other may begin, so there
are at most 1 / 0.36 s = 2.8 pairs of changes a second: under the three flashes of WCAG 2.2, 2.3.1.
"""

from math import inf
from typing import Final

ON_S: Final = 0.120
OFF_S: Final = 0.240
CLOSING_STEPS: Final = 8


class ContactFade:
    """How far the ring is closed: 0 open, 1 closed."""

    def __init__(self) -> None:
        self._closed = False
        self._since_s = -inf

    def level(self, on: bool, now_s: float) -> float:
        """The level at now_s (never running backwards) while the finger is on the disc or not."""
        done = min((now_s - self._since_s) / (ON_S if self._closed else OFF_S), 1.0)
        if done == 1.0 and on != self._closed:
            self._closed, self._since_s, done = on, now_s, 0.0
        return done if self._closed else 1.0 - done


def closing_step(closing: float) -> int:
    """Which of the ready-made pictures shows a rest that is `closing` (0 to 1) complete: 0 open, 8 meeting.

    >>> [closing_step(c) for c in (0.0, 0.01, 0.125, 0.5, 0.99, 1.0)]
    [0, 1, 2, 5, 8, 8]
    """
    return 0 if closing <= 0 else min(int(closing * CLOSING_STEPS) + 1, CLOSING_STEPS)
