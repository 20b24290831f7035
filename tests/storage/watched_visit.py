"""A kiosk at work whose every trace is looked at: `python -m tests.storage.watched_visit FOLDER SECRET`.

The command `start` with its own ways of ending, on a real store, journal, screens and printer; in the place
of the desk, this module takes a planted person through a visit. The first run ends by an error of ours in
mid-trial whose message holds what was planted; the next takes the visit up, ends it, prints its page, sends
it to a printer that does not answer, and saves it. At each stop a line of JSON goes to standard output (a
pipe) and the kiosk waits for an answer.
"""

import json
import os
import sys
import time
from contextlib import redirect_stdout
from dataclasses import replace
from pathlib import Path
from secrets import token_bytes

import numpy as np
import sqlalchemy as sa

from kiosk.app.printing import Printer, PrintJob, default_printer, save_page
from kiosk.app.store_opening import Machine, SignIn, open_store
from kiosk.cli import start as start_command
from kiosk.cli.composition import demo_stage
from kiosk.cli.main import main
from kiosk.demo.simulated_visits import NoWindow, VirtualClock, demo_person
from kiosk.i18n.language import load_language
from kiosk.pursuit.observation import Observation
from kiosk.scoring.score import score_trial
from kiosk.storage import tables
from kiosk.storage.ids import IdSource
from kiosk.storage.journal import StoreJournal, rebuild_unfinished
from kiosk.visits.visit import VisitEnd
from tests.simulated_visit import SimulatedVisit, context_on, person_arriving
from tests.storage.search import BIRTH, CODE, FAMILY, GIVEN, NOTE, WORDS

SHOWN = 6  # touches told to whoever searches
EVERY = 300  # frames from one drawn to the next


def stop(name: str, **told: object) -> None:
    """Tell that something has happened, and wait until it has been looked at."""
    print(json.dumps({"stop": name, **told}), flush=True)
    sys.stdin.readline()


class Screens:
    """Screens, drawn now and then; `each_frame` is called for every frame."""

    def __init__(self, real, each_frame) -> None:
        self._real, self._each_frame, self._frames = real, each_frame, 0
        self.on_action = lambda action: None

    def show(self, step, language) -> None:
        self._real.show(step, language)

    def frame(self, picture, now_s) -> None:
        if self._frames % EVERY == 0:
            self._real.frame(picture, now_s)

    def draw(self) -> None:
        self._frames += 1
        if self._frames % EVERY == 0:
            self._real.draw()
        self._each_frame()

    def press(self, action, pass_time) -> None:
        NoWindow.press(self, action, pass_time)


def work(folder: Path) -> int:
    """The kiosk from its start: a new visit, or the one that was left in the middle."""
    clock = VirtualClock()
    clock.pass_s(4000.0 * (folder / "pages").exists())
    new_id = IdSource(clock.now_utc, np.random.default_rng(os.getpid()))
    machine = Machine(clock.now_utc, new_id, token_bytes)
    store = open_store(folder / "kiosk.store", SignIn(WORDS), machine).store
    left = rebuild_unfinished(store)
    journal = StoreJournal(store.ledger)
    context = context_on(store, clock, new_id, journal)
    runner = None

    def crash_in_the_third_trial() -> None:
        recorder = runner._recorder
        if left or recorder is None or runner.course.position != 3 or recorder.running.set_off_s is None:
            return
        running = recorder.running
        if running._now_s - running.set_off_s > 3.0:
            time.sleep(0.3)  # the writing thread has come after
            touches = recorder._raw(recorder._touches[100:100 + SHOWN])
            parts = store.ledger.all(sa.select(tables.trial_chunk.c.bytes))
            samples = context.calibration.samples(touches, round(running.set_off_s * 1e9))
            stop("in the middle of a trial", kept=[row["bytes"].hex() for row in parts],
                 t_ns=touches.t_ns.tolist(), x_raw=touches.x_raw.tolist(), y_raw=touches.y_raw.tolist(),
                 x_mm=samples.x_mm.tolist(), y_mm=samples.y_mm.tolist())
            raise RuntimeError(f"{GIVEN} {FAMILY} {CODE} {BIRTH} {NOTE} {touches.x_raw.tolist()}")

    if left:
        visit = store.visit(left[0].visit_id)
        done = [(trial, score_trial(trial.record)) for trial in store.trials_of(visit.id)]
    else:
        person = replace(demo_person(new_id), code=CODE, birth_date=BIRTH, family_name=FAMILY,
                         given_name=GIVEN)
        context.furnish(person)
        visit, done = context.begin(person, "care", {"research_use": "no"}), []
    (folder / "pages").mkdir(exist_ok=True)
    real = NoWindow() if left else demo_stage(context.calibration, clock)
    screens = Screens(real, crash_in_the_third_trial)
    sitting = SimulatedVisit(context, clock, visit, screens, done)
    runner = sitting.runner
    sitting.sit(person_arriving(3, context))
    store.add_observation(visit.id, Observation("talked", None, NOTE))
    store.end_visit(VisitEnd(visit.id, "completed", clock.now_utc()))
    made = context.conclude(visit, load_language("en"))
    kept = store.ledger.all(sa.select(tables.trial.c.samples))
    stop("page made", page=made.pdf.hex(), kept=[row["samples"].hex() for row in kept])
    tag = made.content.page_tag
    stop("printed", outcome=str(printed(made.pdf, tag, default_printer())))
    stop("not printed", outcome=str(printed(made.pdf, tag, Printer("deaf", "Room 9"), longest_s=0.7)))
    save_page(folder / "pages", tag, made.pdf)
    stop("saved")
    journal.end()
    store.close()
    stop("closed")
    return 0


def command(folder: Path, secret: str, *words: str) -> None:
    """One command of the kiosk's; what it says goes to the log."""
    with redirect_stdout(sys.stderr):
        code = main([*words, "--store", str(folder / "kiosk.store"), "--passphrase-file", secret])
    stop(" ".join(words[:2]), code=code)


def printed(pdf: bytes, tag: str, printer: Printer, longest_s: float = 30.0) -> object:
    job = PrintJob(pdf, tag, printer, time.monotonic(), longest_s=longest_s)
    while job.outcome is None:
        job.tick(time.monotonic())
        time.sleep(0.01)
    return job.outcome


if __name__ == "__main__":
    where, passphrase = Path(sys.argv[1]), sys.argv[2]
    start_command.has_display = lambda environment: True  # it draws off the screen
    start_command.run_kiosk = lambda *_: work(where)
    if not (where / "kiosk.store").exists():
        command(where, passphrase, "staff", "set-up")
    ended = main(["start", "--unsupervised", "--store", str(where / "kiosk.store")])
    if ended == 0:
        command(where, passphrase, "backup", "--to", str(where / "backups"))
        command(where, passphrase, "person", "export", CODE, "--out", str(where / "export"))
        command(where, passphrase, "person", "erase", CODE, "--reason", "asked")
    sys.exit(ended)
