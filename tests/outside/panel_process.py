"""A finger as another process: writes the kernel's event bytes into the named pipe that the kiosk reads.

Run with a plan on standard input, it tells its stamps on standard output. The bytes are written from the
layout in linux/input.h (two longs, two unsigned shorts, one int), not with the code under test.
"""

import json
import os
import struct
import sys
import time

SYN, ABS = 0, 3
MT_SLOT, MT_X, MT_Y, TRACKING = 0x2F, 0x35, 0x36, 0x39


def event(t_ns, kind, code, value):
    return struct.pack("llHHi", t_ns // 10**9, t_ns % 10**9 // 1000, kind, code, value)


def report(t_ns, changes):
    return b"".join(event(t_ns, ABS, *one) for one in changes) + event(t_ns, SYN, 0, 0)


def follow(fd, points, rate_hz, identity):
    """One contact through the points, one report each; then it lifts. Stamps of the points, nanoseconds."""
    begin_ns, stamps = time.monotonic_ns(), []
    for number, (x, y) in enumerate(points):
        due_ns = begin_ns + number * 10**9 // rate_hz
        while (left_ns := due_ns - time.monotonic_ns()) > 0:
            time.sleep(left_ns / 1e9)
        t_ns = time.monotonic_ns() // 1000 * 1000
        first = [(MT_SLOT, 0), (TRACKING, identity)] if number == 0 else []
        os.write(fd, report(t_ns, [*first, (MT_X, x), (MT_Y, y)]))
        stamps.append(t_ns)
    os.write(fd, report(time.monotonic_ns(), [(MT_SLOT, 0), (TRACKING, -1)]))
    return stamps


if __name__ == "__main__":
    plan = json.load(sys.stdin)
    pipe = os.open(plan["pipe"], os.O_WRONLY)
    json.dump(follow(pipe, plan["points"], plan["rate_hz"], plan["identity"]), sys.stdout)
    os.close(pipe)
