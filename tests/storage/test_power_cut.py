"""Killed from outside in mid-visit: the store stays whole, finished trials stay, half a second is lost.

What is lost of a running trial is measured from outside, on CLOCK_MONOTONIC: from the last touch found in the
store to the moment of the kill, while the hand moves in real time and the writing thread keeps its real
250 ms. A visit hurries to a seeded moment and runs in real time from there until it is killed. Other visits
are killed while they hurry: 33 times as many parts a second, so that more kills fall into a commit.
"""

import multiprocessing
import os
import signal
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import sqlalchemy as sa

from kiosk.demo.simulated_visits import VirtualClock
from kiosk.scoring.score import score_trial
from kiosk.storage import tables
from kiosk.storage.engine import connect_file, damaged_pages, open_file
from kiosk.storage.ids import IdSource
from kiosk.storage.journal import CUT_SHORT, rebuild_unfinished
from kiosk.storage.store import Store
from kiosk.visits.archive import StoredTrial
from tests.calm_machine import real_time
from tests.simulated_visit import SimulatedVisit, context_on, person_arriving
from tests.storage.examples import KEYS
from tests.storage.kept_visit import NEVER_S, visit_in_process

pytestmark = real_time
SPAWN = multiprocessing.get_context("forkserver")
SPAWN.set_forkserver_preload(["tests.storage.kept_visit"])
MOST_LOST_S = 0.5
TRIALS = 11
IN_TRIALS_S = 215.0  # about as long as trials are on the screen in the demo's visit
FIRST_HALF_S = 100.0
AT_ONCE = 6


@dataclass
class Aftermath:
    """What was said before the kill, when it came (CLOCK_MONOTONIC), and what the store gave after it.

    running: when the disc set off (ns of the visit's clock) and when the trial would have been over (s from
    then); None between trials. ahead_ns: the visit's clock less CLOCK_MONOTONIC; None where it hurried.
    """

    path: Path
    kept_told: int
    running: tuple[int, float] | None
    ahead_ns: int | None
    killed_ns: int
    dead_ns: int
    damaged: tuple[int, ...]
    integrity: str
    broken_keys: int
    finished: list[StoredTrial]
    rebuilt: tuple[StoredTrial, ...]

    @property
    def finished_lost(self) -> int:
        return max(0, self.kept_told - len(self.finished))

    @property
    def in_a_trial(self) -> bool:
        return self.running is not None and len(self.finished) <= self.kept_told

    @property
    def lost_s(self) -> float:
        """Of the trial that ran in real time: from its last touch in the store to the kill, or its end."""
        if self.running is None or self.ahead_ns is None or not self.in_a_trial:
            return 0.0
        set_off_ns, end_s = self.running
        ran_s = min((self.killed_ns + self.ahead_ns - set_off_ns) / 1e9, end_s)
        return ran_s - (float(self.rebuilt[0].record.samples.t_s[-1]) if self.rebuilt else 0.0)


def killed(folder: Path, seed: int, how: str, true_from_s: float, after_s: float) -> Aftermath:
    """A visit killed so long after it began, or after it began to run in real time."""
    path, told = folder / f"{how}{seed}.store", folder / f"{how}{seed}.txt"
    process = SPAWN.Process(target=visit_in_process, args=(path, told, seed, how, true_from_s), daemon=True)
    process.start()
    wait_for(told, "begun" if true_from_s == NEVER_S else "true ")
    time.sleep(after_s)
    os.kill(process.pid, signal.SIGKILL)
    killed_ns = time.monotonic_ns()
    process.join()
    return aftermath(path, told.read_text().splitlines(), killed_ns, time.monotonic_ns())


def wait_for(told: Path, word: str) -> None:
    for _ in range(6000):
        if told.exists() and word in told.read_text():
            return
        time.sleep(0.01)
    raise AssertionError(f"{told.name} never said {word!r}")


def aftermath(path: Path, lines: list[str], killed_ns: int, dead_ns: int) -> Aftermath:
    words = [line.split() for line in lines]
    kept = sum(line[0] == "kept" for line in words)
    now = [line for line in words if line[0] in ("running", "idle", "kept")][-1:]
    ahead = [int(line[1]) for line in words if line[0] == "true"]
    store = reopened(path)
    rebuilt = rebuild_unfinished(store)
    trials = [trial for one in visits(store) for trial in store.trials_of(one)]
    finished = [trial for trial in trials if trial.record.facts.outcome_reason != CUT_SHORT]
    store.close()
    plain = connect_file(path, KEYS)
    integrity = plain.execute("PRAGMA integrity_check").fetchone()[0]
    keys = len(plain.execute("PRAGMA foreign_key_check").fetchall())
    plain.close()
    running = [(int(line[1]), float(line[2])) for line in now if line[0] == "running"]
    return Aftermath(path, kept, running[0] if running else None, ahead[0] if ahead else None, killed_ns,
                     dead_ns, damaged_pages(path, KEYS), integrity, keys, finished, rebuilt)


def reopened(path: Path, clock: VirtualClock | None = None) -> Store:
    clock = clock or VirtualClock()
    return Store(open_file(path, KEYS), now=clock.now_utc,
                 new_id=IdSource(clock.now_utc, np.random.default_rng(os.getpid())), kiosk_id="04",
                 audit_key=KEYS.audit)


