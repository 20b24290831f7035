"""Two kiosks and a server: every visit once, whatever is killed; conflicts told; other rooms are found."""

import multiprocessing
import os
import signal
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.column_types import hash_column, row_sha256
from kiosk.storage.engine import open_file, open_memory
from kiosk.storage.erasure import erase_person
from kiosk.storage.rows_by_key import Conflict
from kiosk.storage.server import give_order
from kiosk.storage.store import Store
from kiosk.storage.sync import CONFLICT, begin_queueing, sync, waiting
from kiosk.storage.trust_list import signed_order
from kiosk.visits.earlier import count_earlier
from tests.storage.examples import BEGINS, ERASER_KEY, KEYS, Clock, Examples, enrolled, new_ids, store_on
from tests.storage.sync_process import sync_in_process
from tests.storage.test_server import ERASER, PUSH, login

SPAWN = multiprocessing.get_context("forkserver")


@pytest.fixture
def server(clinic_database):
    login(clinic_database(), "kiosk_a", PUSH)
    return clinic_database("kiosk_a")


def one_visit(store: Store, seed: int) -> Examples:
    ex = Examples(seed)
    ex.begin(store)
    trial = ex.trial()
    store.add_trial(trial)
    store.add_scores(ex.visit.id, 1, [(trial.id, ex.scores())], ex.blocks())
    store.end_visit(ex.end())
    return ex


def kiosk(engine: sa.Engine, kiosk_id: str, seed: int) -> Store:
    return enrolled(Store(engine, now=Clock(), new_id=new_ids(seed), kiosk_id=kiosk_id, audit_key=KEYS.audit))


def test_a_visit_of_one_room_is_found_in_another_bit_for_bit(server):
    first, second = kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)
    ex = one_visit(first, 7)
    assert sync(first.ledger, server).pushed > 20
    done = sync(second.ledger, server)
    assert done.pulled > 20 and done.conflicts == []
    assert second.visits_of(ex.person.id) == (ex.visit,)
    assert count_earlier(second, ex.person.id, ex.visit.battery) == 1
    assert second.scores_of(ex.visit.id) == first.scores_of(ex.visit.id)
    repeat = replace(ex.visit, id=ex.new_id(), form="B", earlier_visits=1)
    second.begin_visit(repeat)
    sync(second.ledger, server)
    sync(first.ledger, server)
    assert {visit.id for visit in first.visits_of(ex.person.id)} == {ex.visit.id, repeat.id}


def test_syncing_again_sends_and_takes_nothing(server):
    store = kiosk(open_memory(), "01", 11)
    one_visit(store, 7)
    sync(store.ledger, server)
    again = sync(store.ledger, server)
    assert (again.pushed, again.pulled, waiting(store.ledger)) == (0, 0, 0)


def test_what_is_kept_while_the_server_is_away_waits_and_is_sent_later(server, postgres):
    store = kiosk(open_memory(), "01", 11)
    sync(store.ledger, server)
    away = sa.create_engine("postgresql+psycopg://kiosk_a@127.0.0.1:1/clinic")
    one_visit(store, 7)
    with pytest.raises(Refused, match="server_away"):
        sync(store.ledger, away)
    count = waiting(store.ledger)
    assert count > 20 and sync(store.ledger, server).pushed == count


def test_the_same_id_with_other_content_is_told_and_the_first_stays(server):
    first, second = kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)
    ex = one_visit(first, 7)
    second.add_person(replace(ex.person, code="K-9999-9"))
    sync(first.ledger, server)
    found = sync(second.ledger, server)
    assert set(found.conflicts) == {Conflict("person", ex.person.id.hex)}
    with server.connect() as connection:
        assert connection.scalar(sa.select(tables.person.c.kiosk_id)) == "01"


def test_a_reference_table_that_both_loaded_is_no_conflict(server):
    kiosks = [kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)]
    for one in kiosks:
        one.add_reference_table("ab" * 32, "LOCAL-2026", "1.0.0", "local", b"PK zip")
        assert sync(one.ledger, server).conflicts == []
    assert sync(kiosks[0].ledger, server).conflicts == []
    assert {one.reference_table("ab" * 32) for one in kiosks} == {b"PK zip"}


def test_a_person_erased_in_one_room_is_erased_in_the_other_and_not_sent_again(server, clinic_database):
    first, second = kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)
    gone, stays = one_visit(first, 7), one_visit(first, 8)
    sync(first.ledger, server)
    sync(second.ledger, server)
    late = replace(gone.visit, id=gone.new_id())
    second.begin_visit(late)
    erase_person(first.ledger, gone.person.id, "asked")
    login(clinic_database(), "eraser_a", ERASER)
    give_order(clinic_database("eraser_a"), signed_order(ERASER_KEY, gone.person.id, "asked", BEGINS))
    sync(first.ledger, server)
    assert sync(second.ledger, server).erased == 1
    with pytest.raises(Refused, match="unknown_person"):
        second.person(gone.person.id)
    assert second.person(stays.person.id) == stays.person
    third = kiosk(open_memory(), "03", 13)
    owner = clinic_database()
    erase_person(store_on(owner, kiosk_id="server").ledger, gone.person.id, "asked")
    sync(third.ledger, server)
    assert [row["id"] for row in third.ledger.all(sa.select(tables.person))] == [stays.person.id]


