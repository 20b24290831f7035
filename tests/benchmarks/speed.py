"""How fast scoring is: `python tests/benchmarks/speed.py`. Ratios of one run count; nothing here is a test.

A 16 s trial at 240 touches/s scored by the kiosk and by the plain pandas version, alternated five times, each
the median of repeats; and a whole visit from its archive to findings.
"""

import sys
import time
from collections.abc import Callable
from statistics import median

import numpy as np
import pandas as pd
from scores_in_pandas import scores as scores_in_pandas

sys.path.insert(1, sys.path[0] + "/../..")

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.block_facts import block_facts
from kiosk.scoring.score import score_trial

ROUNDS = 5


def recording(plan: TrialPlan, rate_hz: float = 240.0) -> TrialRecord:
    rng = np.random.default_rng(1)
    return TrialRecord(plan, move(typical_hand(60, rng), plan, rng, rate_hz), TrialFacts(input_fuzz=0.0))


def milliseconds(work: Callable[[], object], repeats: int) -> float:
    spent = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        spent.append(1000 * (time.perf_counter() - begin))
    return median(spent)


def against_pandas(block: str) -> None:
    record = recording(load_battery().plan(block, "preferred", 1))
    samples, plan = record.samples, record.plan
    frame = pd.DataFrame({"t_s": samples.t_s, "x_mm": samples.x_mm, "y_mm": samples.y_mm,
                          "contact": samples.contact.astype(int)})
    path = plan.describe()["path"]
    score_trial(record)
    pairs = [(milliseconds(lambda: score_trial(record), 50),
              milliseconds(lambda: scores_in_pandas(frame, path, plan.window_s), 3)) for _ in range(ROUNDS)]
    for ours, plain in pairs:
        print(f"{block}: {ours:.2f} ms, pandas {plain:.1f} ms, {plain / ours:.0f} times")


def whole_visit() -> None:
    battery = load_battery()
    records = [recording(battery.plan(block.id, block.hand, number)) for block in battery.blocks
               if block.scored for number in range(1, block.trials + 1)]

    def scored() -> None:
        trials = [(one.plan, score_trial(one)) for one in records]
        score_blocks(trials, battery), block_facts(trials, battery)

    scored()
    print(f"ten trials, block scores and facts: {milliseconds(scored, 20):.1f} ms")


if __name__ == "__main__":
    for name in ("steady", "brisk", "wander"):
        against_pandas(name)
    whole_visit()
