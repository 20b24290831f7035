"""The recorder: drains a capture once a frame, advances the trial with it, and returns the finished record.

Nanoseconds of the monotonic clock. The record has every touch of the finger that owns the trial from the
start of its rest on the disc (negative times) to the end of the run-on, lifts included. While the trial runs,
a checkpoint (what came since the last one) goes to the journal every 250 ms.
"""

from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

import numpy as np

from kiosk.pursuit.pictures_shown import LATE, due_s
from kiosk.pursuit.running import Phase, Picture, RunningTrial
from kiosk.pursuit.samples import Floats, RawTouch
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Capture, Touch, as_raw
from kiosk.touch.journal import PART_MS, Journal, Part

NS: Final = 1e9


@dataclass(frozen=True)
class _Checkpoint:
    """How much the journal has: parts, touches and frames; next_ns: when the next part is due."""

    parts: int = 0
    touches: int = 0
    frames: int = 0
    next_ns: int = 0


class Recorder:
    """The recording of one trial. Each frame: frame(), draw picture(), flipped(); at the end finish()."""

    def __init__(self, capture: Capture, calibration: Calibration, running: RunningTrial, *,
                 refresh_hz: float | None = None, latency_ms: float | None = None,
                 latency_source: str | None = None, calibrated: bool | None = True,
                 calibration_id: UUID | None = None, journal: Journal | None = None) -> None:
        """Start the capture. refresh_hz, calibrated None: not known."""
        self.running = running
        self._capture, self._calibration = capture, calibration
        self._latency_ms, self._latency_source = latency_ms, latency_source
        self._calibrated, self._calibration_id = calibrated, calibration_id
        self._frame_times = FrameTimes(refresh_hz)
        self._touches: list[Touch] = []
        self._journal, self._checkpoint = journal, _Checkpoint()
        capture.start()

    @property
    def phase(self) -> Phase:
        """The trial's phase as of the latest frame."""
        return self.running.phase

    def frame(self, now_ns: int) -> Phase:
        """Feed all touches since the last frame, advance the trial to now, and return its phase.

        A device that is gone (OSError from the capture) interrupts the trial, reason device_gone.
        """
        try:
            touches = self._capture.drain()
        except OSError:
            self.running.advance(now_ns / NS)
            self.running.interrupt("device_gone")
            return self.phase
        self._take(touches)
        self.running.advance(now_ns / NS)
        self._save_checkpoint(now_ns)
        return self.phase

    def picture(self, now_ns: int) -> Picture:
        """What to draw now."""
        return self.running.picture(now_ns / NS)

    def flipped(self, now_ns: int) -> None:
        """The frame just drawn was shown on the display."""
        if self.running.over_s is None:
            self._frame_times.add(now_ns)

    def interrupt(self, reason: str) -> None:
        """End the trial as interrupted, with a reason such as focus_lost."""
        self.running.interrupt(reason)

    def stop(self) -> None:
        """End the trial as stopped."""
        self.running.stop()

    def finish(self) -> TrialRecord | None:
        """Stop the capture and return the record; None where the disc never set off."""
        self._capture.stop()
        if self.running.set_off_s is None or self.running.rest_from_s is None:
            return None
        raw = self._raw(self._closed(self.running.rest_from_s))
        set_off_ns = round(self.running.set_off_s * NS)
        return TrialRecord(self.running.plan, self._calibration.samples(raw, set_off_ns),
                           self._facts(set_off_ns), raw, set_off_ns, self._calibration_id)

    def _save_checkpoint(self, now_ns: int) -> None:
        """Give the journal what came since the last checkpoint, when one is due."""
        running, saved = self.running, self._checkpoint
        if self._journal is None or running.over_s is not None:
            return
        if running.set_off_s is None or running.rest_from_s is None:
            if saved.parts:
                self._journal.drop()
                self._checkpoint = _Checkpoint()
        elif now_ns >= saved.next_ns:
            self._journal.add(self._part(round(running.set_off_s * NS), running.rest_from_s))
            self._checkpoint = _Checkpoint(saved.parts + 1, len(self._touches), len(self._frame_times.since(
                round(running.set_off_s * NS))), now_ns + PART_MS * 1_000_000)

    def _part(self, set_off_ns: int, rest_from_s: float) -> Part:
        saved = self._checkpoint
        fresh = [touch for touch in self._touches[saved.touches:] if touch.t_ns / NS >= rest_from_s]
        flip_t_s = self._frame_times.since(set_off_ns)[saved.frames:]
        facts = replace(self._facts(set_off_ns), flip_t_s=flip_t_s)
        return Part(self._raw(fresh), facts, set_off_ns)

    def _take(self, touches: list[Touch]) -> None:
        x_mm, y_mm = self._calibration.point_mm(
            [touch.x_raw for touch in touches], [touch.y_raw for touch in touches],
            self._capture.ranges, self._capture.window)
        for touch, x, y in zip(touches, x_mm.tolist(), y_mm.tolist(), strict=True):
            if touch.tool != "finger":
                self.running.feed_other(touch.t_ns / NS, touch.contact, touch.identity)
                continue
            self.running.feed(touch.t_ns / NS, x, y, touch.contact, touch.identity)
            if self.running.over_s is None and self.running.owners[-1:] == [touch.identity]:
                self._touches.append(touch)

    def _closed(self, rest_from_s: float) -> list[Touch]:
        """The owner's touches from its rest on, with one more at the trial's end where the last is earlier.

        No events mean that nothing changed: a finger at rest is still there, a lifted one still lifted.
        """
        kept = [touch for touch in self._touches if touch.t_ns / NS >= rest_from_s]
        end_ns = round((self.running.over_s or 0.0) * NS)
        last = kept[-1]
        if self.running.outcome == "complete" and last.t_ns < end_ns:
            kept.append(Touch(end_ns, last.x_raw, last.y_raw, last.contact, last.identity))
        return kept

    def _raw(self, touches: list[Touch]) -> RawTouch:
        return as_raw(touches, self._capture)

    def _facts(self, set_off_ns: int) -> TrialFacts:
        running = self.running
        return TrialFacts(
            outcome=running.outcome, outcome_reason=running.outcome_reason, clock=self._capture.clock_name,
            touch_source=self._capture.source, refresh_hz=self._frame_times.refresh_hz,
            dropped_frames=self._frame_times.dropped(set_off_ns),
            flip_t_s=self._frame_times.since(set_off_ns),
            calibrated=self._calibrated, latency_ms=self._latency_ms, latency_source=self._latency_source,
            other_touches=running.others.touches, other_contact_s=running.other_contact_s(),
            lost_events=self._capture.lost_events, lost_spans_s=self._lost_spans_s(set_off_ns),
            identity_lost=running.identity_lost, input_fuzz=self._capture.input_fuzz,
            smoothing_ms=self._capture.smoothing_ms)

    def _lost_spans_s(self, set_off_ns: int) -> tuple[tuple[float, float], ...] | None:
        spans_ns = self._capture.lost_spans_ns
        if spans_ns is None:
            return None
        return tuple(((from_ns - set_off_ns) / NS, (to_ns - set_off_ns) / NS) for from_ns, to_ns in spans_ns)


