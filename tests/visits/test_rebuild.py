"""Earlier visits and findings from the archive: counted by the rule, and made again to the last digit."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest

from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.storage.engine import open_memory
from kiosk.storage.store import Store
from kiosk.visits.comparison import make_findings
from kiosk.visits.device_record import CalibrationRecord
from kiosk.visits.earlier import count_earlier, earlier_visits_from
from kiosk.visits.findings_json import findings_text
from kiosk.visits.rebuild import rebuild_findings, seen_from
from norms import Standing, Table, pack_folder, read_zip
from tests.storage.examples import store_on
from tests.visits.examples import blocks, device, ended_trial, person, uuid, visit

FOLDER = pack_folder(Path(__file__).parents[1] / "norms" / "example_table")


@pytest.fixture(scope="module")
def table() -> Table:
    return read_zip(FOLDER)


@pytest.fixture
def store() -> Store:
    store = store_on(open_memory())
    store.add_person(person())
    store.add_device(device(device_class="simulated"))
    store.add_calibration(CalibrationRecord(uuid(3), uuid(2), "simulated", 5.88, 5.88, 1280, 800))
    return store


def keep(store: Store, table: Table | None, k: int, z: float, purpose: str = "demo") -> str:
    """A whole visit as wiring keeps it; the text of its findings."""
    today = visit(k, purpose=purpose, latency_ms=0.0)
    store.begin_visit(today)
    trial, scores = ended_trial(2)
    trial = replace(trial, id=uuid(5000 + k), visit_id=today.id)
    store.add_trial(trial)
    store.add_observation(today.id, Observation("talked", trial.id))
    score_set = store.add_scores(today.id, 1, [(trial.id, scores)], list(blocks(z).values()))
    found = make_findings(seen_from(store, today), person(), store.device(uuid(2)), table,
                          earlier_visits_from(store, today))
    if table is not None:
        store.add_reference_table(table.sha256, table.name, table.version, table.status, FOLDER)
    store.add_findings(found, score_set, table and table.sha256, findings_text(found))
    return findings_text(found)


def test_findings_made_again_are_equal_to_the_last_digit(store: Store, table: Table):
    first, second = keep(store, table, 0, 0.0), keep(store, table, 1, -2.5)
    for k, text in enumerate((first, second)):
        again = rebuild_findings(store, uuid(100 + k))
        assert isinstance(again.standings["brisk.preferred.scatter"], Standing)
        assert findings_text(again) == text
    assert rebuild_findings(store, uuid(101)).compared_with.visit_id == uuid(100)


def test_a_refusal_is_made_again_as_a_refusal(store: Store, table: Table):
    text = keep(store, table, 0, 0.0, purpose="care")
    again = rebuild_findings(store, uuid(100))
    assert again.table_refusal.code == "synthetic_with_real_person"
    assert findings_text(again) == text
    assert store.table_that_judged(uuid(100)) is None


def test_a_visit_without_any_table_is_made_again_without_one(store: Store):
    keep(store, None, 0, 0.0)
    assert rebuild_findings(store, uuid(100)).table_refusal.code == "no_table_loaded"


def test_the_table_that_judged_is_known_for_later_visits(store: Store, table: Table):
    keep(store, table, 0, 0.0)
    (before,) = earlier_visits_from(store, visit(1))
    assert (before.table.name, before.table.sha256) == (table.name, table.sha256)
    assert (before.visit.id, before.device_class, before.number) == (uuid(100), "simulated", 1)
    assert earlier_visits_from(store, visit(0)) == ()


def test_a_visit_counts_once_it_has_a_completed_trial_of_a_scored_block_of_the_same_battery(store: Store):
    def begin(k: int, *kept: Callable[[UUID], object], **changed: str) -> None:
        store.begin_visit(visit(k, **changed))
        for keep_trial in kept:
            keep_trial(uuid(100 + k))

    def trial(position: int, block: str, outcome: str = "complete") -> Callable[[UUID], object]:
        made, _ = ended_trial(position, block, outcome=outcome)
        return lambda visit_id: store.add_trial(replace(made, id=uuid(visit_id.int * 100 + position),
                                                        visit_id=visit_id))
    begin(0)
    begin(1, trial(1, "familiarise"))
    begin(2, trial(1, "familiarise"), trial(2, "steady", "stopped"))
    assert count_earlier(store, uuid(1), "clinic") == 0
    begin(3, trial(2, "steady"), purpose="training")
    begin(4, trial(2, "wander"))
    begin(5, trial(2, "steady"), battery="clinic-stylus")
    assert count_earlier(store, uuid(1), "clinic") == 2
    assert count_earlier(store, uuid(1), "clinic-stylus") == 1
    assert count_earlier(store, uuid(999), "clinic") == 0


def test_a_visit_that_was_not_scored_is_refused(store: Store):
    store.begin_visit(visit(0))
    with pytest.raises(Refused, match="visit_not_scored"):
        rebuild_findings(store, uuid(100))
    with pytest.raises(Refused, match="unknown_visit"):
        rebuild_findings(store, uuid(77))
