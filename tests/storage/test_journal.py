"""The journal's writing thread: what it cannot write, and what ends it, never holds up the visit."""

import time
from dataclasses import replace
from threading import Event

import pytest

from kiosk.base.errors import Refused
from kiosk.storage.engine import open_file
from kiosk.storage.journal import StoreJournal, rebuild_unfinished
from kiosk.touch.journal import JournalTrial, Part
from tests.storage.examples import KEYS, Examples, store_on


@pytest.fixture
def ex() -> Examples:
    return Examples()


@pytest.fixture
def store(tmp_path, ex):
    store = store_on(open_file(tmp_path / "kiosk.store", KEYS), KEYS.audit)
    ex.begin(store)
    return store


def begun(store, ex) -> tuple[StoreJournal, Part]:
    record, journal = ex.trial().record, StoreJournal(store.ledger)
    journal.begin(JournalTrial(ex.visit.id, 2, record.plan, ex.calibration.id))
    return journal, Part(record.raw, record.facts, record.set_off_ns)


def test_what_was_put_by_is_there_when_close_returns_and_comes_back_as_one_interrupted_trial(store, ex):
    journal, part = begun(store, ex)
    for _ in range(3):
        journal.add(part)
    journal.close()
    rebuilt, = rebuild_unfinished(store)
    assert len(rebuilt.record.samples.t_s) == 3 * len(part.raw.t_ns)
    assert (rebuilt.record.facts.outcome, rebuilt.position) == ("interrupted", 2)
    assert rebuild_unfinished(store) == ()
    journal.end()


def test_adding_a_part_returns_at_once_however_slow_the_disk(store, ex, monkeypatch):
    released = Event()
    monkeypatch.setattr(StoreJournal, "_keep", lambda *_: released.wait(5))
    journal, part = begun(store, ex)
    began = time.monotonic()
    for _ in range(20):
        journal.add(part)
    assert time.monotonic() - began < 0.1
    released.set()
    journal.end()


def test_a_refusal_of_the_store_is_noted_and_the_next_part_is_written(store, ex, monkeypatch):
    keep, refusals = StoreJournal._keep, [Refused("store_full", {"found": "full"})]

    def sometimes(self, row):
        if refusals:
            raise refusals.pop()
        keep(self, row)

    monkeypatch.setattr(StoreJournal, "_keep", sometimes)
    journal, part = begun(store, ex)
    journal.add(part)
    journal.add(part)
    journal.close()
    assert journal.error.code == "store_full"
    assert len(rebuild_unfinished(store)[0].record.samples.t_s) == len(part.raw.t_ns)
    journal.end()


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_thread_that_died_of_an_error_of_ours_does_not_stop_the_visit(store, ex, monkeypatch):
    monkeypatch.setattr(StoreJournal, "_keep", lambda *_: 1 / 0)
    journal, part = begun(store, ex)
    journal.add(part)
    journal.add(replace(part))
    began = time.monotonic()
    journal.close()
    assert time.monotonic() - began < 2.0
    trial = ex.trial()
    store.add_trial(trial)
    assert len(store.trials_of(ex.visit.id)) == 1
