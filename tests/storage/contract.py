"""What every store must hold, whatever stands behind it: inherit, and give a fixture `engine`."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.storage import tables
from kiosk.storage.store import Store
from kiosk.storage.tables import PERSON_OF
from kiosk.visits.archive import StoredReport
from tests.storage.examples import BEGINS, Examples, same_bits, store_on


class StoreContract:
    @pytest.fixture
    def ex(self) -> Examples:
        return Examples()

    @pytest.fixture
    def store(self, engine: sa.Engine) -> Store:
        return store_on(engine)

    @pytest.fixture
    def full(self, store: Store, ex: Examples) -> Store:
        """A store with one of everything."""
        ex.begin(store)
        trial = ex.trial()
        store.add_trial(trial)
        store.add_observation(ex.visit.id, Observation("talked", trial.id, "about the weather"))
        score_set = store.add_scores(ex.visit.id, 1, [(trial.id, ex.scores())], ex.blocks())
        store.add_reference_table("ab" * 32, "LOCAL-2026", "1.0.0", "local", b"PK zip")
        findings_id = store.add_findings(ex.findings(), score_set, "ab" * 32, '{"a":1}')
        store.add_report(StoredReport(ex.new_id(), findings_id, "en", "A4", b"%PDF-", "7F-KD"))
        store.end_visit(ex.end())
        return store

    # Laws: what goes in comes out

    def test_person_tablet_calibration_visit_and_end_come_back_as_kept(self, full: Store, ex: Examples):
        assert full.person(ex.person.id) == ex.person
        assert full.device(ex.device.id) == ex.device
        assert full.calibration(ex.calibration.id) == ex.calibration
        assert full.visit(ex.visit.id) == ex.visit
        assert full.visit_end(ex.visit.id) == ex.end()
        assert full.visits_of(ex.person.id) == (ex.visit,)

    def test_a_trial_comes_back_with_every_bit_of_its_samples(self, store: Store, ex: Examples):
        ex.begin(store)
        trials = [ex.trial(position=2), ex.trial(position=3, number=2, outcome="stopped", refresh_hz=None),
                  ex.trial(position=4, block="wander", flip_t_s=np.empty(0))]
        for trial in trials:
            store.add_trial(trial)
        found = store.trials_of(ex.visit.id)
        assert all(same_bits(a, b) for a, b in zip(trials, found, strict=True))
        altered = found[0].record.raw.y_raw.copy()
        altered[0] = 0.0  # the same number as -0.0, other bits
        assert not same_bits(trials[0], replace(found[0], record=replace(
            found[0].record, raw=replace(found[0].record.raw, y_raw=altered))))

    def test_the_disc_of_a_trial_read_back_is_where_it_was(self, store: Store, ex: Examples):
        ex.begin(store)
        trial = ex.trial(block="wander")
        store.add_trial(trial)
        plan = store.trials_of(ex.visit.id)[0].record.plan
        assert plan == trial.record.plan
        assert plan.position(3.21) == trial.record.plan.position(3.21)

    def test_scores_come_back_with_reasons_and_cautions(self, full: Store, ex: Examples):
        kept = full.scores_of(ex.visit.id)
        assert kept is not None and kept.scoring_version == 1
        assert list(kept.trials.values()) == [ex.scores()]
        assert tuple(kept.blocks.values()) == ex.blocks()

    def test_observations_findings_pages_and_tables_come_back(self, full: Store, ex: Examples):
        trial = full.trials_of(ex.visit.id)[0]
        assert full.observations_of(ex.visit.id) == (Observation("talked", trial.id, "about the weather"),)
        kept = full.findings_of(ex.visit.id)
        assert kept is not None and (kept.content, kept.reference_sha256) == ('{"a":1}', "ab" * 32)
        assert [(page.pdf, page.page_tag) for page in full.reports_of(ex.visit.id)] == [(b"%PDF-", "7F-KD")]
        assert full.reference_table("ab" * 32) == b"PK zip"

    def test_the_newest_details_of_a_person_count_and_the_older_ones_stay(self, full: Store, ex: Examples,
                                                                         engine: sa.Engine):
        full.add_person(replace(ex.person, birth_date="1954-05-17"))
        assert full.person(ex.person.id).birth_date == "1954-05-17"
        rows = _rows(engine, tables.person_details)
        assert [row["birth_date"] for row in rows] == ["1954-05", "1954-05-17"]
        assert rows[1]["supersedes"] == rows[0]["id"]

    def test_a_new_latency_is_a_new_measurement_of_the_same_tablet(self, full: Store, ex: Examples):
        full.add_device(replace(ex.device, latency_ms=48.0))
        assert full.device(ex.device.id).latency_ms == 48.0
        with pytest.raises(Refused, match="device_known_otherwise"):
            full.add_device(replace(ex.device, device_class="T15"))

    def test_visits_are_listed_oldest_first_by_when_they_began(self, full: Store, ex: Examples):
        earlier = replace(ex.visit, id=ex.new_id(), started_at=BEGINS - timedelta(days=200))
        full.begin_visit(earlier)
        assert [visit.id for visit in full.visits_of(ex.person.id)] == [earlier.id, ex.visit.id]

    def test_a_visit_is_found_by_id_or_by_page_tag(self, full: Store, ex: Examples):
        for name in (str(ex.visit.id), "7F-KD", "7fkd"):
            assert full.find_visit(name) == ex.visit

    def test_a_tag_on_pages_of_two_visits_is_refused(self, full: Store, ex: Examples):
        other = replace(ex.visit, id=ex.new_id())
        full.begin_visit(other)
        scores = full.add_scores(other.id, 1, [], [])
        findings = full.add_findings(replace(ex.findings(), visit=other), scores, None, "{}")
        full.add_report(StoredReport(ex.new_id(), findings, "en", "A4", b"%PDF", "7F-KD"))
        with pytest.raises(Refused, match="page_tag_on_several"):
            full.find_visit("7F-KD")

    def test_a_moment_comes_back_in_utc_whatever_its_time_zone(self, store: Store, ex: Examples):
        from zoneinfo import ZoneInfo
        ex.visit = replace(ex.visit, started_at=BEGINS.astimezone(ZoneInfo("Asia/Kathmandu")))
        ex.begin(store)
        assert store.visit(ex.visit.id).started_at.isoformat() == "2026-01-12T09:00:00+00:00"

    def test_every_call_leaves_one_line_in_the_audit_without_gap(self, full: Store, engine: sa.Engine):
        rows = _rows(engine, tables.audit)
        assert [row["seq"] for row in rows] == list(range(1, len(rows) + 1))
        assert [row["action"] for row in rows] == [
            "add_person", "add_device", "add_calibration", "begin_visit", "add_trial", "add_observation",
            "add_scores", "add_reference_table", "add_findings", "add_report", "end_visit"]
        assert [row["previous_mac"] for row in rows] == ["", *[row["mac"] for row in rows][:-1]]

    # Guards

    def test_no_row_of_any_immutable_table_can_be_changed_or_removed(self, full: Store, engine: sa.Engine):
        tried = set()
        for table in tables.metadata.sorted_tables:
            if table.name in tables.MUTABLE or not _rows(engine, table):
                continue
            tried.add(table.name)
            before = _rows(engine, table)
            for statement in (table.update().values(kiosk_id="05"), table.delete()):
                _refused(engine, statement, "immutable")
            assert _rows(engine, table) == before
        assert tried >= {"person", "person_details", "visit", "visit_end", "trial", "trial_score", "audit",
                         "trial_validity", "block_score", "findings", "report", "reference_table"}

    def test_insert_or_replace_is_refused_too(self, full: Store, engine: sa.Engine):
        row = _rows(engine, tables.visit_end)[0]
        replacing = tables.visit_end.insert().prefix_with("OR REPLACE").values(**row | {"how": "abandoned"})
        _refused(engine, replacing, "immutable")
        assert _rows(engine, tables.visit_end)[0]["how"] == "completed"

    def test_only_the_permit_of_this_very_person_opens_removal(self, full: Store, ex: Examples,
                                                                engine: sa.Engine):
        _permit(engine, ex.new_id(), ex)
        _refused(engine, tables.report.delete(), "immutable")
        _permit(engine, ex.person.id, ex)
        with engine.begin() as connection:
            for table in reversed(tables.metadata.sorted_tables):
                if table.name in PERSON_OF:
                    connection.execute(table.delete())
            connection.execute(tables.erasure_permit.delete())
        assert not any(_rows(engine, tables.metadata.tables[name]) for name in PERSON_OF)
        assert _rows(engine, tables.device) and _rows(engine, tables.audit)
        _refused(engine, tables.audit.delete(), "immutable")

    def test_a_permit_does_not_allow_a_change(self, full: Store, ex: Examples, engine: sa.Engine):
        _permit(engine, ex.person.id, ex)
        _refused(engine, tables.visit.update().values(form="B"), "immutable")

    # Refusals

    @pytest.mark.parametrize(("name", "code"), [
        ("person", "unknown_person"), ("device", "unknown_device"), ("calibration", "unknown_calibration"),
        ("visit", "unknown_visit"), ("find_visit", "unknown_visit")])
    def test_what_is_not_there_is_refused_by_its_code(self, store: Store, ex: Examples, name: str, code: str):
        key = ex.new_id()
        with pytest.raises(Refused) as refusal:
            getattr(store, name)(str(key) if name == "find_visit" else key)
        assert refusal.value.code == code
        assert str(key) in refusal.value.values.values()

    def test_an_unknown_tag_or_table_is_refused(self, store: Store):
        with pytest.raises(Refused, match="unknown_visit"):
            store.find_visit("ZZ-ZZ")
        with pytest.raises(Refused, match="unknown_reference_table"):
            store.reference_table("00")

    def test_a_moment_without_time_zone_is_refused(self, store: Store, ex: Examples):
        ex.visit = replace(ex.visit, started_at=datetime(2026, 1, 12, 9, 0))
        with pytest.raises(ValueError, match="time zone"):
            ex.begin(store)
        assert store.visits_of(ex.person.id) == ()

    def test_the_same_trial_twice_is_refused_and_a_repeat_is_not(self, store: Store, ex: Examples):
        ex.begin(store)
        first = ex.trial(position=2)
        store.add_trial(first)
        with pytest.raises(Refused, match="already_kept"):
            store.add_trial(ex.trial(position=3))
        store.add_trial(replace(ex.trial(position=3, attempt=2), repeat_of=first.id))
        assert [trial.repeat_of for trial in store.trials_of(ex.visit.id)] == [None, first.id]

    def test_a_trial_of_an_unknown_visit_is_refused(self, store: Store, ex: Examples):
        ex.begin(store)
        with pytest.raises(Refused, match="refers_to_unknown"):
            store.add_trial(replace(ex.trial(), visit_id=ex.new_id()))

    def test_a_trial_whose_samples_do_not_follow_from_its_raw_touch_is_refused(self, store: Store,
                                                                               ex: Examples):
        ex.begin(store)
        trial = ex.trial()
        moved = replace(trial.record.samples, x_mm=trial.record.samples.x_mm + 1e-12)
        for record, code in ((replace(trial.record, samples=moved), "samples_not_from_raw"),
                             (replace(trial.record, raw=None), "trial_without_raw_touch"),
                             (replace(trial.record, calibration_id=None), "trial_without_calibration")):
            with pytest.raises(Refused, match=code):
                store.add_trial(replace(trial, record=record))
        assert store.trials_of(ex.visit.id) == ()

    def test_a_score_that_is_not_a_number_is_never_kept(self, store: Store, ex: Examples):
        ex.begin(store)
        block = replace(ex.blocks()[0], value=float("nan"))
        with pytest.raises(ValueError, match="JSON"):
            store.add_scores(ex.visit.id, 1, [], [block])
        assert store.scores_of(ex.visit.id) is None


def _rows(engine: sa.Engine, table: sa.Table) -> list[dict]:
    with engine.connect() as connection:
        order = [column for column in (table.c.get("made_at"), table.c.get("id")) if column is not None]
        return [dict(row) for row in connection.execute(sa.select(table).order_by(*order)).mappings()]


def _refused(engine: sa.Engine, statement: sa.Executable, word: str) -> None:
    with pytest.raises(sa.exc.DBAPIError, match=word):
        with engine.begin() as connection:
            connection.execute(statement)


def _permit(engine: sa.Engine, person_id: object, ex: Examples) -> None:
    with engine.begin() as connection:
        connection.execute(tables.erasure_permit.insert().values(
            id=ex.new_id(), person_id=person_id, reason="asked", made_at=BEGINS, kiosk_id="04", sha256=""))
