"""Killed from outside in mid-visit: the store stays whole, finished trials stay, half a second is lost.

Most visits run 33 times as fast as real time, so one part of 250 ms is written every 8 ms: harder on the
writing thread than a real visit. What a real visit would have lost is then the part being filled (250 ms at
most) and the real time for which the writing thread lagged behind. Some run at true speed.
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

from kiosk.demo import FRAME_S, PANEL, RANGES, NoWindow, SimulatedPerson, VirtualClock, sit_through
from kiosk.glass.capture import Playback
from kiosk.glass.journal import PART_MS
from kiosk.scoring.score import score_trial
from kiosk.storage import tables
from kiosk.storage.engine import connect_file, damaged_pages, open_file
from kiosk.storage.ids import IdSource
from kiosk.storage.journal import CUT_SHORT, rebuild_unfinished
from kiosk.storage.store import Store
from kiosk.visits.archive import StoredTrial
from tests.storage.examples import KEYS
from tests.storage.kept_visit import HURRIED_S, room_on, visit_in_process

SPAWN = multiprocessing.get_context("forkserver")
SPAWN.set_forkserver_preload(["tests.storage.kept_visit"])
MOST_LOST_S = 0.5
TRIALS = 11


@dataclass
class Aftermath:
    """What was said before the kill, and what the store gave after it."""

    path: Path
    kept_told: int
    running: list[tuple[float, float]]
    damaged: tuple[int, ...]
    integrity: str
    broken_keys: int
    finished: list[StoredTrial]
    rebuilt: tuple[StoredTrial, ...]

    @property
    def finished_lost(self) -> int:
        return max(0, self.kept_told - len(self.finished))

    @property
    def running_lost_s(self) -> float:
        """Of a trial that ran: from its last sample in the store to where it was told to be."""
        if not self.running or len(self.finished) > self.kept_told:
            return 0.0
        reached = float(self.rebuilt[0].record.samples.t_s[-1]) if self.rebuilt else 0.0
        lost = max(0.0, self.running[-1][0] - reached)
        due = [real for trial_s, real in self.running if trial_s >= reached + PART_MS / 1000]
        return min(lost, PART_MS / 1000) + (self.running[-1][1] - due[0] if due else 0.0)

    @property
    def running_lost_as_it_ran_s(self) -> float:
        """On the trial's own clock: for visits at true speed."""
        if not self.running or len(self.finished) > self.kept_told:
            return 0.0
        return self.running[-1][0] - (self.rebuilt[0].record.samples.t_s[-1] if self.rebuilt else 0.0)


def killed(folder: Path, seed: int, how: str, after_s: float, frame_real_s: float = HURRIED_S) -> Aftermath:
    path, told = folder / f"{how}{seed}.store", folder / f"{how}{seed}.txt"
    process = SPAWN.Process(target=visit_in_process, args=(path, told, seed, how, frame_real_s), daemon=True)
    process.start()
    for _ in range(3000):
        if told.exists() and "begun" in told.read_text():
            break
        time.sleep(0.01)
    time.sleep(after_s)
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    return aftermath(path, told.read_text().splitlines())


def aftermath(path: Path, lines: list[str]) -> Aftermath:
    kept = sum(line.startswith("kept ") for line in lines)
    last_kept = max((i for i, line in enumerate(lines) if line.startswith("kept ")), default=-1)
    running = [(float(line.split()[1]), float(line.split()[2])) for line in lines[last_kept + 1:]
               if line.startswith("running ") and len(line.split()) == 3]
    store = reopened(path)
    rebuilt = rebuild_unfinished(store)
    trials = [trial for one in visits(store) for trial in store.trials_of(one)]
    finished = [trial for trial in trials if trial.record.facts.outcome_reason != CUT_SHORT]
    store.close()
    plain = connect_file(path, KEYS)
    integrity = plain.execute("PRAGMA integrity_check").fetchone()[0]
    keys = len(plain.execute("PRAGMA foreign_key_check").fetchall())
    plain.close()
    return Aftermath(path, kept, running, damaged_pages(path, KEYS), integrity, keys, finished,
                     rebuilt)


def reopened(path: Path, clock: VirtualClock | None = None) -> Store:
    clock = clock or VirtualClock()
    return Store(open_file(path, KEYS), now=clock.now_utc,
                 new_id=IdSource(clock.now_utc, np.random.default_rng(os.getpid())), kiosk_id="04",
                 audit_key=KEYS.audit)


def visits(store: Store) -> list:
    return [row["id"] for row in store.ledger.all(sa.select(tables.visit))]


