"""How fast the encrypted store answers with many visits: `python -m tests.benchmarks.store_speed [VISITS]`.

Fills a store in a folder of its own (100,000 visits of 5,000 people unless told), then times: opening, the
newest 50 visits, a page of 50 in the middle, one person's 20 visits with all their scores: the best of 40,
what it takes on a machine that does nothing else. Every visit has two block scores; those of every 500th
person have as many trials and scores as a real one: 11 trials with 15 scores each, 79 block scores.
"""

import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from uuid import UUID

import numpy as np
import sqlalchemy as sa

from kiosk.scoring.catalogue import KINDS
from kiosk.scoring.trial_scores import BlockScore, Scored
from kiosk.storage import tables
from kiosk.storage.engine import open_file
from kiosk.storage.row_mapping import add_scores, trial_row, visit_row
from kiosk.storage.rows import Writing
from kiosk.storage.store import Store
from kiosk.visits.archive import StoredTrial
from tests.benchmarks.figure import Figure, print_figures
from tests.storage.examples import BEGINS, KEYS, Clock, Examples, new_ids, store_on

LIMITS_MS = {"open": 50.0, "newest 50": 10.0, "50 in the middle": 10.0, "one person's 20 with scores": 50.0,
             "today's": 10.0}
LEAST_MS = 0.1  # below that the clock is measured
VISITS_EACH, TRIALS, SCORES, BLOCK_SCORES = 20, 11, 15, 79
BLOCKS = [BlockScore(f"{block}.{name}", 5.3, 1.67, 0.04, 3, kind.unit) for name, kind in KINDS.items()
          for block in ("steady.preferred", "steady.other", "brisk.preferred", "wander.preferred")
          ][:BLOCK_SCORES]


def fill(path: Path, visits: int) -> list:
    """Visits with a score set each; the persons' ids."""
    store, ex, people = store_on(open_file(path, KEYS), KEYS.audit), Examples(), []
    ex.begin(store)
    trials = [ex.trial(position=2 + k, number=1 + k % 3, attempt=1 + k // 3) for k in range(TRIALS)]
    for start in range(0, visits, VISITS_EACH):
        person = replace(ex.person, id=ex.new_id(), code=f"K-{start:06d}")
        store.add_person(person)
        people.append(person.id)
        with store.ledger.writing() as writing:
            for number in range(VISITS_EACH):
                began = BEGINS + timedelta(hours=start + number)
                visit = replace(ex.visit, id=ex.new_id(), person_id=person.id, started_at=began)
                writing.add(tables.visit, visit_row(visit))
                whole = start % (500 * VISITS_EACH) == 0
                scored = _trials(writing, ex, trials, visit.id) if whole else []
                add_scores(writing, visit.id, 1, scored, BLOCKS if whole else ex.blocks(), "{}", [])
    store.close()
    return people


def _trials(writing: Writing, ex: Examples, trials: list[StoredTrial], visit_id: UUID) -> list:
    """The visit's trials, kept, with their scores."""
    kept = [replace(trial, id=ex.new_id(), visit_id=visit_id) for trial in trials]
    for trial in kept:
        writing.add(tables.trial, trial_row(trial, ex.calibration))
    values = {name: Scored(5.3, 0.1) for name in tuple(KINDS)[:SCORES]}
    return [(trial.id, replace(ex.scores(), values=values)) for trial in kept]


def ms(work: Callable[[], object], times: int = 40) -> float:
    """The shortest time a piece of work took."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - begun))
    return min(taken)


def opened(path: Path) -> Store:
    return Store(open_file(path, KEYS), now=Clock(), new_id=new_ids(3), kiosk_id="04", audit_key=KEYS.audit)


def measured(folder: Path, visits: int) -> dict[str, float]:
    """Milliseconds by what was asked; the size of the file in MB."""
    path, small = folder / "kiosk.store", folder / "small.store"
    people = fill(path, visits)
    fill(small, VISITS_EACH)
    store, visit = opened(path), tables.visit
    newest = sa.select(visit).order_by(visit.c.started_at.desc(), visit.c.id.desc()).limit(50)
    middle = BEGINS + timedelta(hours=visits // 2)
    person = people[len(people) // 1000 * 500]
    assert all(len(one.trials) == TRIALS for one in scores_of(store, person))
    return {
        "size, MB": path.stat().st_size / 1e6,
        "open": ms(lambda: opened(path).close()),
        "open with 20 visits": ms(lambda: opened(small).close()),
        "newest record": ms(store.newest_record),
        "newest 50": ms(lambda: store.ledger.all(newest)),
        "50 in the middle": ms(lambda: store.ledger.all(newest.where(visit.c.started_at < middle))),
        "one person's 20 with scores": ms(lambda: scores_of(store, person)),
        "today's": ms(lambda: store.visits_since(BEGINS + timedelta(hours=visits - 20))),
        "audit head": ms(store.audit_head),
    }


def scores_of(store: Store, person: UUID) -> list:
    """Every score of every visit of a person."""
    return [store.scores_of(one.id) for one in store.visits_of(person)]


def figures(sizes: tuple[int, ...] = (1_000, 10_000, 100_000)) -> Iterator[Figure]:
    """The largest store's times, and how each grows with the visits: the exponent of a power law."""
    found = []
    for visits in sizes:
        with tempfile.TemporaryDirectory() as folder:
            found.append(measured(Path(folder), visits))
    for what, limit in LIMITS_MS.items():
        yield Figure(f"{what} of {sizes[-1]:,} visits", found[-1][what], "ms", limit)
        times = [max(one[what], LEAST_MS) for one in found]
        yield Figure(f"growth of that with the number of visits, {sizes[0]:,} to {sizes[-1]:,}",
                     float(np.polyfit(np.log(sizes), np.log(times), 1)[0]), "as exponent", 0.2)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        with tempfile.TemporaryDirectory() as place:
            for name, value in measured(Path(place), int(sys.argv[1])).items():
                print(f"{name:36} {value:9.2f}")
    else:
        print_figures(figures())
