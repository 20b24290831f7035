"""How fast scoring is: `python -m tests.benchmarks.speed`. Ratios of one run count; nothing here is a test.

A 16 s trial at 240 touches/s scored by the kiosk and by the plain pandas version, alternated five times, each
the median of repeats; ten trials with block scores and facts; a whole visit from its trials to findings.

Decision tests-4.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from statistics import median
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd

from kiosk.app import conclusion
from kiosk.cli.main import main
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.block import score_blocks
from kiosk.scoring.block_facts import block_facts
from kiosk.scoring.score import score_trial
from kiosk.visits.comparison import make_findings
from tests.benchmarks.figure import Figure, print_figures
from tests.benchmarks.scores_in_pandas import scores as scores_in_pandas

ROUNDS = 5


def recording(plan: TrialPlan, rate_hz: float = 240.0) -> TrialRecord:
    rng = np.random.default_rng(1)
    facts = TrialFacts(input_fuzz=0.0, smoothing_ms=0.0)
    return TrialRecord(plan, move(typical_hand(60, rng), plan, rng, rate_hz), facts)


def milliseconds(work: Callable[[], object], repeats: int) -> float:
    spent = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        spent.append(1000 * (time.perf_counter() - begin))
    return median(spent)


def against_pandas(block: str) -> Iterator[Figure]:
    record = recording(load_battery().plan(block, "preferred", 1))
    samples, plan = record.samples, record.plan
    frame = pd.DataFrame({"t_s": samples.t_s, "x_mm": samples.x_mm, "y_mm": samples.y_mm,
                          "contact": samples.contact.astype(int)})
    path = plan.describe()["path"]
    score_trial(record)
    pairs = [(milliseconds(lambda: score_trial(record), 50),
              milliseconds(lambda: scores_in_pandas(frame, path, plan.window_s), 3)) for _ in range(ROUNDS)]
    yield Figure(f"a 16 s trial scored ({block})", median(ours for ours, _ in pairs), "ms", 2.0)
    yield Figure(f"the same as a plain pandas version takes ({block})",
                 median(plain / ours for ours, plain in pairs), "x", 100.0, "ours", at_least=True)


def visit_to_findings() -> Iterator[Figure]:
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
    yield Figure(f"visit of {len(seen.trials)} trials to findings", milliseconds(found, 20), "ms", 50.0)


def whole_visit() -> Iterator[Figure]:
    battery = load_battery()
    records = [recording(battery.plan(block.id, block.hand, number)) for block in battery.blocks
               if block.scored for number in range(1, block.trials + 1)]

    def scored() -> None:
        trials = [(one.plan, score_trial(one)) for one in records]
        score_blocks(trials, battery), block_facts(trials, battery)

    scored()
    yield Figure("ten trials, block scores and facts", milliseconds(scored, 20), "ms", 20.0)


def figures() -> Iterator[Figure]:
    """All of them."""
    for name in ("steady", "brisk", "wander"):
        yield from against_pandas(name)
    yield from whole_visit()
    yield from visit_to_findings()


if __name__ == "__main__":
    print_figures(figures())
