"""How fast the encrypted store answers with many visits: `python -m tests.benchmarks.store_speed [VISITS]`.

Fills a store in a folder of its own (100,000 visits of 5,000 people unless told), then times: opening, the
newest 50 visits, a page of 50 in the middle, one person's 20 visits with their scores; medians of 20.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from statistics import median

import sqlalchemy as sa

from kiosk.storage import tables
from kiosk.storage.engine import open_file
from kiosk.storage.score_rows import add_scores
from kiosk.storage.store import Store
from kiosk.storage.visit_rows import visit_row
from tests.storage.examples import BEGINS, KEYS, Clock, Examples, new_ids, store_on

VISITS_EACH = 20


def fill(path: Path, visits: int) -> list:
    """Visits with a score set each; the persons' ids."""
    store, ex, people = store_on(open_file(path, KEYS), KEYS.audit), Examples(), []
    ex.begin(store)
    for start in range(0, visits, VISITS_EACH):
        person = replace(ex.person, id=ex.new_id(), code=f"K-{start:06d}")
        store.add_person(person)
        people.append(person.id)
        with store.ledger.writing() as writing:
            for number in range(VISITS_EACH):
                began = BEGINS + timedelta(hours=start + number)
                visit = replace(ex.visit, id=ex.new_id(), person_id=person.id, started_at=began)
                writing.add(tables.visit, visit_row(visit))
                add_scores(writing, visit.id, 1, [], ex.blocks(), "{}", [])
    store.close()
    return people


def ms(work: Callable[[], object], times: int = 20) -> float:
    """The median time of a piece of work."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - begun))
    return median(taken)


def opened(path: Path) -> Store:
    return Store(open_file(path, KEYS), now=Clock(), new_id=new_ids(3), kiosk_id="04", audit_key=KEYS.audit)


def main(visits: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path, small = Path(folder, "kiosk.store"), Path(folder, "small.store")
        people = fill(path, visits)
        fill(small, VISITS_EACH)
        store, visit = opened(path), tables.visit
        newest = sa.select(visit).order_by(visit.c.started_at.desc(), visit.c.id.desc()).limit(50)
        middle = BEGINS + timedelta(hours=visits // 2)
        person = people[len(people) // 2]
        told = {
            "size, MB": path.stat().st_size / 1e6,
            "open, ms": ms(lambda: opened(path).close()),
            "open with 20 visits, ms": ms(lambda: opened(small).close()),
            "newest record, ms": ms(lambda: store.newest_record()),
            "newest 50, ms": ms(lambda: store.ledger.all(newest)),
            "50 in the middle, ms": ms(lambda: store.ledger.all(newest.where(visit.c.started_at < middle))),
            "one person's 20 with scores, ms": ms(
                lambda: [store.scores_of(one.id) for one in store.visits_of(person)]),
            "today's, ms": ms(lambda: store.visits_since(BEGINS + timedelta(hours=visits - 20))),
            "audit head, ms": ms(store.audit_head),
        }
        for name, value in told.items():
            print(f"{name:36} {value:9.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
