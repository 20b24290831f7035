"""A program that shows a trial in the real window while another process writes touches: what it kept and got.

Run in a process of its own, so that several can run at the same time. The frames are those of `start`: drain,
record, draw the trial's picture, rest by the frame limiter. A hiccup holds the main thread for 40 ms. The
finger's process ends after its last report, so the trial ends there, as with a panel that is unplugged.
Seconds; stamps in nanoseconds.
"""

import json
import sys
import time

import numpy as np

from kiosk.app.frame_limiter import FrameLimiter
from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.running import RunningTrial
from kiosk.screens.pictures import all_steps
from kiosk.screens.stage import Stage
from kiosk.touch.input_device import OpenDevice
from kiosk.touch.recorder import Recorder
from kiosk.touch.touch_reader import TouchReader
from tests.touch.panel import (
    ABS,
    CALIBRATION,
    DROPPED,
    MT_X,
    MT_Y,
    PANEL,
    RANGES,
    REPORT,
    SLOT,
    SYN,
    TRACKING,
    WINDOW,
    Sender,
)

RATE_HZ, REPORTS = 240, 3840
TREMBLE = 40  # raw units, half a millimetre: more than the hand moves between two reports
SETS_OFF_S = 0.85  # the rest on the disc, and the finger's delay
HICCUP_S, HICCUPS_EVERY_S = 0.040, 0.5
BATTERY = load_battery()
PLAN = BATTERY.plan("steady", "preferred", 1)


def places():
    """Where the finger is at each report, raw units: at rest, then with the disc; it trembles."""
    t_s = np.maximum(np.arange(REPORTS) / RATE_HZ - SETS_OFF_S, 0.0)
    x, y = CALIBRATION.to_raw(*PLAN.position(t_s), RANGES, WINDOW)
    x = np.rint(x).astype(int) + TREMBLE * (np.arange(REPORTS) % 2)
    return list(zip(x.tolist(), np.rint(y).astype(int).tolist(), strict=True))


def rows(dropped):
    """The reports as the kernel would send them; at `dropped` it has thrown events away."""
    made, last = [], (None, None)
    for number, (x, y) in enumerate(places()):
        changes = [(ABS, SLOT, 0), (ABS, TRACKING, 4711)] if number == 0 else []
        changes += [(ABS, MT_X, x)] if x != last[0] else []
        changes += [(ABS, MT_Y, y)] if y != last[1] else []
        changes = [(SYN, DROPPED, 0), *changes] if number == dropped else changes
        made.append((number / RATE_HZ, [*changes, (SYN, REPORT, 0)]))
        last = (x, y)
    return made


def hold(for_s):
    end_s = time.perf_counter() + for_s
    while time.perf_counter() < end_s:
        pass


class Frames:
    """The frames of one trial in the window."""

    def __init__(self, reader, hiccups):
        self.stage = Stage(CALIBRATION, time.monotonic, offscreen=True)
        self.stage.show(dict(all_steps())["trial"], load_language("en"))
        self.running = RunningTrial(PLAN, BATTERY.rest_on_disc_s, BATTERY.return_after_lift_s)
        self.recorder = Recorder(reader, CALIBRATION, self.running)
        self.count, self.longest_s, self.seen = 0, 0.0, set()
        self._limiter, self._hiccups = FrameLimiter(), hiccups

    def run(self):
        last_s = hiccup_s = time.monotonic()
        while self.recorder.phase != "over":
            began_ns = time.monotonic_ns()
            self.draw(began_ns)
            if self._hiccups and time.monotonic() > hiccup_s:
                hold(HICCUP_S)
                hiccup_s += HICCUPS_EVERY_S
            time.sleep(self._limiter.rest_s(began_ns, time.monotonic_ns()))
            now_s = time.monotonic()
            self.longest_s, last_s = max(self.longest_s, now_s - last_s), now_s

    def draw(self, now_ns):
        if self.recorder.frame(now_ns) != "over":
            picture = self.recorder.picture(now_ns)
            self.stage.frame(picture, now_ns / 1e9)
            self.stage.draw()
            self.recorder.flipped(time.monotonic_ns())
            self.count += 1
            self.seen.add((round(picture.x_mm, 3), round(picture.y_mm, 3)))


def run(hiccups, dropped):
    """The record's touches, the stamps sent, and how the frames went."""
    sender = Sender(rows(dropped))
    with TouchReader(lambda: OpenDevice(sender.fd, PANEL), WINDOW) as reader:
        frames = Frames(reader, hiccups)
        frames.stage.draw()
        sender.begin()
        frames.run()
        record = frames.recorder.finish()
    raw, facts = record.raw, record.facts
    return {"kept": [raw.t_ns.tolist(), raw.x_raw.tolist(), raw.y_raw.tolist(), raw.contact.tolist()],
            "sent_ns": sender.stamps_ns(), "set_off_ns": record.set_off_ns, "outcome": facts.outcome_reason,
            "lost": [facts.lost_events, facts.lost_spans_s], "frames": frames.count,
            "places_drawn": len(frames.seen), "longest_s": frames.longest_s}


if __name__ == "__main__":
    json.dump(run(**json.loads(sys.argv[1])), sys.stdout)
