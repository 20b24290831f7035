"""Many worlds of three kiosks and a server: all end with the same rows, and who was erased stays erased."""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import pytest
import sqlalchemy as sa

from kiosk.storage import tables
from kiosk.storage.integrity import verify_audit
from tests.storage.examples import KEYS
from tests.storage.worlds import NAMES, World

ALWAYS, MANY = 60, 10_000


def faults_of(seed: int) -> list[str]:
    """What is wrong at the end of one world; nothing, if all is well."""
    world = World(seed)
    world.run()
    rows = [world.rows(name) for name in NAMES]
    found = [f"{seed}: {table} differs" for table in rows[0]
             if not rows[0][table] == rows[1][table] == rows[2][table]]
    with world.server.connect() as connection:
        there = set(connection.scalars(sa.select(tables.person.c.id)))
    honest = there & {one.person.id for one in world.people} - world.erased
    for name in NAMES:
        ledger = world.kiosks[name].store.ledger
        here = {row["id"] for row in ledger.all(sa.select(tables.person))}
        if here & world.erased:
            found.append(f"{seed}: erased persons at {name}")
        if here != honest:
            found.append(f"{seed}: persons at {name} forged or missing")
        if verify_audit(ledger.engine, KEYS.audit, name).breaks:
            found.append(f"{seed}: audit of {name}")
    return found


@pytest.mark.parametrize("seed", range(ALWAYS))
def test_a_world_ends_with_the_same_rows_everywhere_and_nobody_erased_comes_back(seed):
    assert faults_of(seed) == []


def test_the_same_seed_gives_the_same_bytes_and_another_seed_others():
    digests = []
    for seed in (7, 7, 8):
        world = World(seed)
        world.run()
        digests.append(world.digest())
    assert digests[0] == digests[1] != digests[2]


@pytest.mark.long
def test_ten_thousand_worlds_end_well():
    with ProcessPoolExecutor(2, get_context("forkserver")) as pool:
        found = [fault for faults in pool.map(faults_of, range(MANY), chunksize=50) for fault in faults]
    assert found == []