def fill(path: Path, kiosk_id: str, own: range, shared: range) -> None:
    """A store with visits of its own and visits that another kiosk holds too (a tablet's copy)."""
    store = kiosk(open_file(path, KEYS), kiosk_id, own.start)
    both = Store(store.ledger.engine, now=Clock(), new_id=new_ids(999), kiosk_id="00")
    for seed in shared:
        one_visit(both, seed)
    for seed in own:
        one_visit(store, seed)
    begin_queueing(store.ledger)
    with store.ledger.writing() as writing:
        for table in (tables.person, tables.person_details, tables.device, tables.device_latency,
                      tables.calibration, tables.visit, tables.visit_end, tables.trial, tables.score_set,
                      tables.trial_validity, tables.trial_score, tables.block_score):
            for row in writing.connection.execute(sa.select(table).where(table.c.kiosk_id == "00")):
                writing.add(tables.outbox, {"table_name": table.name, "row_key": row.id.hex, "tries": 0})
    store.close()


def run_killed(jobs: list[tuple], kills: int, restart, rng) -> None:
    """Run the kiosks, kill one after another at seeded moments, restart the server once, let them end."""
    running = [SPAWN.Process(target=sync_in_process, args=job) for job in jobs]
    for process in running:
        process.start()
    for number in range(kills):
        time.sleep(rng.uniform(0.05, 0.5))
        at = number % len(jobs)
        if running[at].is_alive():
            os.kill(running[at].pid, signal.SIGKILL)
        running[at].join()
        running[at] = SPAWN.Process(target=sync_in_process, args=jobs[at])
        running[at].start()
        if number == kills // 2:
            restart()
    for process, job in zip(running, jobs, strict=True):
        process.join(120)
        assert process.exitcode == 0, job


def killed_syncs(tmp_path, postgres, database, own: int, shared: int, kills: int, batch: int) -> None:
    SPAWN.set_forkserver_preload(["tests.storage.sync_process"])
    plan = {"01": range(10_000, 10_000 + own), "02": range(20_000, 20_000 + own)}
    for kiosk_id, seeds in plan.items():
        fill(tmp_path / kiosk_id, kiosk_id, seeds, range(30_000, 30_000 + shared))
    planted = Examples(10_000).person
    second = kiosk(open_file(tmp_path / "02", KEYS), "02", 77)
    second.add_person(replace(planted, code="K-9999-9"))
    second.close()
    jobs = [(tmp_path / one, postgres.port, database, "kiosk_a", one, batch) for one in plan]

    def restart() -> None:
        postgres.stop("immediate")
        time.sleep(0.2)
        postgres.start()

    run_killed(jobs, kills, restart, np.random.default_rng(20261125))
    check_once(postgres.engine(database), 2 * own + shared, planted)
    assert {key for one in plan for key in conflicts_told(tmp_path / one)} == {planted.id.hex}
    pulled = kiosk(open_memory(), "03", 13)
    sync(pulled.ledger, postgres.engine(database, "kiosk_a"))
    assert len(pulled.ledger.all(sa.select(tables.visit.c.id))) == 2 * own + shared


def conflicts_told(path: Path) -> list[str]:
    store = kiosk(open_file(path, KEYS), "03", 78)
    query = sa.select(tables.audit.c.object_id).where(tables.audit.c.action == CONFLICT)
    told = [row["object_id"] for row in store.ledger.all(query)]
    store.close()
    return told


def check_once(engine: sa.Engine, visits: int, planted) -> None:
    with engine.connect() as connection:
        for table in (tables.visit, tables.trial, tables.score_set, tables.visit_end):
            assert connection.scalar(sa.select(sa.func.count()).select_from(table)) == visits, table.name
        for table in tables.metadata.sorted_tables:
            if table.name not in tables.MUTABLE:
                rows = connection.execute(sa.select(table)).mappings()
                assert all(row_sha256(table, row) == row[hash_column(table)] for row in rows), table.name
        assert connection.scalar(sa.select(tables.person.c.sha256).where(tables.person.c.id == planted.id))


def test_two_kiosks_that_are_killed_while_the_server_restarts_lose_and_double_nothing(
        tmp_path, postgres, clinic_database):
    owner = clinic_database()
    login(owner, "kiosk_a", PUSH)
    database = owner.url.database
    owner.dispose()
    killed_syncs(tmp_path, postgres, database, own=25, shared=10, kills=4, batch=30)


@pytest.mark.long
def test_a_thousand_overlapping_visits_ten_kills_and_a_restart_lose_and_double_nothing(
        tmp_path, postgres, clinic_database):
    owner = clinic_database()
    login(owner, "kiosk_a", PUSH)
    database = owner.url.database
    owner.dispose()
    killed_syncs(tmp_path, postgres, database, own=400, shared=200, kills=10, batch=200)
