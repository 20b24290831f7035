"""Wrong clocks, and a store put back from a backup: order follows the chain, numbers are used once.

Each law holds whatever the wall clock says; none needs a second source. The clocks are set by hand.
"""

import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.accounts import account, add_account, close_account, may
from kiosk.storage.audit_chain import EPOCH_LINES
from kiosk.storage.backup import kept
from kiosk.storage.engine import open_file, open_memory
from kiosk.storage.erasure import erase_person
from kiosk.storage.integrity import verify_audit
from kiosk.storage.server import PUSH, give_order
from kiosk.storage.store import Store
from kiosk.storage.sync import sync
from kiosk.storage.trust_list import signed_order
from kiosk.visits.staff_archive import Amendment
from kiosk.visits.visit import DOUBTED
from tests.storage.examples import BEGINS, ERASER_KEY, KEYS, Examples, enrolled, new_ids
from tests.storage.test_server import login
from tests.storage.test_sync import one_visit

IN_2036 = datetime(2036, 2, 7, tzinfo=UTC)


class SetClock:
    """A clock that shows what it was set to, and goes on from there."""

    def __init__(self, moment: datetime = BEGINS) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        self.moment += timedelta(milliseconds=1)
        return self.moment


def store_with(clock: SetClock, kiosk_id: str = "01", engine: sa.Engine | None = None,
               seed: int = 0) -> Store:
    return enrolled(Store(engine or open_memory(), now=clock, new_id=new_ids(seed + int(kiosk_id)),
                          kiosk_id=kiosk_id, audit_key=KEYS.audit))


@pytest.fixture
def server(clinic_database):
    login(clinic_database(), "kiosk_a", PUSH)
    return clinic_database("kiosk_a")


@pytest.mark.parametrize("back", [timedelta(seconds=1), timedelta(days=4000)])
def test_an_account_that_is_closed_stays_closed_when_the_clock_was_set_back(back):
    clock = SetClock()
    ledger = store_with(clock).ledger
    leads, leaves = ledger.new_id(), ledger.new_id()
    add_account(ledger, leads, "lead", ["site_lead"])
    add_account(ledger, leaves, "leaver", ["administer"])
    clock.moment -= back
    close_account(ledger, leaves)
    assert not may(account(ledger, leaves), "administer")


def test_corrections_count_after_what_they_correct_when_the_clock_was_set_back():
    clock = SetClock(IN_2036)
    store = store_with(clock)
    ex = one_visit(store, 7)
    clock.moment = BEGINS
    store.add_person(replace(ex.person, birth_date="1955"))
    assert store.person(ex.person.id).birth_date == "1955"
    for action in ("void", "restore", "void"):
        clock.moment -= timedelta(days=1)
        store.amend(Amendment("visit", ex.visit.id, action, "by mistake"))
    assert [one.action for one in store.amendments_of(ex.visit.id)] == ["void", "restore", "void"]


def test_a_row_of_2036_from_another_kiosk_closes_nothing_and_can_be_corrected(server):
    wrong, right = store_with(SetClock(IN_2036), "01"), store_with(SetClock(), "02")
    ex = one_visit(wrong, 7)
    sync(wrong.ledger, server)
    assert sync(right.ledger, server).pulled > 20
    newest = right.newest_record()
    assert newest is not None and newest.year == 2026
    right.add_person(replace(ex.person, birth_date="1955"))
    assert right.person(ex.person.id).birth_date == "1955"
    sync(right.ledger, server)
    sync(wrong.ledger, server)
    assert wrong.person(ex.person.id).birth_date == "1955"


def test_a_kiosk_whose_own_clock_was_wrong_opens_at_the_site_leads_word():
    clock = SetClock(IN_2036)
    store = store_with(clock)
    one_visit(store, 7)
    clock.moment = BEGINS
    assert store.newest_record().year == 2036
    with pytest.raises(Refused, match="role_not_held"):
        store.by(store.ledger.new_id(), frozenset({"administer"})).say_clock(right=True)
    store.say_clock(right=True)
    assert store.newest_record().year == 2026


def test_rotation_keeps_the_backup_that_is_last_in_the_chain_whatever_its_date():
    days = [BEGINS + timedelta(days=one) for one in range(20)]
    last = BEGINS - timedelta(days=3000)
    assert last in kept([*days, last])
    assert kept([*days, last, IN_2036]) >= {last, IN_2036}


