"""Touch panels for tests: a pipe fed with the kernel's bytes, and a sender in a process of its own.

The bytes are written here from the layout in linux/input.h (struct input_event: two longs, two unsigned
shorts, one int), not with the code under test.
"""

import array
import fcntl
import json
import os
import struct
import subprocess
import sys
import termios
import time

from kiosk.pursuit.samples import AxisRanges
from kiosk.touch.calibration import full_window, nominal
from kiosk.touch.input_device import OpenDevice, TouchDevice
from kiosk.touch.touch_reader import TouchReader

CALIBRATION = nominal("A")
WINDOW = full_window(CALIBRATION)
RANGES = AxisRanges(0.0, 16383.0, 10239.0, 0.0)
PANEL = TouchDevice("Invented panel 10", "", RANGES, 2.0, True, 10)
PLAIN = TouchDevice("Invented plain panel", "", RANGES, None, False, 1)

SYN, KEY, ABS = 0, 1, 3
REPORT, DROPPED = 0, 3
X, Y, SLOT, MT_X, MT_Y, TOOL, TRACKING = 0x00, 0x01, 0x2F, 0x35, 0x36, 0x37, 0x39
PEN_KEY, TOUCH_KEY = 0x140, 0x14A
STYLUS, PALM = 1, 2


def event(t_ns, kind, code, value):
    seconds, rest_ns = divmod(t_ns, 10**9)
    return struct.pack("llHHi", seconds, rest_ns // 1000, kind, code, value)


def report(t_ns, *changes):
    """Changes (code, value) of ABS axes, and the report's end."""
    return b"".join(event(t_ns, ABS, *change) for change in changes) + event(t_ns, SYN, REPORT, 0)


class Pipe:
    """A device whose other end the test holds."""

    def __init__(self, device=PANEL, slots_now=None):
        self.device, self.slots_now = device, slots_now
        self.opened = 0
        self._writes = None

    def open(self):
        self.unplug()
        reads, self._writes = os.pipe()
        self.opened += 1
        more = {} if self.slots_now is None else {"slots_now": self.slots_now}
        return OpenDevice(reads, self.device, **more)

    def write(self, *chunks):
        for chunk in chunks:
            os.write(self._writes, chunk)

    def unplug(self):
        if self._writes is not None:
            os.close(self._writes)
            self._writes = None

    def settle(self, reader):
        """Until the reader has read all that was written, and sorted it."""
        unread = array.array("i", [1])

        def empty():
            fcntl.ioctl(reader._opened.fd, termios.FIONREAD, unread)
            return unread[0] == 0

        wait_until(empty)
        time.sleep(0.02)

    def reader(self, **options):
        return TouchReader(self.open, WINDOW, **options)


def wait_until(condition, within_s=5.0):
    """Let the reader's thread run until the condition holds."""
    end_s = time.monotonic() + within_s
    while not condition():
        assert time.monotonic() < end_s, "waited in vain"
        time.sleep(0.001)


def drain_until(reader, count, within_s=5.0):
    """Drain until so many touches have come."""
    drained, end_s = [], time.monotonic() + within_s
    while len(drained) < count and time.monotonic() < end_s:
        drained += reader.drain()
        time.sleep(0.001)
    return drained


SENDER = r"""
import json, os, struct, sys, time
plan = json.load(sys.stdin)
fd, sent = plan["fd"], []
def event(t_ns, kind, code, value):
    return struct.pack("llHHi", t_ns // 10**9, t_ns % 10**9 // 1000, kind, code, value)
begin_ns = time.monotonic_ns()
for number, row in enumerate(plan["rows"]):
    due_ns = begin_ns + row["due_ns"]
    while (left := due_ns - time.monotonic_ns()) > 0:
        time.sleep(left / 1e9)
    t_ns = time.monotonic_ns() // 1000 * 1000
    os.write(fd, b"".join(event(t_ns, *change) for change in row["events"]))
    sent.append(t_ns)
os.close(fd)
json.dump(sent, sys.stdout)
"""


class Sender:
    """A process of its own that writes rows of events into a pipe, each at its time; it tells its stamps.

    rows: (due_s, [(kind, code, value), ...]); one stamp for all events of a row.
    """

    def __init__(self, rows):
        self.fd, writes = os.pipe()
        self._process = subprocess.Popen([sys.executable, "-c", SENDER], stdin=subprocess.PIPE,
                                         stdout=subprocess.PIPE, pass_fds=[writes], text=True)
        os.close(writes)
        self._plan = json.dumps({"fd": writes, "rows": [
            {"due_ns": round(due_s * 1e9), "events": events} for due_s, events in rows]})

    def begin(self):
        self._process.stdin.write(self._plan)
        self._process.stdin.close()

    def stamps_ns(self):
        """When each row was written; waits for the end."""
        stamps = json.loads(self._process.stdout.read())
        self._process.wait(10)
        self._process.stdout.close()
        return stamps
