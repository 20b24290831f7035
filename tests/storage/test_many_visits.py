"""100,000 visits: lists and one person's history stay quick; nothing is looked for from end to end.

Decision storage-4.
"""

import time

import pytest
import sqlalchemy as sa

from kiosk.storage import row_mapping, tables
from kiosk.storage.engine import open_file
from tests.benchmarks.store_speed import measured
from tests.storage.examples import BEGINS, KEYS, Examples, store_on

PAGE_MS, PERSON_MS = 10.0, 50.0
VISIT, DETAILS = tables.visit, tables.person_details
QUESTIONS = {
    "newest 50": sa.select(VISIT).order_by(VISIT.c.started_at.desc(), VISIT.c.id.desc()).limit(50),
    "the 50 before": sa.select(VISIT).where(VISIT.c.started_at < BEGINS).order_by(
        VISIT.c.started_at.desc(), VISIT.c.id.desc()).limit(50),
    "since a day": sa.select(VISIT).where(VISIT.c.started_at >= BEGINS).order_by(VISIT.c.started_at),
    "one person's": sa.select(VISIT).where(VISIT.c.person_id == Examples().person.id),
    "their details": sa.select(DETAILS).where(DETAILS.c.person_id == Examples().person.id),
    "trials of a visit": sa.select(tables.trial).where(tables.trial.c.visit_id == Examples().visit.id),
    "score set of a visit": row_mapping.LATEST.params(visit=Examples().visit.id),
    "findings of a visit": sa.select(tables.findings).where(
        tables.findings.c.visit_id == Examples().visit.id),
    **{f"{number}. part of a score set": query.params(set_id=Examples().visit.id)
       for number, query in enumerate(row_mapping.PARTS, start=1)},
}


@pytest.mark.parametrize("asked", QUESTIONS)
def test_no_question_of_the_desk_goes_through_a_whole_table(tmp_path, asked):
    engine = open_file(tmp_path / "kiosk.store", KEYS)
    text = str(QUESTIONS[asked].compile(engine, compile_kwargs={"literal_binds": True}))
    with engine.connect() as connection:
        plan = [row[3] for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}")]
    assert any("USING INDEX" in step or "USING COVERING INDEX" in step for step in plan), plan
    assert not [step for step in plan if step.startswith("SCAN") and "INDEX" not in step], plan


def test_a_person_s_whole_history_is_read_back_as_it_was_kept(tmp_path):
    store, ex = store_on(open_file(tmp_path / "kiosk.store", KEYS)), Examples()
    ex.begin(store)
    trial = ex.trial()
    store.add_trial(trial)
    store.add_scores(ex.visit.id, 1, [(trial.id, ex.scores())], ex.blocks())
    kept = store.scores_of(ex.visit.id)
    assert (kept.trials, tuple(kept.blocks.values())) == ({trial.id: ex.scores()}, ex.blocks())


@pytest.mark.long
def test_100_000_visits(tmp_path):
    began = time.monotonic()
    found = measured(tmp_path, 100_000)
    print(f"filled and measured in {time.monotonic() - began:.0f} s", found)
    assert found["newest 50"] <= PAGE_MS and found["50 in the middle"] <= PAGE_MS
    assert found["one person's 20 with scores"] <= PERSON_MS
    assert found["open"] <= 1.5 * found["open with 20 visits"]
