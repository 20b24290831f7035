"""The archive on the store's tables: every call is one transaction, committed before it returns.

In memory, in a file or on another engine alike. Reading gives back what was kept, bit for bit.
"""

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, replace
from datetime import datetime
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.canonical_json import canonical_json
from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.scoring.trial_scores import BlockScore, TrialScores
from kiosk.storage import row_mapping, tables
from kiosk.storage.audit_chain import Anchor, last_line
from kiosk.storage.column_types import Query, Row
from kiosk.storage.engine import READING
from kiosk.storage.rows import Ledger, in_order, latest
from kiosk.touch.cross_check import CrossCheck
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.line_check import Line, LineCheck, LineFigures, response_ms
from kiosk.touch.verdict import DeviceReason
from kiosk.visits.archive import StoredFindings, StoredReport, StoredScores, StoredTrial
from kiosk.visits.check_character import plain
from kiosk.visits.device_record import CalibrationRecord, Device, KeptCheck, KeptLatency, TabletChecks
from kiosk.visits.findings import Findings, JudgedBy
from kiosk.visits.findings_json import as_json
from kiosk.visits.passport import Measurement
from kiosk.visits.person import Person
from kiosk.visits.staff_archive import Amendment, KeptTable, SignOff
from kiosk.visits.visit import Visit, VisitEnd

CLOCK_CONFIRMED = "clock_confirmed"
CLOCK_DOUBTED = "clock_doubted"


