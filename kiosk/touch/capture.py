"""How touches reach a trial: the capture protocol, playback of prepared touches, and the device watch.

t_ns is nanoseconds of the monotonic clock; x_raw and y_raw are device units; identity tells contacts apart.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, Protocol

import numpy as np

from kiosk.pursuit.samples import AxisRanges, RawTouch, WindowRect

Tool = Literal["finger", "stylus", "palm"]
Spans = tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Touch:
    """One sample of one contact; contact False is the moment it lifted, at its last position.

    tool: what touches, where the device tells it apart; else a finger.
    """

    t_ns: int
    x_raw: float
    y_raw: float
    contact: bool
    identity: int = 0
    tool: Tool = "finger"


class Capture(Protocol):
    """A source of touches. start, then drain once a frame, then stop; drained touches never come again.

    Since start: lost_events, how often touches were lost on their way here, and lost_spans_ns, between which
    moments. input_fuzz: the device's own filter, in device units. smoothing_ms: the
    panel's, as lines along an edge showed it. None where not known. gone: the source
    does not answer any more; start tries to reach it again.
    """

    source: str
    clock_name: str
    ranges: AxisRanges
    window: WindowRect
    lost_events: int | None
    lost_spans_ns: Spans | None
    input_fuzz: float | None
    smoothing_ms: float | None

    @property
    def gone(self) -> bool:
        """Whether the source is gone, as far as is known."""

    def start(self) -> None:
        """Begin to record; earlier touches are forgotten."""

    def drain(self) -> list[Touch]:
        """All touches since the last call, oldest first; OSError where the device is gone."""

    def stop(self) -> None:
        """End recording."""


def as_raw(touches: Sequence[Touch], capture: Capture) -> RawTouch:
    """Touches of a capture as one recording, in the order given."""
    return RawTouch(
        np.array([one.t_ns for one in touches], dtype=np.int64), np.array([one.x_raw for one in touches]),
        np.array([one.y_raw for one in touches]), np.array([one.contact for one in touches]),
        capture.ranges, capture.window)


class Playback:
    """Prepared touches, handed out when the clock passes their time."""

    source = "playback"
    clock_name = "simulated"
    lost_events: int | None = 0
    lost_spans_ns: Spans | None = ()
    input_fuzz: float | None = 0.0
    smoothing_ms: float | None = 0.0
    gone = False

    def __init__(self, now_ns: Callable[[], int], ranges: AxisRanges, window: WindowRect) -> None:
        self.ranges, self.window = ranges, window
        self._now_ns = now_ns
        self._touches: list[Touch] = []
        self._next = 0

    def load(self, touches: Sequence[Touch]) -> None:
        """Queue touches, sorted by time, after those already queued."""
        self._touches = self._touches[self._next:] + list(touches)
        self._next = 0

    def start(self) -> None:
        """Forget what lies before now."""
        self._next = bisect_right(self._touches, self._now_ns(), key=lambda touch: touch.t_ns)

    def drain(self) -> list[Touch]:
        """Touches up to now that were not drained before."""
        first, self._next = self._next, bisect_right(self._touches, self._now_ns(), key=lambda t: t.t_ns)
        return self._touches[first:self._next]

    def stop(self) -> None:
        """Drop what was not played."""
        self._touches, self._next = [], 0


RETRY_NS: Final = 1_000_000_000


class DeviceWatch:
    """Whether the capture's device is there, between trials; a device that is gone is tried each second.

    During a trial the recorder notices by itself. Decision screens-8.
    """

    def __init__(self, capture: Capture) -> None:
        self._capture = capture
        self._next_try_ns: int | None = None  # None: it was there when asked last

    def away(self, now_ns: int) -> bool:
        """Whether it is gone now; when asked again a second later, it is opened again if possible."""
        if not self._capture.gone:
            self._next_try_ns = None
        elif self._next_try_ns is None:
            self._next_try_ns = now_ns + RETRY_NS
        elif now_ns >= self._next_try_ns:
            self._capture.start()
            self._capture.stop()
            self._next_try_ns = now_ns + RETRY_NS
        return self._capture.gone
