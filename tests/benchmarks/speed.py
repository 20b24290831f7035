"""How fast scoring is: `python tests/benchmarks/speed.py`. Ratios of one run count; nothing here is a test.

A 16 s trial at 240 touches/s scored by the kiosk and by the plain pandas version, alternated five times, each
the median of repeats; ten trials with block scores and facts; a whole visit from its trials to findings.

Decision tests-4.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd
from scores_in_pandas import scores as scores_in_pandas

sys.path.insert(1, sys.path[0] + "/../..")

from kiosk.app import conclusion
from kiosk.cli.main import main
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.block_facts import block_facts
from kiosk.scoring.score import score_trial
from kiosk.visits.comparison import make_findings

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


def visit_to_findings() -> None:
    """The third visit of a demo, scored and compared with the two before it."""
    asked = []

    def noting(*given: object, **named: object) -> object:
        asked.append(given)
        return make_findings(*given, **named)

    with TemporaryDirectory() as folder:
        conclusion.make_findings = noting
        main(["demo", "--out", folder, "--seed", "7", "--visits", "3", "--no-window"])
    seen, person, device, table, earlier = asked[-1][:5]
    battery = load_battery()

    def found() -> None:
        trials = [(trial, score_trial(trial.record)) for trial, _ in seen.trials]
        planned = [(trial.record.plan, scores) for trial, scores in trials]
        blocks = score_blocks(planned, battery) | block_facts(planned, battery)
        today = replace(seen, trials=trials, block_scores=blocks)
        make_findings(today, person, device, table, earlier)

    found()
    print(f"visit of {len(seen.trials)} trials to findings: {milliseconds(found, 20):.1f} ms")


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
    visit_to_findings()
