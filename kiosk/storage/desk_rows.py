"""What the staff's part keeps and lists, on the same ledger as the store; see kiosk.visits.desk_archive."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import fields
from datetime import datetime
from typing import Any
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import person_rows, tables, visit_rows
from kiosk.storage.rows import Ledger, Row, in_order, latest
from kiosk.touch.cross_check import CrossCheck
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.verdict import DeviceReason
from kiosk.visits.canonical import canonical_json
from kiosk.visits.check_character import plain
from kiosk.visits.desk_archive import Amendment, KeptTable, SignOff
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.findings_json import plain as plain_value
from kiosk.visits.person import Person
from kiosk.visits.tablet_checks import KeptCheck, TabletChecks
from kiosk.visits.visit import Visit


class DeskRows:
    """The part of the store that the staff's part uses; the ledger comes with the store."""

    _ledger: Ledger

    def people(self) -> tuple[Person, ...]:
        """Everyone, as last known, in order of being added."""
        return self._people(in_order(tables.person))

    def people_coded(self, text: str) -> tuple[Person, ...]:
        """Those whose code or second identifier this is."""
        wanted = plain(text)
        return tuple(one for one in self.people()
                     if wanted and wanted in (plain(one.code), plain(one.second_identifier)))

    def people_since(self, moment: datetime) -> tuple[Person, ...]:
        """Those added since."""
        return self._people(in_order(tables.person, tables.person.c.made_at >= moment))

    def visits_since(self, moment: datetime) -> tuple[Visit, ...]:
        """The visits begun since, oldest first."""
        table = tables.visit
        query = sa.select(table).where(table.c.started_at >= moment).order_by(table.c.started_at, table.c.id)
        return tuple(visit_rows.visit_from(row) for row in self._ledger.all(query))

    def newest_record(self) -> datetime | None:
        """When the last row was made."""
        row = self._ledger.one(sa.select(tables.audit).order_by(tables.audit.c.made_at.desc()))
        return None if row is None else row["made_at"]

    def withdraw_observations(self, visit_id: UUID, codes: Sequence[str]) -> None:
        """Withdraw what staff noted with these codes: one row each, all in one transaction."""
        self._ledger.allow("interpret")
        rows = self._ledger.all(in_order(tables.observation, tables.observation.c.visit_id == visit_id))
        withdrawn = {row["withdraws"] for row in rows}
        with self._ledger.writing() as writing:
            for row in rows:
                if row["code"] in codes and row["withdraws"] is None and row["id"] not in withdrawn:
                    kept = writing.add(tables.observation, {
                        "visit_id": visit_id, "trial_id": row["trial_id"], "code": row["code"], "note": "",
                        "withdraws": row["id"]})
                    writing.note("withdraw_observation", tables.observation, kept)

    def sign(self, sign_off: SignOff) -> UUID:
        """A signature under a page, by a member of staff known by initials and role; its id.

        The account that signed is the row's `made_by`. Refused `role_not_held` without `interpret`.
        """
        self._ledger.allow("interpret")
        if self.sign_off_of(sign_off.report_id) is not None:
            raise Refused("already_signed")
        with self._ledger.writing() as writing:
            staff = writing.add(tables.staff, {})
            writing.add(tables.staff_details, {
                "staff_id": staff["id"], "display_name": sign_off.initials, "roles": sign_off.role,
                "active": True})
            row = writing.add(tables.sign_off, {
                "report_id": sign_off.report_id, "staff_id": staff["id"], "statement": sign_off.statement})
            writing.note("sign", tables.sign_off, row)
        return UUID(str(row["id"]))

    def sign_off_of(self, report_id: UUID) -> SignOff | None:
        """Who signed a page."""
        signed, details = tables.sign_off, tables.staff_details
        query = latest(signed, signed.c.report_id == report_id).add_columns(
            details.c.display_name, details.c.roles).join(details, details.c.staff_id == signed.c.staff_id)
        row = self._ledger.one(query)
        return None if row is None else SignOff(
            report_id, row["display_name"], row["roles"], row["statement"], row["made_by"])

    def amend(self, amendment: Amendment) -> None:
        """A correction with its reason, made by the account at work; Refused without `interpret`."""
        self._ledger.allow("interpret")
        self._keep("amend", tables.amendment, {
            field.name: getattr(amendment, field.name) for field in fields(amendment)})

    def amendments_of(self, target_id: UUID) -> tuple[Amendment, ...]:
        """The corrections of one row, oldest first."""
        rows = self._ledger.all(in_order(tables.amendment, tables.amendment.c.target_id == target_id))
        names = [field.name for field in fields(Amendment)]
        return tuple(Amendment(**{name: row[name] for name in names}) for row in rows)

    def is_void(self, visit_id: UUID) -> bool:
        """Whether the visit was taken out and not put back."""
        turned = [one.action for one in self.amendments_of(visit_id) if one.action in ("void", "restore")]
        return turned[-1:] == ["void"]

    def note_output(self, report_id: UUID, how: str) -> None:
        """A page or its leaflet was put out: a line in the audit (how: print, save, print_leaflet ...)."""
        with self._ledger.writing() as writing:
            query = sa.select(tables.report).where(tables.report.c.id == report_id)
            row = writing.connection.execute(query).mappings().one()
            writing.note(how, tables.report, dict(row))

    def was_put_out(self, report_id: UUID) -> bool:
        """Whether the page was printed or saved."""
        audit = tables.audit
        query = sa.select(audit).where(audit.c.object_id == str(report_id),
                                       audit.c.action.in_(("print", "save")))
        return self._ledger.one(query) is not None

    def newest_device(self) -> Device | None:
        """The tablet kept last."""
        row = self._ledger.one(latest(tables.device))
        return None if row is None else person_rows.read_device(self._ledger, row["id"])

    def newest_visit_on(self, device_id: UUID) -> Visit | None:
        """The visit begun last on a tablet."""
        row = self._ledger.one(latest(tables.visit, tables.visit.c.device_id == device_id))
        return None if row is None else visit_rows.visit_from(row)

    def newest_calibration(self, device_id: UUID) -> CalibrationRecord | None:
        """The tablet's newest calibration."""
        row = self._ledger.one(latest(tables.calibration, tables.calibration.c.device_id == device_id))
        return None if row is None else person_rows.calibration_from(row)

    def add_device_check(self, device_id: UUID, calibration_id: UUID, check: DeviceCheck) -> UUID:
        """A check of the tablet; its id."""
        noise_mm = check.touch.noise_mm
        row = self._keep("add_device_check", tables.device_check, {
            "device_id": device_id, "calibration_id": calibration_id, "verdict": check.verdict,
            "reasons": canonical_json(plain_value(check.reasons)), "rate_hz": check.touch.rate_hz,
            "interval_p95_ms": check.touch.interval_p95_ms, "refresh_hz": check.display.shown_hz,
            "dropped_share": check.display.late_share,
            "noise_mm": noise_mm if noise_mm == noise_mm else None,
            "field_w_mm": check.field_w_mm, "field_h_mm": check.field_h_mm})
        return UUID(str(row["id"]))

    def add_cross_check(self, device_id: UUID, calibration_id: UUID, check: CrossCheck) -> UUID:
        """Five crosses touched: a check without figures of the panel; its reasons hold the offsets."""
        row = self._keep("add_cross_check", tables.device_check, {
            "device_id": device_id, "calibration_id": calibration_id, "verdict": check.verdict,
            "reasons": canonical_json(plain_value(check))})
        return UUID(str(row["id"]))

    def checks_of(self, device_id: UUID) -> TabletChecks:
        """The tablet's newest checks."""
        check = tables.device_check
        of_panel, of_crosses = (self._ledger.one(latest(check, check.c.device_id == device_id, kind))
                                for kind in (check.c.rate_hz.is_not(None), check.c.rate_hz.is_(None)))
        return TabletChecks(None if of_panel is None else _kept_check(of_panel),
                            None if of_crosses is None else _kept_check(of_crosses))

    def reference_tables(self) -> tuple[KeptTable, ...]:
        """Every table kept, oldest first."""
        table = tables.reference_table
        rows = self._ledger.all(sa.select(table).order_by(table.c.made_at))
        return tuple(KeptTable(row["sha256"], row["name"], row["version"], row["status"]) for row in rows)

    def _people(self, query: Any) -> tuple[Person, ...]:
        rows: Iterable[Row] = self._ledger.all(query)
        return tuple(person_rows.read_person(self._ledger, row["id"]) for row in rows)

    def _keep(self, action: str, table: sa.Table, row: Row) -> Row:
        with self._ledger.writing() as writing:
            kept = writing.add(table, row)
            writing.note(action, table, kept)
        return kept


def _kept_check(row: Row) -> KeptCheck:
    """A check as it was kept; that of crosses has its offsets beside its reasons."""
    told = json.loads(row["reasons"])
    crosses = told if isinstance(told, dict) else {"reasons": told}
    reasons = tuple(DeviceReason(**one) for one in crosses["reasons"])
    return KeptCheck(row["id"], row["verdict"], reasons, row["made_at"], crosses.get("mean_mm"))
