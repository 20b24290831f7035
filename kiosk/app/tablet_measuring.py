"""A tablet being measured: what a check, a slide or lines record of touches and pictures, frame by frame."""

from typing import Final

import numpy as np

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import RawTouch, Samples
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Capture, Touch, as_raw
from kiosk.touch.contact_timing import timing
from kiosk.touch.device_check import DeviceCheck, check_device, measure, measure_pictures
from kiosk.touch.fingers import Places
from kiosk.touch.slide import line_mm

CHECK_NS: Final = 8_000_000_000
LIFTED_NS: Final = 700_000_000
LEAST_LINE_NS: Final = 300_000_000
KEPT_REPORTS: Final = 60  # more than in the time that the finger's speed is taken over


class Sliding:
    """A slide in progress: the latest reports of the finger that slides, and where the line is drawn."""

    def __init__(self, capture: Capture, calibration: Calibration) -> None:
        self._capture, self._calibration = capture, calibration
        self._touches: list[Touch] = []
        capture.start()

    def places_mm(self, now_ns: int, lead_ms: float) -> Places:
        """Where the line is drawn now: one place, or none."""
        for touch in self._capture.drain():
            if not touch.contact or (self._touches and self._touches[-1].identity != touch.identity):
                self._touches = []
            if touch.contact:
                self._touches = [*self._touches[1 - KEPT_REPORTS:], touch]
        if not self._touches:
            return []
        x_mm, _ = self._calibration.point_mm(
            [one.x_raw for one in self._touches], [one.y_raw for one in self._touches],
            self._capture.ranges, self._capture.window)
        t_s = np.array([one.t_ns - now_ns for one in self._touches]) / 1e9
        line = line_mm(t_s, x_mm, 0.0, lead_ms / 1000)
        return [] if line is None else [(line, 0.0)]

    def stop(self) -> None:
        """The screen is left."""
        self._capture.stop()


class Drawing:
    """Lines being drawn: one is over when nothing has touched for a while; a tap is none."""

    def __init__(self, capture: Capture, calibration: Calibration) -> None:
        self._capture, self._calibration = capture, calibration
        self._touches: list[Touch] = []
        capture.start()

    def line(self, now_ns: int) -> Samples | None:
        """The line that has just been ended, or None."""
        self._touches += self._capture.drain()
        touches = self._touches
        if not touches or touches[-1].contact or now_ns - touches[-1].t_ns < LIFTED_NS:
            return None
        self._touches = []
        if touches[-1].t_ns - touches[0].t_ns < LEAST_LINE_NS:
            return None
        return self._calibration.samples(as_raw(touches, self._capture), 0)

    def stop(self) -> None:
        """The screen is left."""
        self._capture.stop()


class Checking:
    """A device check in progress: eight seconds of touches and flips."""

    def __init__(self, capture: Capture, now_ns: int) -> None:
        self._capture, self._until_ns = capture, now_ns + CHECK_NS
        self._touches: list[Touch] = []
        self._flips_ns: list[int] = []
        capture.start()

    def frame(self, now_ns: int) -> bool:
        """Take in touches; whether the time is over."""
        self._touches += self._capture.drain()
        return now_ns >= self._until_ns

    def flipped(self, now_ns: int) -> None:
        """A frame has reached the screen."""
        self._flips_ns.append(now_ns)

    def finish(self, calibration: Calibration, refresh_hz: float) -> DeviceCheck:
        """The verdict; refresh_hz: pictures due a second. Refused `too_few_touches` or `too_few_flips`."""
        self._capture.stop()
        if not self._touches:
            raise Refused("too_few_touches", {"moving_intervals": 0, "least": 20})
        fingers = [self._raw(identity) for identity in dict.fromkeys(one.identity for one in self._touches)]
        longest = max(fingers, key=lambda raw: raw.t_ns.size)
        pictures = measure_pictures(self._flips_ns, refresh_hz)
        return check_device(measure(longest, calibration), pictures, calibration,
                            timing([calibration.samples(raw, 0) for raw in fingers]))

    def _raw(self, identity: int) -> RawTouch:
        return as_raw([one for one in self._touches if one.identity == identity], self._capture)
