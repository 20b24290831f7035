"""A program that draws sixty frames a second while another process writes touches: what it kept and got.

Run in a process of its own, so that several can run at the same time. A frame is 3 ms of work that holds the
interpreter; a hiccup is 40 ms of it. Seconds; stamps in nanoseconds.
"""

import json
import sys
import time
from math import cos, pi, sin

from kiosk.glass.input_device import OpenDevice
from kiosk.glass.touch_reader import TouchReader
from tests.glass.panel import (
    ABS,
    DROPPED,
    MT_X,
    MT_Y,
    PANEL,
    REPORT,
    SLOT,
    SYN,
    TRACKING,
    WINDOW,
    Sender,
)

FRAME_S = 1 / 60
RATE_HZ = 240


def path(number):
    """Where the finger is at this report: twice round a circle in sixteen seconds; raw units."""
    angle = 2 * pi * number / (8 * RATE_HZ)
    return round(8192 + 3000 * cos(angle)), round(5120 + 3000 * sin(angle))


def rows(reports, dropped):
    """A finger's reports as the kernel would send them; at `dropped` the kernel has thrown events away."""
    made, last = [], (None, None)
    for number in range(reports):
        x, y = path(number)
        changes = [(ABS, SLOT, 0), (ABS, TRACKING, 4711)] if number == 0 else []
        changes += [(ABS, MT_X, x)] if x != last[0] else []
        changes += [(ABS, MT_Y, y)] if y != last[1] else []
        changes = [(SYN, DROPPED, 0), *changes] if number == dropped else changes
        made.append((number / RATE_HZ, [*changes, (SYN, REPORT, 0)]))
        last = (x, y)
    return made


def work(for_s):
    end_s = time.perf_counter() + for_s
    while time.perf_counter() < end_s:
        pass


def run(reports, hiccup_every_s, dropped):
    """Touches drained, stamps sent, and how the frames went."""
    sender = Sender(rows(reports, dropped))
    touches, frames, longest_s, hiccup_s = [], 0, 0.0, time.monotonic() + 1.0
    with TouchReader(lambda: OpenDevice(sender.fd, PANEL), WINDOW) as reader:
        reader.start()
        sender.begin()
        last_s = next_s = time.monotonic()
        while True:
            try:
                touches += reader.drain()
            except OSError:
                break  # the sender has ended
            work(0.003)
            if hiccup_every_s and time.monotonic() > hiccup_s:
                work(0.040)
                hiccup_s += hiccup_every_s
            frames += 1
            next_s = max(next_s + FRAME_S, time.monotonic())
            time.sleep(next_s - time.monotonic() if next_s > time.monotonic() else 0)
            longest_s, last_s = max(longest_s, time.monotonic() - last_s), time.monotonic()
        lost = (reader.lost_events, reader.lost_spans_ns)
    return {"touches": [(one.t_ns, one.x_raw, one.y_raw, one.contact, one.identity) for one in touches],
            "sent_ns": sender.stamps_ns(), "frames": frames, "longest_s": longest_s, "lost": lost}


if __name__ == "__main__":
    json.dump(run(**json.loads(sys.argv[1])), sys.stdout)
