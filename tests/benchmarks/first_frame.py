"""The first frame against a bare label's, five times in turn, each in a process of its own, off-screen.

    python -m tests.benchmarks.first_frame

A bare label is drawn with the same settings of the toolkit. Against it: the first picture, the first screen
of the person, and the first screen of the kiosk with everything it works with. Seconds of processor time,
user and system, which other work on the machine disturbs less than the clock on the wall. Modules are kept
compiled, as they are from the second start on.
"""

import os
import resource
import sys
import tempfile
from pathlib import Path
from statistics import median
from subprocess import run

from tests.benchmarks.figure import Figure, print_figures

COMPILED = tempfile.mkdtemp(prefix="compiled-")
ROOT = Path(__file__).resolve().parents[2]
HELLO = """
import os
os.environ |= {"KIVY_NO_ARGS": "1", "KIVY_NO_CONSOLELOG": "1", "KIVY_NO_CONFIG": "1", "KIVY_NO_FILELOG": "1",
               "SDL_VIDEODRIVER": "offscreen", "KCFG_GRAPHICS_MULTISAMPLES": "0", "KIVY_TEXT": "pil"}
from kivy.base import EventLoop, runTouchApp
from kivy.uix.label import Label
runTouchApp(Label(text="Hello"), embedded=True)
EventLoop.idle()
"""
PICTURE = """
from kiosk.screens.first_picture import show_first_picture
show_first_picture(1280, 800, offscreen=True)
"""
PERSON = """
from kiosk.touch.calibration import PANEL_A
from kiosk.i18n.language import load_language
from kiosk.screens.stage import Stage
from kiosk.pursuit.battery import load_battery
from kiosk.visits.course import Course
stage = Stage(PANEL_A, lambda: 0.0, offscreen=True)
stage.show(Course(load_battery(), form="A", preferred_hand="right").step, load_language("en"))
stage.draw()
"""
KIOSK = """
import tempfile
from pathlib import Path
from tests.app.fake_kiosk import FakeKiosk
from kiosk.screens.stage import Stage
FakeKiosk._stage = lambda self, calibration: Stage(calibration, lambda: 0.0, offscreen=True)
FakeKiosk(Path(tempfile.mkdtemp())).driver.frame()
"""
COMPARED = {"first picture": (PICTURE, 1.0), "person's first screen": (PERSON, 1.3),
            "kiosk's first screen": (KIOSK, 3.0)}


def seconds(program):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONSAFEPATH": "1",
                                "PYTHONPYCACHEPREFIX": COMPILED}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    run([sys.executable, "-c", program], check=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def figures():
    """Each first picture's ratio, the median of five."""
    for name, (program, limit) in COMPARED.items():
        seconds(program), seconds(HELLO)
        pairs = [(seconds(HELLO), seconds(program)) for _ in range(5)]
        yield Figure(name, median(ours / bare for bare, ours in pairs), "x", limit, "a bare label's window")


if __name__ == "__main__":
    print_figures(figures())
