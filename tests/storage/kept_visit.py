"""A visit in a process of its own, to be killed: real store, real writing thread, real trials, hurried clock.

`visit_in_process(file, told, seed, how)` takes the demo's person through a whole visit on an encrypted file.
how is `ours` or `each_visit` (trials kept only when the visit ends: what ours is compared with). Each
frame of 50 ms of virtual time takes frame_real_s of real time. Lines in the file `told`, flushed:
`running T R` each frame (T: the trial's clock, s since the disc set off; R: real seconds), `kept N` after
each trial.
"""

import time
from pathlib import Path

import numpy as np

from kiosk.demo import (
    FRAME_S,
    PANEL,
    RANGES,
    NoWindow,
    SimulatedPerson,
    VirtualClock,
    demo_person,
    simulated_device,
    sit_through,
)
from kiosk.glass.capture import Playback
from kiosk.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.room import Room
from kiosk.storage.engine import open_file
from kiosk.storage.ids import IdSource
from kiosk.storage.journal import StoreJournal
from kiosk.storage.store import Store
from tests.storage.examples import KEYS

HURRIED_S = 0.0015  # 33 times as fast as real time


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


class HurriedStage(NoWindow):
    """Shows nothing, takes a little real time for each frame, and tells where the trial stands."""

    sitting, frame_real_s = None, HURRIED_S

    def draw(self) -> None:
        time.sleep(self.frame_real_s)
        recorder = self.sitting._recorder
        if recorder is not None and recorder.running.set_off_s is not None:
            since = recorder.running._now_s - recorder.running.set_off_s
            tell(f"running {since:.3f} {time.monotonic():.6f}")


TOLD: list = []


def tell(line: str) -> None:
    TOLD[0].write(line + "\n")
    TOLD[0].flush()


def room_on(archive, clock: VirtualClock, new_id: IdSource, journal) -> Room:
    device, record, calibration = simulated_device(new_id)
    return Room(battery=load_battery(), archive=archive, reference=None, device=device,
                calibration=calibration, calibration_record=record, language=load_language("en"),
                new_id=new_id, now_utc=clock.now_utc, journal=journal)


def visit_in_process(path: Path, told: Path, seed: int, how: str, frame_real_s: float = HURRIED_S) -> None:
    TOLD.append(told.open("w"))
    clock = VirtualClock()
    new_id = IdSource(clock.now_utc, np.random.default_rng([seed, 1]))
    store = Store(open_file(path, KEYS), now=clock.now_utc, new_id=new_id, kiosk_id="04",
                  audit_key=KEYS.audit)
    journal = StoreJournal(store.ledger) if how == "ours" else None
    room = room_on((Ours if how == "ours" else AtTheEnd)(store), clock, new_id, journal)
    person = demo_person(new_id)
    room.furnish(person)
    simulated = SimulatedPerson(seed, 71.0, room.calibration)
    simulated.comes(1, False)
    visit = room.begin(person, "training")
    capture, stage = Playback(clock.now_ns, RANGES, PANEL), HurriedStage()
    sitting = room.sitting(visit, capture, stage, clock.now_ns, 1 / FRAME_S)
    stage.sitting, stage.frame_real_s = sitting, frame_real_s
    tell("begun")
    sit_through(sitting, stage, clock, capture, simulated)
    tell("over")
    time.sleep(30)

