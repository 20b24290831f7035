"""The journal of the running trial: chunks written to the store by a thread, and trials rebuilt from them.

Each chunk is one row of trial_chunk: a header as canonical JSON (which trial, its plan, the facts so far) and
a container of its touches. Adding the finished trial removes them in the same transaction (Store.add_trial),
so a trial is in the store once, whole or in chunks. An error of the writing thread is kept in `error` and
never delays a frame. Decision storage-6.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from itertools import groupby
from json import loads
from queue import SimpleQueue
from threading import Event, Thread
from typing import Final
from uuid import UUID

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.base.errors import Refused
from kiosk.pursuit.samples import RawTouch
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.storage import tables
from kiosk.storage.column_types import Row
from kiosk.storage.row_mapping import path_from, samples_of, with_spans
from kiosk.storage.rows import Ledger
from kiosk.storage.store import Store
from kiosk.storage.trial_container import Packed, pack, unpack
from kiosk.touch.journal import JournalTrial, Part
from kiosk.visits.archive import StoredTrial

CUT_SHORT: Final = "kiosk_stopped"
"""The outcome_reason of a trial rebuilt from its chunks."""
POLL_S: Final = 0.1
Work = Callable[[], None]


class StoreJournal:
    """Implements kiosk.touch.journal.Journal on a store; ids are made in the caller's thread."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger, self._work = ledger, SimpleQueue[Work | None]()
        self._trial: JournalTrial | None = None
        self._trial_id, self._seq = UUID(int=0), 0
        self.error: Refused | None = None
        self._thread = Thread(target=self._write, name="journal", daemon=True)
        self._thread.start()

    def begin(self, trial: JournalTrial) -> None:
        """A trial begins; the error of an earlier one is forgotten."""
        self._trial, self._trial_id, self._seq = trial, self._ledger.new_id(), 0
        self.error = None

    def add(self, part: Part) -> None:
        """Queue one part for the writing thread."""
        trial, chunk_id, trial_id, seq = self._trial, self._ledger.new_id(), self._trial_id, self._seq
        if trial is None:
            return
        self._seq += 1
        self._work.put(lambda: self._keep(chunk_row(trial, part, chunk_id, trial_id, seq)))

    def drop(self) -> None:
        """Remove the chunks of the running trial; it begins again."""
        trial_id = self._trial_id
        self._trial_id, self._seq = self._ledger.new_id(), 0
        self._work.put(lambda: self._forget(trial_id))

    def close(self) -> None:
        """Wait until everything queued is written (or the thread has died)."""
        if self._trial is not None:
            idle = Event()
            self._work.put(idle.set)
            while self._thread.is_alive() and not idle.wait(POLL_S):
                pass
        self._trial = None

    def end(self) -> None:
        """End the thread once it has written everything queued."""
        self._work.put(None)
        self._thread.join()

    def _write(self) -> None:
        while (work := self._work.get()) is not None:
            try:
                work()
            except Refused as refusal:
                self.error = refusal

    def _keep(self, row: Row) -> None:
        with self._ledger.writing() as writing:
            writing.add(tables.trial_chunk, row)

    def _forget(self, trial_id: UUID) -> None:
        chunk = tables.trial_chunk
        with self._ledger.writing() as writing:
            writing.connection.execute(chunk.delete().where(chunk.c.trial_id == trial_id))


@contextmanager
def journal_on(store: Store) -> Iterator[StoreJournal]:
    """A journal, its thread ended when the block is left."""
    journal = StoreJournal(store.ledger)
    try:
        yield journal
    finally:
        journal.end()


def chunk_row(trial: JournalTrial, part: Part, chunk_id: UUID, trial_id: UUID, seq: int) -> Row:
    """One part of a recording as a row of trial_chunk."""
    facts = {name: value for name, value in asdict(part.facts).items() if name != "flip_t_s"}
    header = {"position": trial.position, "plan": trial.plan.describe(), "facts": facts,
              "calibration_id": _text(trial.calibration_id), "repeat_of": _text(trial.repeat_of)}
    return {"id": chunk_id, "trial_id": trial_id, "visit_id": trial.visit_id, "seq": seq,
            "header": canonical_json(header),
            "bytes": pack(Packed(part.raw, part.set_off_ns, part.facts.flip_t_s, {}))}


def rebuild_unfinished(store: Store) -> tuple[StoredTrial, ...]:
    """At start: add every trial found in chunks as interrupted (it is not scored); returns these trials.

    A trial without a calibration cannot be kept; its chunks are removed with the next trial of its visit.
    """
    chunk = tables.trial_chunk
    rows = store.ledger.all(sa.select(chunk).order_by(chunk.c.trial_id, chunk.c.seq))
    groups = [list(group) for _, group in groupby(rows, lambda row: row["trial_id"])]
    trials = tuple(_rebuilt(store, group) for group in groups)
    for trial in trials:
        store.add_trial(trial)
    return trials


def _rebuilt(store: Store, rows: list[Row]) -> StoredTrial:
    parts = [unpack(row["bytes"]) for row in rows]
    header, last = loads(rows[0]["header"]), loads(rows[-1]["header"])
    raw, set_off_ns = _joined(parts), parts[-1].set_off_ns
    plan = TrialPlan(**{**header["plan"], "path": path_from(header["plan"]["path"])})
    calibration_id = UUID(header["calibration_id"])
    samples = samples_of(raw, set_off_ns, store.calibration(calibration_id))
    facts = _facts(last["facts"], np.concatenate([part.flip_t_s for part in parts]))
    record = TrialRecord(plan, samples, facts, raw, set_off_ns, calibration_id)
    repeat_of = header["repeat_of"]
    return StoredTrial(rows[0]["trial_id"], rows[0]["visit_id"], header["position"], record,
                       None if repeat_of is None else UUID(repeat_of))


def _facts(plain: JsonObject, flip_t_s: NDArray[np.float64]) -> TrialFacts:
    cut_short = {"outcome": "interrupted", "outcome_reason": CUT_SHORT}
    return TrialFacts(**{**with_spans(plain), **cut_short}, flip_t_s=flip_t_s)


def _joined(parts: list[Packed]) -> RawTouch:
    first = parts[0].raw
    t_ns, x_raw, y_raw, contact = (
        np.concatenate([getattr(part.raw, name) for part in parts])
        for name in ("t_ns", "x_raw", "y_raw", "contact"))
    return RawTouch(t_ns, x_raw, y_raw, contact, first.ranges, first.window)


def _text(key: UUID | None) -> str | None:
    return None if key is None else str(key)
