"""The store takes nothing more in mid-visit: what is read then, and that the visit goes on once it does."""

import pytest

from kiosk.storage.engine import open_file
from kiosk.storage.store import Store
from tests.app.fake_kiosk import FakeKiosk, hand_over, intake, new_person, sit_through
from tests.storage.examples import KEYS, Clock, new_ids


@pytest.fixture
def store(tmp_path) -> Store:
    return Store(open_file(tmp_path / "kiosk.store", KEYS), now=Clock(), new_id=new_ids(), kiosk_id="04",
                 audit_key=KEYS.audit)


def pages_allowed(store: Store, count: int) -> None:
    """No connection of the store may use more pages than this."""
    connections = [store.ledger.engine.connect() for _ in range(3)]
    for connection in connections:
        connection.connection.driver_connection.execute(f"PRAGMA max_page_count={count}")
        connection.close()


def pages_used(store: Store) -> int:
    with store.ledger.engine.connect() as connection:
        return int(connection.exec_driver_sql("PRAGMA page_count").scalar_one())


def test_on_a_full_disk_staff_read_so_on_the_screen_and_the_trial_is_kept_once_there_is_room(tmp_path, store):
    kiosk = FakeKiosk(tmp_path, archive=store)
    kiosk.unlock()
    new_person(kiosk)
    intake(kiosk)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk, until_position=4)
    visit_id = kiosk.driver.visit.id
    touches = kiosk.person.touches(kiosk.driver.runner.step.plan, kiosk.t_ns + 100_000_000)
    kiosk.capture.load(touches)
    pages_allowed(store, pages_used(store))
    shown = len(kiosk.stage.views)
    for _ in range(600):
        kiosk.frame()
    told, = [view.sentence for view in kiosk.stage.views[shown:]]
    assert told.endswith(
        "The disk is full, so nothing new is kept. What was kept is safe. Make room, then go on.")
    assert len(store.trials_of(visit_id)) == 3
    pages_allowed(store, 1_000_000)
    kiosk.frame(60)
    assert len(store.trials_of(visit_id)) == 4
    sit_through(kiosk)
    assert [one.position for one in store.trials_of(visit_id)] == list(range(1, 12))
