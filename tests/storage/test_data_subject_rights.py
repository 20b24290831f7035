"""One person's data out and away; how long data are kept; what may leave for research."""

from dataclasses import replace
from datetime import timedelta

import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.data_subject_rights import everything_of, kept_too_long, person_coded, visits_for_research
from kiosk.storage.engine import open_file, open_memory
from kiosk.storage.erasure import erase_person, rows_of_person
from kiosk.storage.integrity import check_integrity
from kiosk.storage.tables import PERSON_OF
from kiosk.visits.archive import StoredReport
from kiosk.visits.staff_archive import Amendment, SignOff
from tests.storage.examples import BEGINS, KEYS, Examples, store_on


def two_people(store) -> tuple[Examples, Examples]:
    """Two people with one of everything; a repeat, a replaced and signed page, amendments, new details."""
    both = Examples(7), Examples(8)
    both[1].person = replace(both[1].person, code="K-0500-1")
    both[1].visit = replace(both[1].visit, person_id=both[1].person.id)
    for ex in both:
        ex.begin(store)
        first = ex.trial(position=2)
        store.add_trial(first)
        store.add_trial(replace(ex.trial(position=3, attempt=2), repeat_of=first.id))
        scores = store.add_scores(ex.visit.id, 1, [(first.id, ex.scores())], ex.blocks())
        findings = store.add_findings(ex.findings(), scores, None, "{}")
        page, newer = ex.new_id(), ex.new_id()
        store.add_report(StoredReport(page, findings, "en", "A4", b"%PDF", "7F-KD"))
        store.add_report(StoredReport(newer, findings, "en", "A4", b"%PDF", "7F-KE", replaces=page))
        store.sign(SignOff(page, "AB", "interpret", "reviewed"))
        store.add_person(replace(ex.person, education_years=12.0))
        for kind, target in (("visit", ex.visit.id), ("trial", first.id), ("report", page)):
            store.amend(Amendment(kind, target, "correct", "typing"))
        store.end_visit(ex.end())
    return both


def all_rows(engine) -> dict[str, list]:
    with engine.connect() as connection:
        return {table.name: connection.execute(sa.select(table)).mappings().all()
                for table in tables.metadata.sorted_tables}


@pytest.fixture
def engine():
    return open_memory()


def test_erasing_a_person_leaves_the_other_whole_and_only_a_line_in_the_audit(engine):
    store = store_on(engine, KEYS.audit)
    gone, stays = two_people(store)
    before = all_rows(engine)
    removed = erase_person(store.ledger, gone.person.id, "asked")
    after = all_rows(engine)
    for name in PERSON_OF:
        assert len(after[name]) * 2 == len(before[name]), name
    assert removed == sum(len(before[name]) - len(after[name]) for name in PERSON_OF)
    told = [line for line in after["audit"] if str(gone.person.id) in str(dict(line))]
    assert (told[-1]["action"], told[-1]["object_kind"]) == ("erase_person_asked", "person")
    without_audit = str({name: rows for name, rows in after.items() if name != "audit"})
    assert str(gone.person.id) not in without_audit and gone.person.code not in without_audit
    assert store.person(stays.person.id).code == "K-0500-1" and len(store.trials_of(stays.visit.id)) == 2
    assert after["erasure_permit"] == []


def test_erased_bytes_are_gone_and_the_store_stays_sound(tmp_path):
    path = tmp_path / "kiosk.store"
    store = store_on(open_file(path, KEYS), KEYS.audit)
    gone, _ = two_people(store)
    erase_person(store.ledger, gone.person.id, "asked")
    store.close()
    assert check_integrity(path, KEYS, "04").fault is None