def many_killed(folder: Path, seeds: range, how: str, within_s: tuple[float, float]) -> list[Aftermath]:
    moments = np.random.default_rng([20261125, len(seeds)]).uniform(*within_s, len(seeds))
    with ThreadPoolExecutor(6) as pool:
        return list(pool.map(lambda seed, after_s: killed(folder, seed, how, after_s), seeds, moments))


def check_nothing_lost(after: list[Aftermath]) -> None:
    assert [one.path.name for one in after if one.damaged or one.integrity != "ok" or one.broken_keys] == []
    assert [one.path.name for one in after if one.finished_lost] == []
    assert max(one.running_lost_s for one in after) <= MOST_LOST_S
    for one in after:
        assert len(one.rebuilt) <= 1
        assert all(trial.record.facts.outcome == "interrupted" for trial in one.rebuilt)


def go_on(path: Path, *, to_the_end: bool) -> int:
    """Start again after the kill and go on with the visit; trials kept in the end."""
    clock = VirtualClock()
    clock.pass_s(4000)
    store = reopened(path, clock)
    new_id = IdSource(clock.now_utc, np.random.default_rng(os.getpid()))
    visit = store.visit(visits(store)[0])
    room = room_on(store, clock, new_id, None)
    done = [(trial, score_trial(trial.record)) for trial in store.trials_of(visit.id)]
    capture, stage = Playback(clock.now_ns, RANGES, PANEL), NoWindow()
    sitting = room.sitting(visit, capture, stage, clock.now_ns, 1 / FRAME_S, done=done)
    assert sitting.course.position == len(done) + 1
    assert sitting.course.done or sitting.step.plan is not None
    if to_the_end and not sitting.course.done:
        person = SimulatedPerson(5, 71.0, room.calibration)
        person.comes(1, False)
        sit_through(sitting, stage, clock, capture, person)
    complete = {(one.record.plan.block_name, one.record.plan.number) for one in store.trials_of(visit.id)
                if one.record.facts.outcome == "complete"}
    store.close()
    return len(complete)


def test_forty_kills_at_seeded_moments_corrupt_nothing_and_lose_no_finished_trial(tmp_path):
    after = many_killed(tmp_path, range(40), "ours", (0.02, 3.2))
    check_nothing_lost(after)
    assert sum(one.kept_told for one in after) >= 40, "most visits must have got somewhere"
    assert sum(bool(one.rebuilt) for one in after) >= 15, "many kills must have hit a running trial"
    ended = [go_on(one.path, to_the_end=number % 10 == 0) for number, one in enumerate(after)]
    assert ended[::10] == [TRIALS] * 4


def killed_at_true_speed(folder: Path, seeds: range) -> list[Aftermath]:
    moments = np.random.default_rng([7, len(seeds)]).uniform(0.9, 4.5, len(seeds))
    with ThreadPoolExecutor(6) as pool:
        return list(pool.map(lambda seed, s: killed(folder, seed, "ours", s, FRAME_S), seeds, moments))


def test_at_true_speed_half_a_second_of_the_running_trial_is_lost_at_most(tmp_path):
    after = killed_at_true_speed(tmp_path, range(2000, 2006))
    check_nothing_lost(after)
    lost = [one.running_lost_as_it_ran_s for one in after]
    assert min(lost) >= -1.01 * FRAME_S, "a part may hold the frame that was not told any more"
    assert max(lost) <= MOST_LOST_S and sum(bool(one.rebuilt) for one in after) >= 3


def test_saving_at_the_end_of_the_visit_would_lose_finished_trials(tmp_path):
    """The check above can find a loss."""
    after = many_killed(tmp_path, range(4), "each_visit", (1.5, 3.2))
    assert sum(one.finished_lost for one in after) == sum(one.kept_told for one in after) > 4
    with pytest.raises(AssertionError):
        check_nothing_lost(after)


@pytest.mark.long
def test_three_hundred_kills_over_whole_visits(tmp_path):
    after = many_killed(tmp_path, range(1000, 1300), "ours", (0.02, 11.0))
    check_nothing_lost(after)
    assert all(go_on(one.path, to_the_end=True) == TRIALS for one in after[::10])
    true = killed_at_true_speed(tmp_path, range(3000, 3060))
    check_nothing_lost(true)
    assert max(one.running_lost_as_it_ran_s for one in true) <= MOST_LOST_S
    print("lost of a running trial, s:", max(one.running_lost_s for one in after),
          max(one.running_lost_as_it_ran_s for one in true))
