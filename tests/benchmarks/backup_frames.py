"""Frames of a trial while a backup is made: `python -m tests.benchmarks.backup_frames MB ROUNDS`

Fills an encrypted store with trials of samples that do not compress, opens the window (on the display where
there is one), and gives trials of the steady circle on the real clock with a finger at 120/s, journalled into
the same store. In every other trial a backup of the whole store begins while the disc waits for the finger,
as by itself the kiosk would have begun it before the visit. Prints JSON: for each trial the longest time from
one frame to the next and the 99th percentile, ms; seconds and size of each backup.
"""

import json
import os
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_bytes

import numpy as np

from kiosk.app.context import Context
from kiosk.app.frame_limiter import FrameLimiter
from kiosk.app.store_opening import Machine, SignIn, set_up
from kiosk.demo.simulated_visits import PANEL, RANGES, SimulatedPerson, demo_person, simulated_device
from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.screens.stage import Stage
from kiosk.storage import tables
from kiosk.storage.backup_run import BackupMade, BackupProcess
from kiosk.storage.ids import IdSource
from kiosk.storage.journal import StoreJournal
from kiosk.storage.keys import Cost
from kiosk.storage.row_mapping import trial_row
from kiosk.touch.capture import Playback
from tests.storage.examples import Examples

BLOB_BYTES = 25_000  # a trial of 17 s at 120/s, as kept
WARM_UP = 1
ANSWERS = {"welcome": "begin", "finger_check": "finger_felt", "demonstration": "shown",
           "instruction": "ready", "rest": "ready", "change_hand": "ready", "new_path": "ready",
           "not_understood_once": "ready"}


def now():
    return datetime.now(UTC)


def filled(folder: Path, megabytes: float):
    """A new store of that size, opened."""
    machine = Machine(now, IdSource(now, np.random.default_rng(1)), token_bytes, Cost(1, 8))
    opened, _ = set_up(folder / "kiosk.store", SignIn("seven quiet herons stand"), machine)
    examples, chance = Examples(), np.random.default_rng(2)
    examples.begin(opened.store)
    row = trial_row(examples.trial(), examples.calibration)
    count = round(megabytes * 1e6 / BLOB_BYTES)
    for start in range(0, count, 500):
        with opened.store.ledger.writing() as writing:
            for number in range(start, min(start + 500, count)):
                blob = chance.bytes(BLOB_BYTES)
                writing.add(tables.trial, {**row, "id": machine.new_id(), "position": 100 + number,
                                           "attempt": 100 + number, "samples": blob})
    return opened, machine


class Visit:
    """A visit in the window, on the real clock; a simulated finger does each trial."""

    def __init__(self, opened, machine) -> None:
        device, record, calibration = simulated_device(machine.new_id)
        offscreen = not os.environ.get("DISPLAY")
        self.stage = Stage(calibration, time.monotonic, offscreen=offscreen, fullscreen=not offscreen)
        self.capture = Playback(time.monotonic_ns, RANGES, PANEL)
        self.journal = StoreJournal(opened.store.ledger)
        context = Context(load_battery(), opened.store, None, device, calibration, record,
                          load_language("en"), machine.new_id, now, journal=self.journal)
        person = demo_person(machine.new_id)
        context.furnish(person)
        self.person = SimulatedPerson(3, 72.0, calibration)
        self.person.comes(1, False)
        begun = context.begin(person, "demo")
        self.runner = context.runner(begun, self.capture, self.stage, time.monotonic_ns, None)
        self.limiter = FrameLimiter()

    def to_the_next_trial(self) -> None:
        """Everything between two trials, at once."""
        while not self.runner.waiting_for_finger:
            if self.runner.step.screen in ANSWERS:
                self.runner.act(ANSWERS[self.runner.step.screen])
            self.frame()

    def trial(self) -> list[int]:
        """One trial; when each of its frames was drawn, ns."""
        self.capture.load(self.person.touches(self.runner.step.plan, time.monotonic_ns() + 500_000_000))
        drawn = []
        while self.runner.waiting_for_finger:
            self.frame()
        while self.runner.in_trial:
            drawn.append(self.frame())
        return drawn

    def frame(self) -> int:
        began_ns = time.monotonic_ns()
        self.runner.tick()
        self.stage.draw()
        self.runner.flipped()
        drawn_ns = time.monotonic_ns()
        time.sleep(self.limiter.rest_s(began_ns, drawn_ns))
        return drawn_ns


def measured(folder: Path, megabytes: float, rounds: int, enough_ms: float | None = None) -> dict:
    """At most so many rounds; fewer where the calmest trials differ by no more than enough_ms."""
    opened, machine = filled(folder, megabytes)
    visit = Visit(opened, machine)
    told = {"store_mb": opened.path.stat().st_size / 1e6, "quiet": [], "with_backup": [], "backups": []}
    for number in range(WARM_UP + 2 * rounds):
        visit.to_the_next_trial()
        with_backup = number >= WARM_UP and (number - WARM_UP) % 2 == 1
        run = begun = None
        if with_backup:
            begun = time.monotonic()
            run = BackupProcess(opened.path, opened.keys, folder / "backups", opened.keys.kiosk_id, now())
        gaps_ms = np.diff(visit.trial()[:-1]) / 1e6  # the last frame keeps the trial
        if number >= WARM_UP:
            told["with_backup" if with_backup else "quiet"].append(
                {"longest_ms": float(gaps_ms.max()), "p99_ms": float(np.percentile(gaps_ms, 99)),
                 "frames": len(gaps_ms)})
        if run is not None:
            told["backups"].append(ended(run, begun))
            if enough_ms is not None and later_ms(told) <= enough_ms:
                break
    visit.journal.end()
    return told


def later_ms(told: dict, measure: str = "longest_ms") -> float:
    """How much later a frame comes with a backup: the calmest trial with one against the calmest without."""
    busy, quiet = (min(one[measure] for one in told[name]) for name in ("with_backup", "quiet"))
    return busy - quiet


def ended(run: BackupProcess, begun: float) -> dict:
    """What became of the backup, and how long it took at least as long as the trial lasted."""
    while (copied := run.ended()) is None:
        time.sleep(0.05)
    made = isinstance(copied, BackupMade)
    return {"made": made, "s": time.monotonic() - begun, "why": "" if made else str(copied)}


def main(megabytes: float = 250.0, rounds: float = 3, enough_ms: float | None = None) -> None:
    with tempfile.TemporaryDirectory() as folder:
        print(json.dumps(measured(Path(folder), megabytes, round(rounds), enough_ms)))


if __name__ == "__main__":
    main(*map(float, sys.argv[1:4]))
