"""The real kiosk in a process of its own under a display of its own, driven with the mouse and a finger.

Nothing of the kiosk is called: clicks go through the X server, touches through a named pipe, and what the
window shows is read back from the display. Pixels from the top left, as the X server counts them.

Decision tests-3.
"""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
from PIL import Image, ImageGrab

from kiosk.pursuit.battery import load_battery
from tests.outside.eyes import changed

ROOT = Path(__file__).resolve().parents[2]
WIDTH, HEIGHT, PX_PER_MM = 1280, 800, 5.88
STEPS_PER_PX = 8
RATE_HZ = 120
REST_ON_DISC_S = 0.8  # design: the disc sets off once the fingertip has rested on it so long
LATE_S = 0.05
# A kiosk has its machine to itself; where the tests may, it goes before what else runs on theirs.
BEFORE_OTHERS = ("nice", "-n", "-15") if os.geteuid() == 0 else ()
LOOK_EVERY_S, STANDS_STILL_S = 0.05, 0.25  # a button is seen pressed before the screen moves on
FIRST_PICTURE_S_MARK = (242, 181, 68)  # shown until the kiosk has loaded
PASSPHRASE = "seven quiet herons stand"


class Display:
    """A display of this test's own."""

    def __init__(self):
        reads, writes = os.pipe()
        self._server = subprocess.Popen(
            [*BEFORE_OTHERS, "Xvfb", "-displayfd", str(writes), "-screen", "0", f"{WIDTH}x{HEIGHT}x24",
             "-nolisten", "tcp"],
            pass_fds=[writes], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(writes)
        with os.fdopen(reads) as told:
            self.name = ":" + told.readline().strip()
        self.environment = {**os.environ, "DISPLAY": self.name}

    def tool(self, *arguments):
        subprocess.run(["xdotool", *map(str, arguments)], env=self.environment, check=True, timeout=20)

    def picture(self):
        """What is on the display now: (rows, columns, 3), from the top left."""
        return np.asarray(ImageGrab.grab(xdisplay=self.name).convert("RGB"))

    def close(self):
        self._server.terminate()
        self._server.wait(10)


class KioskProcess:
    """A kiosk at work, with its store, its pages and its panel in one folder.

    opened: its store is opened by a file before anybody stands at the screen; else the screen asks.
    """

    def __init__(self, folder, *, language="en", device_class="T10", opened=True):
        self.folder, self.pages, self.store = folder, folder / "pages", folder / "kiosk.store"
        self.pipe, self.secret = folder / "panel", folder / "passphrase"
        if not self.pipe.exists():
            os.mkfifo(self.pipe)
            self.secret.write_text(PASSPHRASE + "\n")
        self.display = Display()
        self._keeps_pipe_fd = os.open(self.pipe, os.O_RDWR)  # a panel stays plugged in between two fingers
        self._log = (folder / "kiosk.log").open("ab")
        edges = (0, WIDTH * STEPS_PER_PX, HEIGHT * STEPS_PER_PX, 0)
        self._process = subprocess.Popen(
            [*BEFORE_OTHERS, sys.executable, "-m", "kiosk", "start", "--store", self.store,
             *(("--passphrase-file", self.secret) if opened else ()),
             "--touch", self.pipe, "--touch-ranges", *map(str, edges),
             "--pages", self.pages, "--px-per-mm", str(PX_PER_MM), str(PX_PER_MM),
             "--device-class", device_class, "--language", language],
            cwd=ROOT, env=self.display.environment, stdout=self._log, stderr=self._log)
        self._fingers = 0
        shown = self.wait_for_change(np.zeros((HEIGHT, WIDTH, 3), dtype=np.uint8), within_s=30)
        while tuple(shown[HEIGHT // 2 - 40, WIDTH // 2]) == FIRST_PICTURE_S_MARK:
            shown = self.wait_for_change(shown, within_s=30)

    def close(self):
        """End the kiosk as a machine that shuts down does; its exit code."""
        self._process.terminate()
        code = self._process.wait(20)
        os.close(self._keeps_pipe_fd)
        self._log.close()
        self.display.close()
        return code

    def kill(self):
        """End the kiosk itself as a crash does; the process that watches over it goes on."""
        pid = self._process.pid
        (child,) = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        os.kill(int(child), signal.SIGKILL)

    def type(self, text):
        """On a plugged-in keyboard, with Enter; the display must show something new."""
        before = self.picture()
        self.display.tool("type", "--delay", 30, text)
        self.display.tool("key", "Return")
        self.wait_for_change(before)

    @property
    def running(self):
        return self._process.poll() is None

    def picture(self):
        return self.display.picture()

    def save_picture(self, name):
        Image.fromarray(self.picture()).save(self.folder / f"{name}.png")

    def wait_for_change(self, before, within_s=10.0):
        """Until the display shows something else, and that stands still for a while."""
        end_s, last, still_s = time.monotonic() + within_s, before, 0.0
        while time.monotonic() < end_s:
            time.sleep(LOOK_EVERY_S)
            now = self.picture()
            still_s = 0.0 if changed(last, now) else still_s + LOOK_EVERY_S
            if still_s >= STANDS_STILL_S and changed(before, now):
                return now
            last = now
        self.save_picture("waited-in-vain")
        raise AssertionError(f"nothing new on the display within {within_s} s")

    def press(self, x, y, hold_s=0.06):
        self.display.tool("mousemove", x, y, "sleep", 0.05, "mousedown", 1, "sleep", hold_s, "mouseup", 1)

    def tap(self, *places, hold_s=0.06):
        """Press at each place in turn; after each the display must show something new."""
        for x, y in places:
            before = self.picture()
            self.press(x, y, hold_s)
            self.wait_for_change(before)

    def scan(self, code):
        """What a scanner plugged in as a keyboard reads."""
        before = self.picture()
        self.display.tool("type", "--delay", "60", code)
        self.display.tool("key", "Return")
        self.wait_for_change(before)

    def follow(self, plan, *, seconds=None, rate_hz=RATE_HZ, points_mm=None):
        """A finger that rests on the disc and goes with it, 50 ms late; its stamps, nanoseconds.

        Those of reports that tell nothing new are left out, as the kernel would not have sent them.
        """
        points = raw(finger_path(plan, rate_hz, seconds)[1] if points_mm is None else points_mm)
        self._fingers += 1
        told = json.dumps({"pipe": str(self.pipe), "points": points, "rate_hz": rate_hz,
                           "identity": 100 + self._fingers})
        command = [*BEFORE_OTHERS, sys.executable, "-m", "tests.outside.panel_process"]
        done = subprocess.run(command, input=told, cwd=ROOT, capture_output=True, text=True, check=True,
                              timeout=120)
        stamps = json.loads(done.stdout)
        return [at for n, at in enumerate(stamps) if n == 0 or points[n] != points[n - 1]]


def plan_of(block, hand, number, form="A", side="right"):
    return load_battery().plan(block, hand, number, form=form, side=side)


def finger_path(plan, rate_hz=RATE_HZ, seconds=None):
    """A finger's time since it sets off, and its places: at rest, then where the disc was, to its end."""
    rest_s = REST_ON_DISC_S + LATE_S
    length_s = rest_s + (plan.end_s + 0.3 if seconds is None else seconds)
    t_s = np.arange(round(length_s * rate_hz)) / rate_hz - rest_s
    return t_s, np.column_stack(plan.position(np.maximum(t_s, 0.0)))


def raw(points_mm):
    """Millimetres about the field's centre, y up, in panel steps, y down; every report differs by a step."""
    x = np.rint((points_mm[:, 0] * PX_PER_MM + WIDTH / 2) * STEPS_PER_PX).astype(int)
    y = np.rint((HEIGHT / 2 - points_mm[:, 1] * PX_PER_MM) * STEPS_PER_PX).astype(int)
    x += np.arange(len(x)) % 2
    return [[int(a), int(b)] for a, b in zip(x, y, strict=True)]
