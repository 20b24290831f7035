"""What every store must hold for the staff's part: inherit beside the store contract."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.storage import tables
from kiosk.storage.store import Store
from kiosk.touch.cross_check import CROSSES_MM, check_crosses
from kiosk.touch.device_check import DeviceCheck, DeviceFigures, DisplayFigures
from kiosk.touch.verdict import DeviceReason
from kiosk.visits.archive import StoredReport
from kiosk.visits.device_record import TabletChecks
from kiosk.visits.staff_archive import Amendment, SignOff
from tests.storage.examples import BEGINS, Examples

CHECK = DeviceCheck("warn", (DeviceReason("touch_noisy", {"noise_mm": 0.7, "most_mm": 0.5}),),
                    DeviceFigures(118.0, 9.5, 0.01, float("nan")), DisplayFigures(59.94, 0.0), 217.7, 136.1)


class StaffContract:
    def test_a_person_is_found_by_code_or_second_identifier_however_it_is_typed(self, full: Store,
                                                                                ex: Examples):
        full.add_person(replace(ex.person, second_identifier="ROOM 12"))
        assert [one.id for one in full.people_coded("k04127")] == [ex.person.id]
        assert [one.id for one in full.people_coded("room-12")] == [ex.person.id]
        assert full.people_coded("") == () and full.people_coded("K0413") == ()
        assert full.people() == full.people_since(BEGINS)

    def test_visits_and_people_are_listed_from_a_moment_on(self, full: Store, ex: Examples):
        assert [one.id for one in full.visits_since(BEGINS)] == [ex.visit.id]
        assert full.visits_since(BEGINS + timedelta(seconds=1)) == ()
        assert full.people_since(BEGINS + timedelta(days=1)) == ()

    def test_the_newest_record_is_that_of_the_last_call(self, full: Store, ex: Examples):
        before = full.newest_record()
        full.add_observation(ex.visit.id, Observation("pain"))
        assert full.newest_record() > before

    def test_a_page_is_signed_once(self, full: Store, ex: Examples):
        report = full.reports_of(ex.visit.id)[0]
        assert full.sign_off_of(report.id) is None
        signature = SignOff(report.id, "AB", "nurse", "read_page_and_notes")
        full.sign(signature)
        assert full.sign_off_of(report.id) == signature
        with pytest.raises(Refused, match="already_signed"):
            full.sign(replace(signature, initials="CD"))

    def test_a_page_was_put_out_once_it_was_printed_or_saved(self, full: Store, ex: Examples):
        report = full.reports_of(ex.visit.id)[0]
        assert not full.was_put_out(report.id)
        full.note_output(report.id, "print")
        assert full.was_put_out(report.id)

    def test_an_amended_page_names_the_one_it_replaces_and_both_are_kept(self, full: Store, ex: Examples):
        first = full.reports_of(ex.visit.id)[0]
        full.add_report(StoredReport(ex.new_id(), first.findings_id, "en", "A4", b"%PDF2", "34-67", first.id))
        assert [one.replaces for one in full.reports_of(ex.visit.id)] == [None, first.id]

    def test_void_and_restore_turn_a_visit_off_and_on(self, full: Store, ex: Examples):
        assert not full.is_void(ex.visit.id)
        for action, void in (("void", True), ("correct", True), ("restore", False), ("void", True)):
            full.amend(Amendment("visit", ex.visit.id, action, "wrong_person"))
            assert full.is_void(ex.visit.id) is void
        assert [one.reason for one in full.amendments_of(ex.visit.id)] == ["wrong_person"] * 4

    def test_a_withdrawn_observation_is_not_told_and_still_kept(self, full: Store, ex: Examples,
                                                                engine: sa.Engine):
        full.add_observation(ex.visit.id, Observation("not_understood"))
        full.withdraw_observations(ex.visit.id, ("talked",))
        full.withdraw_observations(ex.visit.id, ("talked",))  # once is enough
        assert [one.code for one in full.observations_of(ex.visit.id)] == ["not_understood"]
        with engine.connect() as connection:
            rows = connection.execute(sa.select(tables.observation)).all()
        assert len(rows) == 3

    def test_checks_latency_and_calibration_of_a_tablet_are_found_newest_first(self, full: Store,
                                                                               ex: Examples):
        assert full.newest_device() == ex.device and full.newest_calibration(ex.device.id) == ex.calibration
        assert full.checks_of(ex.device.id) == TabletChecks()
        full.add_device_check(ex.device.id, ex.calibration.id, CHECK)
        newest = full.add_device_check(ex.device.id, ex.calibration.id, replace(CHECK, verdict="pass"))
        kept = full.checks_of(ex.device.id)
        assert (kept.panel.id, kept.panel.verdict, kept.panel.reasons, kept.crosses) == (
            newest, "pass", CHECK.reasons, None)
        assert np.isnan(CHECK.touch.noise_mm)  # and is kept as not known

    def test_crosses_touched_are_kept_beside_the_check_with_their_offsets(self, full: Store, ex: Examples):
        panel = full.add_device_check(ex.device.id, ex.calibration.id, CHECK)
        touched = check_crosses([(x + 4.0, y + 3.0) for x, y in CROSSES_MM])
        crosses = full.add_cross_check(ex.device.id, ex.calibration.id, touched)
        kept = full.checks_of(ex.device.id)
        assert (kept.panel.id, kept.crosses.id) == (panel, crosses)
        assert kept.crosses.mean_offset_mm == pytest.approx(5.0)
        assert [one.code for one in kept.crosses.reasons] == ["touches_shifted"]
        assert (kept.verdict, kept.reason.code) == ("warn", "touch_noisy")

    def test_reference_tables_are_listed_as_they_came(self, full: Store):
        full.add_reference_table("cd" * 32, "LOCAL-2027", "2.0.0", "local", b"PK zip")
        assert [one.name for one in full.reference_tables()] == ["LOCAL-2026", "LOCAL-2027"]