class FrameTimes:
    """When the frames of one trial were shown. refresh_hz: as the display reports it, None if not known.

    Decision touch-1.
    """

    def __init__(self, refresh_hz: float | None = None) -> None:
        self.refresh_hz = refresh_hz
        self._t_ns: list[int] = []

    def add(self, t_ns: int) -> None:
        """One frame was shown."""
        self._t_ns.append(t_ns)

    def since(self, set_off_ns: int) -> Floats:
        """Seconds of the frames since the disc set off, and of the one before; (n,)."""
        t_s = (np.array(self._t_ns, dtype=np.int64) - set_off_ns) / NS
        return t_s[max(int(np.searchsorted(t_s, 0.0, side="right")) - 1, 0):]

    def dropped(self, set_off_ns: int) -> int | None:
        """Frames due since the disc set off that were not shown; None where refresh_hz is not known."""
        if self.refresh_hz is None or len(self._t_ns) < 2:
            return None
        return missed(self.since(set_off_ns), self.refresh_hz)


def missed(flip_t_s: Floats, refresh_hz: float) -> int:
    """Frames that were due and not shown, counted in intervals longer than 1.5 due ones.

    >>> missed(np.array([0.0, 1.0, 2.4, 4.0, 8.1]), refresh_hz=1.0)  # one late, one that took four
    4
    """
    due = np.diff(flip_t_s) / due_s(refresh_hz)
    return int(np.sum(np.rint(due[due > LATE]) - 1))