class Store:
    """Implements kiosk.visits.staff_archive.StaffArchive."""

    def __init__(self, engine: sa.Engine, *, now: Callable[[], datetime], new_id: Callable[[], UUID],
                 kiosk_id: str, made_by: UUID | None = None, audit_key: bytes | None = None,
                 roles: frozenset[str] | None = None) -> None:
        self._ledger = Ledger(engine, now, new_id, kiosk_id, made_by, audit_key, roles)

    def by(self, made_by: UUID, roles: frozenset[str]) -> "Store":
        """The same store, used by another account, which may do what its roles allow."""
        old = self._ledger
        return Store(old.engine, now=old.now, new_id=old.new_id, kiosk_id=old.kiosk_id, made_by=made_by,
                     audit_key=old.audit_key, roles=roles)

    @property
    def ledger(self) -> Ledger:
        """The store's rows."""
        return self._ledger

    @property
    def kiosk_id(self) -> str:
        """The kiosk's name in every row that it makes."""
        return self._ledger.kiosk_id

    def close(self) -> None:
        """Close all connections."""
        self._ledger.engine.dispose()

    def add_person(self, person: Person) -> None:
        """A person, or a new version of their details."""
        with self._ledger.writing() as writing:
            row_mapping.add_person(writing, person)

    def add_device(self, device: Device) -> None:
        """A tablet, or a new measurement of its latency."""
        with self._ledger.writing() as writing:
            row_mapping.add_device(writing, device)

    def add_calibration(self, calibration: CalibrationRecord) -> None:
        """A calibration."""
        with self._ledger.writing() as writing:
            row_mapping.add_calibration(writing, calibration)

    def begin_visit(self, visit: Visit) -> None:
        """A visit, before its first trial; Refused `role_not_held` without `administer`."""
        self._ledger.allow("administer")
        self._add("begin_visit", tables.visit, row_mapping.visit_row(visit))

    def add_trial(self, trial: StoredTrial) -> None:
        """One finished, interrupted or stopped trial; its journal is removed in the same transaction."""
        calibration_id = trial.record.calibration_id
        calibration = None if calibration_id is None else self.calibration(calibration_id)
        row, chunk = row_mapping.trial_row(trial, calibration), tables.trial_chunk
        with self._ledger.writing() as writing:
            writing.note("add_trial", tables.trial, writing.add(tables.trial, row))
            writing.connection.execute(chunk.delete().where(chunk.c.visit_id == trial.visit_id))

    def add_observation(self, visit_id: UUID, observation: Observation) -> None:
        """What staff saw."""
        self._add("add_observation", tables.observation, {
            "visit_id": visit_id, "trial_id": observation.trial_id, "code": observation.code,
            "note": observation.note})

    def end_visit(self, end: VisitEnd) -> None:
        """How the visit ended."""
        self._add("end_visit", tables.visit_end, row_mapping.end_row(end))

    def add_scores(self, visit_id: UUID, scoring_version: int, trials: Sequence[tuple[UUID, TrialScores]],
                   blocks: Sequence[BlockScore]) -> UUID:
        """A score set; its id."""
        software = canonical_json(dict(self.visit(visit_id).software))
        observations = self.observations_of(visit_id)
        with self._ledger.writing() as writing:
            return row_mapping.add_scores(writing, visit_id, scoring_version, trials, blocks, software,
                                         observations)

    def add_reference_table(self, sha256: str, name: str, version: str, status: str,
                            folder_zip: bytes) -> None:
        """The table that judged a visit; where its sha256 is known already, nothing is changed."""
        table = tables.reference_table
        with self._ledger.writing() as writing:
            if not writing.exists(table, sha256):
                row = writing.add(table, {"sha256": sha256, "name": name, "version": version,
                                          "status": status, "folder": folder_zip})
                writing.note("add_reference_table", table, row)

    def add_findings(self, findings: Findings, score_set_id: UUID, reference_sha256: str | None,
                     content: str) -> UUID:
        """Findings as canonical JSON; their id."""
        row = self._add("add_findings", tables.findings, {
            "visit_id": findings.visit.id, "score_set_id": score_set_id, "reference_sha256": reference_sha256,
            "comparison_version": findings.versions.comparison, "age_years": findings.age_years,
            "content_format": findings.format, "content": content})
        return UUID(str(row["id"]))

    def add_report(self, report: StoredReport) -> None:
        """A page, with the head of the audit before it."""
        with self._ledger.writing() as writing:
            row = writing.add(tables.report, row_mapping.report_row(report, writing.audit_head()))
            writing.note("add_report", tables.report, row)

    def audit_head(self) -> str:
        """The last line of the audit as printed on a page; empty where there is no audit key."""
        with self._ledger.engine.connect().execution_options(**{READING: True}) as connection:
            row = connection.execute(last_line(self._ledger.kiosk_id)).first()
        return "" if row is None or not row.mac else str(Anchor(row.seq, row.mac))

    def person(self, person_id: UUID) -> Person:
        """The person's details as last known; Refused `unknown_person`."""
        return row_mapping.read_person(self._ledger, person_id)

    def device(self, device_id: UUID) -> Device:
        """The tablet with its newest latency; Refused `unknown_device`."""
        return row_mapping.read_device(self._ledger, device_id)

    def calibration(self, calibration_id: UUID) -> CalibrationRecord:
        """The calibration; Refused `unknown_calibration`."""
        return row_mapping.calibration_from(self._known("calibration", tables.calibration, calibration_id))

    def visit(self, visit_id: UUID) -> Visit:
        """The visit; Refused `unknown_visit`."""
        return self._visit_from(self._known("visit", tables.visit, visit_id))

    def find_visit(self, id_or_tag: str) -> Visit:
        """A visit by id, or by the page tag of one of its pages (case and hyphen play no part).

        Refused `unknown_visit`, or `page_tag_on_several` where pages of several visits bear the tag.
        """
        try:
            return self.visit(UUID(id_or_tag))
        except ValueError:
            found = self._visits_tagged(_plain_tag(id_or_tag))
        if len(found) > 1:
            raise Refused("page_tag_on_several", {"page_tag": id_or_tag, "visits": len(found)})
        if not found:
            raise Refused("unknown_visit", {"visit": id_or_tag})
        return self.visit(found.pop())

    def visit_end(self, visit_id: UUID) -> VisitEnd | None:
        """How it ended, None while it runs."""
        row = self._ledger.one(latest(tables.visit_end, tables.visit_end.c.visit_id == visit_id))
        return None if row is None else row_mapping.end_from(row)

    def visits_of(self, person_id: UUID) -> tuple[Visit, ...]:
        """The person's visits, oldest first."""
        table = tables.visit
        of_person = sa.select(table).where(table.c.person_id == person_id)
        query = of_person.order_by(table.c.started_at, table.c.id)
        return tuple(self._visit_from(row) for row in self._ledger.all(query))

    def trials_of(self, visit_id: UUID) -> tuple[StoredTrial, ...]:
        """The visit's trials in order of testing, samples included."""
        table = tables.trial
        query = sa.select(table).where(table.c.visit_id == visit_id).order_by(table.c.position)
        return tuple(row_mapping.trial_from(row, self.calibration(row["calibration_id"]))
                     for row in self._ledger.all(query))

    def observations_of(self, visit_id: UUID) -> tuple[Observation, ...]:
        """What staff saw, oldest first; what was withdrawn is left out."""
        rows = self._ledger.all(in_order(tables.observation, tables.observation.c.visit_id == visit_id))
        withdrawn = {row["withdraws"] for row in rows}
        return tuple(row_mapping.observation_from(row) for row in rows
                     if row["id"] not in withdrawn and row["withdraws"] is None)

    def scores_of(self, visit_id: UUID) -> StoredScores | None:
        """The visit's latest score set, None where it was not scored."""
        found, = self._ledger.each(row_mapping.LATEST, visit=visit_id)
        if not found:
            return None
        row = found[0]
        return row_mapping.scores_from(row, *self._ledger.each(*row_mapping.PARTS, set_id=row["id"]))

    def findings_of(self, visit_id: UUID) -> StoredFindings | None:
        """The visit's latest findings, None where there are none."""
        row = self._ledger.one(latest(tables.findings, tables.findings.c.visit_id == visit_id))
        return None if row is None else row_mapping.findings_from(row)

    def table_that_judged(self, visit_id: UUID) -> JudgedBy | None:
        """The table behind the visit's latest findings, None where none judged it."""
        kept = self.findings_of(visit_id)
        return None if kept is None else row_mapping.judged_by(kept)

    def reports_of(self, visit_id: UUID) -> tuple[StoredReport, ...]:
        """The visit's pages, oldest first."""
        query = in_order(tables.report, tables.findings.c.visit_id == visit_id)
        joined = query.join(tables.findings, tables.findings.c.id == tables.report.c.findings_id)
        return tuple(row_mapping.report_from(row) for row in self._ledger.all(joined))

    def reference_table(self, sha256: str) -> bytes:
        """The zip bytes of a table's folder; Refused `unknown_reference_table`."""
        table = tables.reference_table
        row = self._ledger.one(sa.select(table).where(table.c.sha256 == sha256))
        if row is None:
            raise Refused("unknown_reference_table", {"sha256": sha256})
        return bytes(row["folder"])

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
        return tuple(self._visit_from(row) for row in self._ledger.all(query))

    def newest_record(self) -> datetime | None:
        """When this kiosk last made a row, since its site lead last said that the clock is right.

        Rows of other kiosks play no part: a wrong clock elsewhere closes nothing here. None while the clock
        is in doubt at the site lead's word.
        """
        audit = tables.audit
        own = sa.select(audit.c.seq, audit.c.made_at).where(audit.c.kiosk_id == self._ledger.kiosk_id)
        said = self._clock_said()
        if said is not None and said["action"] == CLOCK_DOUBTED:
            return None
        since = own if said is None else own.where(audit.c.seq >= said["seq"])
        row = self._ledger.one(since.order_by(audit.c.made_at.desc()))
        return None if row is None else row["made_at"]

    def clock_doubted(self) -> bool:
        """Whether visits go on at the site lead's word though the clock is in doubt."""
        said = self._clock_said()
        return said is not None and said["action"] == CLOCK_DOUBTED

    def _clock_said(self) -> Row | None:
        audit = tables.audit
        return self._ledger.one(sa.select(audit.c.seq, audit.c.action).where(
            audit.c.kiosk_id == self._ledger.kiosk_id, audit.c.object_kind == "clock").order_by(
            audit.c.seq.desc()))

    def say_clock(self, *, right: bool) -> None:
        """The site lead's word that the clock is right now, or that visits go on though it is in doubt."""
        self._ledger.allow("site_lead")
        with self._ledger.writing() as writing:
            writing.note_of(CLOCK_CONFIRMED if right else CLOCK_DOUBTED, "clock", "")

    def confirm_date(self, visit_id: UUID) -> None:
        """The site lead's word that a visit's date, kept while the clock was in doubt, is right."""
        self._ledger.allow("site_lead")
        self.amend(Amendment("visit", visit_id, "confirm_date", ""))

    def _visit_from(self, row: Row) -> Visit:
        """A visit; one whose date was confirmed bears no mark any more."""
        visit = row_mapping.visit_from(row)
        if not visit.date_doubted:
            return visit
        confirmed = any(one.action == "confirm_date" for one in self.amendments_of(visit.id))
        unmarked = {name: said for name, said in visit.intake.items() if name != "date"}
        return replace(visit, intake=unmarked) if confirmed else visit

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
        self._add("amend", tables.amendment, {
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
        return None if row is None else row_mapping.read_device(self._ledger, row["id"])

    def newest_visit_on(self, device_id: UUID) -> Visit | None:
        """The visit begun last on a tablet."""
        row = self._ledger.one(latest(tables.visit, tables.visit.c.device_id == device_id))
        return None if row is None else row_mapping.visit_from(row)

    def newest_calibration(self, device_id: UUID) -> CalibrationRecord | None:
        """The tablet's newest calibration."""
        row = self._ledger.one(latest(tables.calibration, tables.calibration.c.device_id == device_id))
        return None if row is None else row_mapping.calibration_from(row)

    def add_device_check(self, device_id: UUID, calibration_id: UUID, check: DeviceCheck) -> UUID:
        """A check of the tablet; its id."""
        noise_mm = check.touch.noise_mm
        row = self._add("add_device_check", tables.device_check, {
            "device_id": device_id, "calibration_id": calibration_id, "verdict": check.verdict,
            "reasons": canonical_json(as_json(check.reasons)), "rate_hz": check.touch.rate_hz,
            "interval_p95_ms": check.touch.interval_p95_ms, "refresh_hz": check.display.shown_hz,
            "dropped_share": check.display.late_share,
            "noise_mm": noise_mm if noise_mm == noise_mm else None,
            "field_w_mm": check.field_w_mm, "field_h_mm": check.field_h_mm})
        return UUID(str(row["id"]))

    def add_cross_check(self, device_id: UUID, calibration_id: UUID, check: CrossCheck) -> UUID:
        """Five crosses touched: a check without figures of the panel; its reasons hold the offsets."""
        row = self._add("add_cross_check", tables.device_check, {
            "device_id": device_id, "calibration_id": calibration_id, "verdict": check.verdict,
            "reasons": canonical_json(as_json(check))})
        return UUID(str(row["id"]))

    def add_line_check(self, device_id: UUID, calibration_id: UUID, check: LineCheck) -> UUID:
        """Lines drawn along an edge: the jitter of movement, and all lines beside the reasons."""
        row = self._add("add_line_check", tables.device_check, {
            "device_id": device_id, "calibration_id": calibration_id, "verdict": check.verdict,
            "reasons": canonical_json(as_json(check)), "noise_mm": check.moving_jitter_mm})
        return UUID(str(row["id"]))

    def checks_of(self, device_id: UUID) -> TabletChecks:
        """The tablet's newest checks."""
        check = tables.device_check
        without = check.c.rate_hz.is_(None)
        kinds = (check.c.rate_hz.is_not(None), sa.and_(without, check.c.noise_mm.is_(None)),
                 sa.and_(without, check.c.noise_mm.is_not(None)))
        rows = (self._ledger.one(latest(check, check.c.device_id == device_id, kind)) for kind in kinds)
        return TabletChecks(*(None if row is None else _kept_check(row) for row in rows))

    def latencies_of(self, device_id: UUID) -> tuple[KeptLatency, ...]:
        """What each method of measuring its latency found last."""
        return row_mapping.latencies_of(self._ledger, device_id)

    def measurements_of(self, device_id: UUID) -> tuple[Measurement, ...]:
        """Everything that was measured of the tablet, oldest first."""
        found = [Measurement(by, row["made_at"], self._name_of(row["made_by"]), figures, verdict, reasons)
                 for table in (tables.calibration, tables.device_check, tables.device_latency)
                 for row in self._ledger.all(sa.select(table).where(table.c.device_id == device_id))
                 for by, figures, verdict, reasons in [row_mapping.measured(table.name, row)]]
        return tuple(sorted(found, key=lambda one: one.made_at))

    def _name_of(self, staff_id: UUID | None) -> str:
        known = None if staff_id is None else self._ledger.one(latest(
            tables.staff_details, tables.staff_details.c.staff_id == staff_id))
        return "" if known is None else str(known["display_name"])

    def reference_tables(self) -> tuple[KeptTable, ...]:
        """Every table kept, oldest first."""
        table = tables.reference_table
        rows = self._ledger.all(sa.select(table).order_by(table.c.made_at))
        return tuple(KeptTable(row["sha256"], row["name"], row["version"], row["status"]) for row in rows)

    def _people(self, query: Query) -> tuple[Person, ...]:
        rows: Iterable[Row] = self._ledger.all(query)
        return tuple(row_mapping.read_person(self._ledger, row["id"]) for row in rows)

    def _add(self, action: str, table: sa.Table, row: Row) -> Row:
        with self._ledger.writing() as writing:
            kept = writing.add(table, row)
            writing.note(action, table, kept)
        return kept

    def _known(self, kind: str, table: sa.Table, key: UUID) -> Row:
        row = self._ledger.one(sa.select(table).where(table.c.id == key))
        if row is None:
            raise Refused(f"unknown_{kind}", {kind: str(key)})
        return row

    def _visits_tagged(self, tag: str) -> set[UUID]:
        plain_tag = sa.func.upper(sa.func.replace(tables.report.c.page_tag, "-", ""))
        pages = tables.findings.join(tables.report, tables.report.c.findings_id == tables.findings.c.id)
        query = sa.select(tables.findings.c.visit_id).select_from(pages).where(plain_tag == tag)
        return {row["visit_id"] for row in self._ledger.all(query)}


def _plain_tag(tag: str) -> str:
    return tag.replace("-", "").upper()


def _kept_check(row: Row) -> KeptCheck:
    """A check from its row; crosses keep their mean offset, lines their figures beside the reasons."""
    told = json.loads(row["reasons"])
    more = told if isinstance(told, dict) else {"reasons": told}
    reasons = tuple(DeviceReason(**one) for one in more["reasons"])
    return KeptCheck(row["id"], row["verdict"], reasons, row["made_at"], more.get("mean_mm"),
                     response_ms([LineFigures(**one | {"line": Line(one["line"])})
                                                                   for one in more.get("lines", ())]))