def visits(store: Store) -> list:
    return [row["id"] for row in store.ledger.all(sa.select(tables.visit))]


def killed_while_it_hurries(folder: Path, seeds: range, how: str, within_s: tuple[float, float]
                            ) -> list[Aftermath]:
    moments = np.random.default_rng([20261125, len(seeds)]).uniform(*within_s, len(seeds))
    with ThreadPoolExecutor(AT_ONCE) as pool:
        return list(pool.map(lambda seed, s: killed(folder, seed, how, NEVER_S, s), seeds, moments))


def killed_in_real_time(folder: Path, seeds: range, in_trials_s: float, longest_s: float) -> list[Aftermath]:
    """Each killed 0.3 s to longest_s after a moment of its trials from which it runs in real time."""
    rng = np.random.default_rng([7, len(seeds)])
    true_from_s = rng.uniform(1.0, in_trials_s, len(seeds))
    after_s = rng.uniform(0.3, longest_s, len(seeds))
    with ThreadPoolExecutor(AT_ONCE) as pool:
        return list(pool.map(lambda seed, start_s, s: killed(folder, seed, "ours", start_s, s),
                             seeds, true_from_s, after_s))


def check_nothing_lost(after: list[Aftermath]) -> None:
    assert [one.path.name for one in after if one.damaged or one.integrity != "ok" or one.broken_keys] == []
    assert [one.path.name for one in after if one.finished_lost] == []
    assert [(one.path.name, one.lost_s) for one in after if one.lost_s > MOST_LOST_S] == []
    for one in after:
        assert len(one.rebuilt) <= 1
        assert all(trial.record.facts.outcome == "interrupted" for trial in one.rebuilt)
        if one.ahead_ns is not None:
            last_ns = max((int(trial.record.raw.t_ns[-1]) for trial in one.rebuilt), default=0)
            assert last_ns <= one.dead_ns + one.ahead_ns, "no touch of after its death"


def go_on(path: Path, *, to_the_end: bool) -> int:
    """Start again after the kill and go on with the visit; trials kept in the end."""
    clock = VirtualClock()
    clock.pass_s(4000)
    store = reopened(path, clock)
    new_id = IdSource(clock.now_utc, np.random.default_rng(os.getpid()))
    visit = store.visit(visits(store)[0])
    context = context_on(store, clock, new_id, None)
    done = [(trial, score_trial(trial.record)) for trial in store.trials_of(visit.id)]
    sitting = SimulatedVisit(context, clock, visit, done=done)
    runner = sitting.runner
    assert runner.course.position == len(done) + 1
    assert runner.course.done or runner.step.plan is not None
    if to_the_end and not runner.course.done:
        sitting.sit(person_arriving(5, context))
    complete = {(one.record.plan.block_name, one.record.plan.number) for one in store.trials_of(visit.id)
                if one.record.facts.outcome == "complete"}
    store.close()
    return len(complete)


def test_forty_kills_at_seeded_moments_lose_no_finished_trial_and_half_a_second_of_the_running_one(tmp_path):
    after = killed_in_real_time(tmp_path, range(40), FIRST_HALF_S, 1.3)
    check_nothing_lost(after)
    assert sum(one.kept_told for one in after) >= 60, "most visits must have got somewhere"
    assert sum(one.in_a_trial for one in after) >= 20, "many kills must have hit a running trial"
    ended = [go_on(one.path, to_the_end=number % 10 == 0) for number, one in enumerate(after)]
    assert ended[::10] == [TRIALS] * 4
    print("lost, s:", sorted(round(one.lost_s, 3) for one in after if one.in_a_trial))


def test_kills_of_visits_that_hurry_corrupt_nothing_and_lose_no_finished_trial(tmp_path):
    after = killed_while_it_hurries(tmp_path, range(100, 116), "ours", (0.02, 3.2))
    check_nothing_lost(after)
    assert sum(bool(one.rebuilt) for one in after) >= 6, "many kills must have hit a running trial"
    assert [go_on(one.path, to_the_end=False) for one in after]


def test_saving_at_the_end_of_the_visit_would_lose_finished_trials(tmp_path):
    """The check above can find a loss."""
    after = killed_while_it_hurries(tmp_path, range(4), "each_visit", (1.5, 3.2))
    assert sum(one.finished_lost for one in after) == sum(one.kept_told for one in after) > 4
    with pytest.raises(AssertionError):
        check_nothing_lost(after)


def test_without_a_journal_more_than_half_a_second_of_the_running_trial_would_be_lost(tmp_path):
    """So does the measure of what is lost of the running trial."""
    after = [killed(tmp_path, seed, "each_visit", 60.0, 1.2) for seed in range(2)]
    assert all(one.in_a_trial and one.lost_s > MOST_LOST_S for one in after)


@pytest.mark.long
def test_three_hundred_kills_over_whole_visits(tmp_path):
    after = killed_in_real_time(tmp_path, range(1000, 1300), IN_TRIALS_S, 3.0)
    check_nothing_lost(after)
    assert all(go_on(one.path, to_the_end=True) == TRIALS for one in after[::10])
    hurried = killed_while_it_hurries(tmp_path, range(3000, 3060), "ours", (0.02, 11.0))
    check_nothing_lost(hurried)
    lost = [one.lost_s for one in after if one.in_a_trial]
    print("lost of a running trial, s: median", np.median(lost), "most", max(lost), "of", len(lost))
