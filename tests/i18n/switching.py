"""Prints, as JSON, what 200 changes of language on the welcome cost; run in a process of its own."""

import gc
import json
import sys
import time

from kiosk.i18n.language import available, load_language
from kiosk.screens.pictures import StillClock, all_steps
from kiosk.screens.stage import Stage
from kiosk.touch.calibration import nominal

PAGE_BYTES = 4096


def resident_mb():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * PAGE_BYTES / 2**20


def switched(stage, clock, languages, step, count):
    """Processor seconds of each change, the drawing of one frame with it."""
    spent = []
    for number in range(count):
        began = time.process_time()
        stage.show(step, languages[number % len(languages)])
        clock.pass_time(1.0)
        stage.draw()
        spent.append(time.process_time() - began)
    gc.collect()
    return spent


def main(count):
    clock = StillClock()
    stage = Stage(nominal("A"), clock, offscreen=True)
    step = dict(all_steps())["welcome"]
    languages = [load_language(tag) for tag in available()]
    switched(stage, clock, languages, step, max(count, 2 * len(languages)))
    before = resident_mb()
    spent = sorted(switched(stage, clock, languages, step, count))
    grown = resident_mb() - before
    print(json.dumps({"median_ms": spent[count // 2] * 1e3, "p95_ms": spent[count * 95 // 100] * 1e3,
                      "grown_mb": grown}))  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]))
