"""A visit in a process of its own, to be killed: real store, real writing thread, real trials.

`visit_in_process(file, told, seed, how, true_from_s)` takes the demo's person through a whole visit on an
encrypted file. how is `ours` or `each_visit` (trials kept only when the visit ends: what ours is compared
with). The clock hurries until trials have been on the screen for true_from_s; from there on it is the
machine's own monotonic clock, and the hand moves in real time (what the hurry left to be written is written
first). Where it never is, a visit hurries 33 times as fast as real time, else as fast as it can. Lines in the
file `told`, flushed: `true N` (N: nanoseconds by which the visit's clock is ahead of CLOCK_MONOTONIC from now
on), `running S E` (a disc set off at S nanoseconds of the visit's clock and the trial is over after E
seconds), `idle`, `kept N` after each trial.
"""

import time
from pathlib import Path
from threading import Event

import numpy as np

from kiosk.demo.simulated_visits import FRAME_S, NoWindow, VirtualClock, demo_person
from kiosk.storage.engine import open_file
from kiosk.storage.ids import IdSource
from kiosk.storage.journal import StoreJournal
from kiosk.storage.store import Store
from tests.simulated_visit import SimulatedVisit, context_on, person_arriving
from tests.storage.examples import KEYS

HURRIED_S = 0.0015  # real time of a frame of 50 ms
NEVER_S = 1e9


class HurriedThenTrue(VirtualClock):
    """Passes as fast as frames are made, and from a moment of the visit on as fast as time does."""

    def __init__(self, true_from_s: float) -> None:
        self._virtual_ns, self._ahead_ns = 0, None
        super().__init__()
        self._hurry_left_s, self.before_true = true_from_s, lambda: None
        self.frame_real_s = HURRIED_S if true_from_s == NEVER_S else 0.0

    @property
    def ns(self) -> int:
        return self._virtual_ns if self._ahead_ns is None else time.monotonic_ns() + self._ahead_ns

    @ns.setter
    def ns(self, to_ns: int) -> None:
        if self._ahead_ns is not None:
            time.sleep(max(0.0, (to_ns - self.ns) / 1e9))
        self._virtual_ns = to_ns

    @property
    def hurries(self) -> bool:
        return self._ahead_ns is None

    def pass_s(self, seconds: float) -> None:
        super().pass_s(seconds)
        self._hurry_left_s -= FRAME_S if seconds == FRAME_S else 0.0
        if self.hurries and self._hurry_left_s <= 0.0:
            self.before_true()
            self._ahead_ns = self._virtual_ns - time.monotonic_ns()
            tell(f"true {self._ahead_ns}")


class AtTheEnd:
    """An archive that holds trials back until the visit ends: each-visit saving."""

    def __init__(self, store: Store) -> None:
        self._store, self._held = store, []

    def __getattr__(self, name):
        return getattr(self._store, name)

    def add_trial(self, trial) -> None:
        self._held.append(trial)
        tell(f"kept {len(self._held)}")

    def end_visit(self, end) -> None:
        for trial in self._held:
            self._store.add_trial(trial)


class Ours:
    """The store, telling when a trial has been kept."""

    def __init__(self, store: Store) -> None:
        self._store, self._kept = store, 0

    def __getattr__(self, name):
        return getattr(self._store, name)

    def add_trial(self, trial) -> None:
        self._store.add_trial(trial)
        self._kept += 1
        tell(f"kept {self._kept}")


class TellingStage(NoWindow):
    """Shows nothing, takes a little real time for each hurried frame, and tells when a disc sets off."""

    def __init__(self, clock: HurriedThenTrue) -> None:
        super().__init__()
        self.runner, self._clock, self._told = None, clock, ""

    def draw(self) -> None:
        if self._clock.hurries:
            time.sleep(self._clock.frame_real_s)
        recorder, now = self.runner._recorder, "idle"
        if recorder is not None and recorder.running.set_off_s is not None:
            now = f"running {round(recorder.running.set_off_s * 1e9)} {self.runner.step.plan.end_s}"
        if now != self._told:
            tell(now)
        self._told = now


TOLD: list = []


def tell(line: str) -> None:
    TOLD[0].write(line + "\n")
    TOLD[0].flush()


def written(journal: StoreJournal) -> None:
    """Wait until its thread has nothing to write."""
    idle = Event()
    journal._work.put(idle.set)
    idle.wait()


def visit_in_process(path: Path, told: Path, seed: int, how: str, true_from_s: float = NEVER_S) -> None:
    TOLD.append(told.open("w"))
    clock = HurriedThenTrue(true_from_s)
    new_id = IdSource(clock.now_utc, np.random.default_rng([seed, 1]))
    store = Store(open_file(path, KEYS), now=clock.now_utc, new_id=new_id, kiosk_id="04",
                  audit_key=KEYS.audit)
    journal = StoreJournal(store.ledger) if how == "ours" else None
    if journal is not None:
        clock.before_true = lambda: written(journal)
    context = context_on((Ours if how == "ours" else AtTheEnd)(store), clock, new_id, journal)
    person = demo_person(new_id)
    context.furnish(person)
    simulated = person_arriving(seed, context)
    stage = TellingStage(clock)
    sitting = SimulatedVisit(context, clock, context.begin(person, "training"), stage)
    stage.runner = sitting.runner
    tell("begun")
    sitting.sit(simulated)
    tell("over")
    time.sleep(30)