def restored(store: Store, path, at: datetime) -> Store:
    """The store as it was at a backup, put back, which begins a new epoch."""
    again = store_with(SetClock(at), "01", open_file(path, KEYS), seed=50)
    with again.ledger.writing() as writing:
        writing.begin_epoch()
    return again


def test_a_restored_kiosk_gets_back_what_only_the_server_has_and_erases_again(
        tmp_path, server, clinic_database):
    store = store_with(SetClock(), "01", open_file(tmp_path / "now", KEYS))
    before, here, there = one_visit(store, 7), one_visit(store, 8), one_visit(store, 9)
    store.close()
    shutil.copy(tmp_path / "now", tmp_path / "backup")
    since = one_visit(store, 10)
    erase_person(store.ledger, here.person.id, "asked")
    sync(store.ledger, server)
    login(clinic_database(), "eraser_a", "kiosk_eraser")
    give_order(clinic_database("eraser_a"), signed_order(ERASER_KEY, there.person.id, "asked", BEGINS))
    lines = {row["seq"]: row["mac"] for row in store.ledger.all(sa.select(tables.audit))}
    again = restored(store, tmp_path / "backup", BEGINS + timedelta(days=1))
    after = one_visit(again, 11)
    found = sync(again.ledger, server)
    assert found.erased == 2 and found.conflicts == [] and found.stays_out == []
    people = {row["id"] for row in again.ledger.all(sa.select(tables.person))}
    assert people == {one.person.id for one in (before, since, after)}
    assert again.visits_of(since.person.id) == (since.visit,)
    assert again.trials_of(since.visit.id)[0].record.plan == store.trials_of(since.visit.id)[0].record.plan
    now = {row["seq"]: row["mac"] for row in again.ledger.all(sa.select(tables.audit))}
    assert {seq: now[seq] for seq in lines} == lines
    assert min(seq for seq in now if seq not in lines) >= EPOCH_LINES
    assert verify_audit(again.ledger.engine, KEYS.audit, "01").breaks == ()
    assert int(again.audit_head().split("-")[0]) > EPOCH_LINES


def test_a_line_cut_from_an_epoch_is_found_and_its_beginning_cannot_be_forged():
    store = store_with(SetClock())
    one_visit(store, 7)
    with store.ledger.writing() as writing:
        writing.begin_epoch()
    one_visit(store, 8)
    engine = store.ledger.engine
    assert verify_audit(engine, KEYS.audit, "01").breaks == ()
    seqs = [row["seq"] for row in store.ledger.all(sa.select(tables.audit).order_by(tables.audit.c.seq))]
    begins = next(seq for seq in seqs if seq >= EPOCH_LINES)
    last = seqs[seqs.index(begins) - 1]
    for gone in (begins + 1, begins, 2, last):
        found = {one.kind for one in verify_audit(store_without(engine, gone), KEYS.audit, "01").breaks}
        assert "removed" in found, gone


def store_without(engine: sa.Engine, seq: int) -> sa.Engine:
    copy = open_memory()
    with engine.connect() as source, copy.begin() as target:
        for row in source.execute(sa.select(tables.audit)).mappings().all():
            if row["seq"] != seq:
                target.execute(tables.audit.insert(), dict(row))
    return copy


def test_visits_go_on_with_a_marked_date_until_the_site_lead_confirms_it():
    clock = SetClock(IN_2036)
    store = store_with(clock)
    one_visit(store, 7)
    clock.moment = BEGINS
    store.say_clock(right=False)
    assert store.clock_doubted() and store.newest_record() is None
    ex = Examples(20)
    ex.visit = replace(ex.visit, intake={"date": DOUBTED})
    ex.begin(store)
    assert store.visit(ex.visit.id).date_doubted and store.visits_of(ex.person.id)[0].date_doubted
    store.confirm_date(ex.visit.id)
    assert not store.visit(ex.visit.id).date_doubted and not store.visits_of(ex.person.id)[0].date_doubted
    store.say_clock(right=True)
    assert not store.clock_doubted() and store.newest_record() is not None


def test_sync_tells_how_far_the_clocks_are_apart(server):
    clock = SetClock(datetime.now(UTC) - timedelta(days=40))
    assert abs(sync(store_with(clock).ledger, server).clock_off - timedelta(days=40)) < timedelta(minutes=5)
