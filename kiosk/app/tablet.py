"""The tablet at work: which one it is, how it was calibrated, and what a check of it finds."""

from typing import Final

import numpy as np

from kiosk.app.dependencies import Dependencies
from kiosk.base.errors import Refused
from kiosk.pursuit.samples import RawTouch
from kiosk.touch.calibration import Calibration, nominal
from kiosk.touch.capture import Capture, Touch
from kiosk.touch.contact_timing import timing
from kiosk.touch.device_check import DeviceCheck, check_device, measure, measure_pictures
from kiosk.touch.fingers import Places
from kiosk.touch.slide import line_mm
from kiosk.visits.device_record import CalibrationRecord, Device

CHECK_NS: Final = 8_000_000_000
KEPT_REPORTS: Final = 60  # more than in the time that the finger's speed is taken over
RULER: Final = "ruler"


def this_tablet(deps: Dependencies) -> Device:
    """The tablet as the archive knows it, kept anew where it does not."""
    known = deps.archive.newest_device()
    if known is not None and (known.panel_px_w, known.panel_px_h) == deps.window_px:
        return known
    device = Device(deps.new_id(), deps.device_class, "this tablet", "not known", "not known",
                    *deps.window_px)
    deps.archive.add_device(device)
    return device


def calibration_of(deps: Dependencies, device: Device) -> CalibrationRecord | None:
    """The calibration that still holds for this display; that of a ruler where one was given at the start."""
    if deps.px_per_mm is not None:
        record = CalibrationRecord(deps.new_id(), device.id, RULER, *deps.px_per_mm, *deps.window_px,
                                   display=deps.display)
        deps.archive.add_calibration(record)
        return record
    record_ = deps.archive.newest_calibration(device.id)
    return record_ if record_ is not None and record_.fits(deps.display, deps.window_px) else None


def as_calibration(record: CalibrationRecord | None, window_px: tuple[int, int]) -> Calibration:
    """For drawing and capture; before the tablet was measured that of a common panel's data sheet."""
    if record is None:
        panel = nominal("A")
        return Calibration(panel.px_per_mm_x, panel.px_per_mm_y, *window_px)
    return Calibration(record.px_per_mm_x, record.px_per_mm_y, *window_px)


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
        touches = [one for one in self._touches if one.identity == identity]
        return RawTouch(
            np.array([one.t_ns for one in touches], dtype=np.int64),
            np.array([one.x_raw for one in touches]), np.array([one.y_raw for one in touches]),
            np.array([one.contact for one in touches]), self._capture.ranges, self._capture.window)