def test_an_erasure_that_breaks_off_leaves_everything(engine, monkeypatch):
    store = store_on(engine, KEYS.audit)
    gone, _ = two_people(store)
    before = all_rows(engine)
    monkeypatch.setattr("kiosk.storage.rows.Writing.note_of", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        erase_person(store.ledger, gone.person.id, "asked")
    assert all_rows(engine) == before


def test_what_is_handed_out_is_every_row_of_the_person_and_none_of_another(engine):
    store = store_on(engine, KEYS.audit)
    one, other = two_people(store)
    found = everything_of(store.ledger, one.person.id)
    kept = all_rows(engine)
    assert {name: len(rows) * 2 for name, rows in found.items() if name != "audit"} == {
        name: len(kept[name]) for name in PERSON_OF}
    assert str(other.person.id) not in str(found) and other.person.code not in str(found)
    assert len(found["audit"]) >= 8


def test_every_table_that_belongs_to_a_person_is_handed_out_and_erased():
    """A new table of a person must not be forgotten."""
    told = {table.name for table, _ in rows_of_person(Examples().person.id)}
    assert told - {"trial_chunk"} == set(PERSON_OF)


def test_a_person_is_found_by_code_or_id(engine):
    store = store_on(engine)
    one, _ = two_people(store)
    assert person_coded(store.ledger, "k-0412-7 ") == one.person.id == person_coded(
        store.ledger, str(one.person.id))
    for code in ("K-9", ""):
        with pytest.raises(Refused, match="unknown_code"):
            person_coded(store.ledger, code)


def test_the_retention_clock_counts_from_the_last_visit(engine):
    store = store_on(engine)
    one, other = two_people(store)
    store.begin_visit(replace(other.visit, id=other.new_id(), started_at=BEGINS + timedelta(days=4000)))
    assert kept_too_long(store.ledger, BEGINS) == ()
    assert kept_too_long(store.ledger, BEGINS + timedelta(days=3653)) == (one.person.id,)
    assert kept_too_long(store.ledger, BEGINS + timedelta(days=4001)) == (one.person.id, other.person.id)


@pytest.mark.parametrize("engine_of", ["memory", "file"])
def test_only_visits_of_the_purpose_whose_person_agreed_leave_for_research(engine_of, tmp_path):
    store = store_on(open_memory() if engine_of == "memory" else open_file(tmp_path / "s", KEYS))
    wanted = {}
    for purpose in ("care", "reference", "retest", "training", "demo"):
        for use in ("yes", "no", "not_asked"):
            ex = Examples(50 + len(wanted))
            ex.visit = replace(ex.visit, purpose=purpose, research_use=use)
            ex.begin(store)
            wanted[purpose, use] = ex.visit
    assert visits_for_research(store.ledger, "reference") == (wanted["reference", "yes"],)
    assert visits_for_research(store.ledger, "retest") == (wanted["retest", "yes"],)
    assert visits_for_research(store.ledger, "care") == ()
    store.amend(Amendment("visit", wanted["retest", "yes"].id, "void", "wrong person"))
    assert visits_for_research(store.ledger, "retest") == ()


def test_a_later_no_takes_the_agreement_back_and_a_later_yes_does_not_reach_back(engine):
    store, kept = store_on(engine), {}
    answers = {"stays": ("yes", "not_asked"), "took back": ("yes", "no"), "came round": ("no", "yes"),
               "took back by mistake": ("yes", "no"), "whole person void": ("yes", "yes")}
    for seed, (name, (first, later)) in enumerate(answers.items()):
        ex = Examples(100 + seed)
        ex.visit = replace(ex.visit, purpose="reference", research_use=first)
        ex.begin(store)
        kept[name] = (ex, replace(ex.visit, id=ex.new_id(), purpose="care", research_use=later,
                                  started_at=BEGINS + timedelta(days=40)))
        store.begin_visit(kept[name][1])
    store.amend(Amendment("visit", kept["took back by mistake"][1].id, "void", "wrong person"))
    store.amend(Amendment("person", kept["whole person void"][0].person.id, "void", "entered in error"))
    left = {visit.person_id for visit in visits_for_research(store.ledger, "reference")}
    assert left == {kept[name][0].person.id for name in ("stays", "took back by mistake")}
    erase_person(store.ledger, kept["stays"][0].person.id, "asked")
    left = {visit.person_id for visit in visits_for_research(store.ledger, "reference")}
    assert left == {kept["took back by mistake"][0].person.id}


def test_an_unknown_person_or_reason_is_refused(engine):
    store = store_on(engine)
    ex = Examples()
    with pytest.raises(Refused, match="unknown_person"):
        erase_person(store.ledger, ex.person.id, "asked")
    with pytest.raises(Refused, match="erasure_reason_unknown"):
        erase_person(store.ledger, ex.person.id, "tidying")
    with pytest.raises(Refused, match="unknown_person"):
        everything_of(store.ledger, ex.person.id)
