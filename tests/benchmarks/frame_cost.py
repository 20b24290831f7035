"""The trial's frame against the bare scene's, five times in turn; growth over 20 visits.

The first frame is measured by first_frame.py.

    python -m tests.benchmarks.frame_cost

Each number is measured in a process of its own.
"""

import os
import sys
import time
from pathlib import Path
from statistics import median
from subprocess import run

from tests.benchmarks.figure import Figure, print_figures

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
FRAMES = 400


def answer(*arguments):
    environment = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONSAFEPATH": "1"}
    found = run([sys.executable, *arguments], capture_output=True, text=True, check=True, env=environment)
    return found.stdout.strip()


def own_stage():
    from kiosk.i18n.language import load_language
    from kiosk.screens.stage import Stage
    from kiosk.touch.calibration import PANEL_A

    clock = [0.0]
    return Stage(PANEL_A, lambda: clock[0], offscreen=True), clock, load_language("en")


def trial_frame():
    """CPU ms of one frame of a trial whose disc moves under the finger."""
    from kiosk.pursuit.running import Picture
    from kiosk.screens.pictures import all_steps

    stage, clock, english = own_stage()
    step = dict(all_steps())["trial"]
    stage.show(step, english)
    for number in range(-50, FRAMES):
        if number == 0:
            since = time.process_time()
        clock[0] += 1 / 60
        x, y = (float(place) for place in step.plan.position(3.0 + clock[0] % 8.0))
        stage.frame(Picture("window", x, y, True, 1.0), clock[0])
        stage.draw()
    return (time.process_time() - since) / FRAMES * 1000


def growth(visits=20):
    """MB more memory after so many visits of all screens, each in another language, 4 visits to warm up."""
    from kiosk.screens.pictures import all_steps
    from tests.screens.sample_languages import arabic, lengthened

    stage, clock, english = own_stage()
    languages = (english, lengthened(), arabic())
    for visit in range(visits + 6):
        if visit == 6:
            warm = resident_mb()
        for _, step in all_steps():
            stage.show(step, languages[visit % 3])
            for _ in range(3):
                clock[0] += 0.5
                stage.draw()
    return resident_mb() - warm


def resident_mb():
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def figures():
    """The frame's ratio, the median of five; growth."""
    own = str(HERE / "frame_cost.py")
    pairs = [(float(answer(str(HERE / "bare_scene.py"), str(FRAMES))), float(answer(own, "trial_frame")))
             for _ in range(5)]
    yield Figure("processor time of a trial's frame", median(ours / bare for bare, ours in pairs), "x", 0.6,
                 "a bare scene of the toolkit with the same drawing")
    yield Figure("memory grown over 20 visits of all screens", float(answer(own, "growth")), "MB", 5.0)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(globals()[sys.argv[1]]())
    else:
        print_figures(figures())
