"""The archive on a store: every call is one transaction, committed before it returns.

The same for memory, file and whatever engine follows. Reading gives back what was kept, bit for bit.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.scoring.trial_scores import BlockScore, TrialScores
from kiosk.storage import person_rows, score_rows, tables, trial_rows, visit_rows
from kiosk.storage.audit_chain import Anchor, last_line
from kiosk.storage.desk_rows import DeskRows
from kiosk.storage.engine import READING
from kiosk.storage.rows import Ledger, Row, in_order, latest
from kiosk.visits.archive import StoredFindings, StoredReport, StoredScores, StoredTrial
from kiosk.visits.canonical import canonical_json
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.findings import Findings, JudgedBy
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd


class Store(DeskRows):
    """Fulfils kiosk.visits.desk_archive.DeskArchive (the visits here, the staff's part in DeskRows)."""

    def __init__(self, engine: sa.Engine, *, now: Callable[[], datetime], new_id: Callable[[], UUID],
                 kiosk_id: str, made_by: UUID | None = None, audit_key: bytes | None = None,
                 roles: frozenset[str] | None = None) -> None:
        self._ledger = Ledger(engine, now, new_id, kiosk_id, made_by, audit_key, roles)

    def by(self, made_by: UUID, roles: frozenset[str]) -> "Store":
        """The same store, written in the name of another account, which may do what its roles say."""
        old = self._ledger
        return Store(old.engine, now=old.now, new_id=old.new_id, kiosk_id=old.kiosk_id, made_by=made_by,
                     audit_key=old.audit_key, roles=roles)

    @property
    def ledger(self) -> Ledger:
        """Where the rows are written and read."""
        return self._ledger

    @property
    def kiosk_id(self) -> str:
        """What this kiosk is called in every row it makes."""
        return self._ledger.kiosk_id

    def close(self) -> None:
        """Let go of the file."""
        self._ledger.engine.dispose()

    def add_person(self, person: Person) -> None:
        """A person, or a new version of their details."""
        with self._ledger.writing() as writing:
            person_rows.add_person(writing, person)

    def add_device(self, device: Device) -> None:
        """A tablet, or a new measurement of its latency."""
        with self._ledger.writing() as writing:
            person_rows.add_device(writing, device)

    def add_calibration(self, calibration: CalibrationRecord) -> None:
        """A calibration."""
        with self._ledger.writing() as writing:
            person_rows.add_calibration(writing, calibration)

    def begin_visit(self, visit: Visit) -> None:
        """A visit, before its first trial; Refused `role_not_held` without `administer`."""
        self._ledger.allow("administer")
        self._add("begin_visit", tables.visit, visit_rows.visit_row(visit))

    def add_trial(self, trial: StoredTrial) -> None:
        """One finished, interrupted or stopped trial, on the disk when this returns; its journal goes."""
        calibration_id = trial.record.calibration_id
        calibration = None if calibration_id is None else self.calibration(calibration_id)
        row, chunk = trial_rows.trial_row(trial, calibration), tables.trial_chunk
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
        self._add("end_visit", tables.visit_end, visit_rows.end_row(end))

    def add_scores(self, visit_id: UUID, scoring_version: int, trials: Sequence[tuple[UUID, TrialScores]],
                   blocks: Sequence[BlockScore]) -> UUID:
        """A score set; its id."""
        software = canonical_json(dict(self.visit(visit_id).software))
        observations = self.observations_of(visit_id)
        with self._ledger.writing() as writing:
            return score_rows.add_scores(writing, visit_id, scoring_version, trials, blocks, software,
                                         observations)

    def add_reference_table(self, sha256: str, name: str, version: str, status: str,
                            folder_zip: bytes) -> None:
        """The table that judged a visit; kept once, whatever is given later under the same sha256."""
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
        """A page, with the last line of the audit before it."""
        with self._ledger.writing() as writing:
            row = writing.add(tables.report, score_rows.report_row(report, writing.audit_head()))
            writing.note("add_report", tables.report, row)

    def audit_head(self) -> str:
        """The last line of the audit as a page bears it; empty where no key makes it a chain."""
        with self._ledger.engine.connect().execution_options(**{READING: True}) as connection:
            row = connection.execute(last_line(self._ledger.kiosk_id)).first()
        return "" if row is None or not row.mac else str(Anchor(row.seq, row.mac))

    def person(self, person_id: UUID) -> Person:
        """The person's details as last known; Refused `unknown_person`."""
        return person_rows.read_person(self._ledger, person_id)

    def device(self, device_id: UUID) -> Device:
        """The tablet with its newest latency; Refused `unknown_device`."""
        return person_rows.read_device(self._ledger, device_id)

    def calibration(self, calibration_id: UUID) -> CalibrationRecord:
        """The calibration; Refused `unknown_calibration`."""
        return person_rows.calibration_from(self._known("calibration", tables.calibration, calibration_id))

    def visit(self, visit_id: UUID) -> Visit:
        """The visit; Refused `unknown_visit`."""
        return visit_rows.visit_from(self._known("visit", tables.visit, visit_id))

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
        return None if row is None else visit_rows.end_from(row)

    def visits_of(self, person_id: UUID) -> tuple[Visit, ...]:
        """The person's visits, oldest first."""
        table = tables.visit
        of_person = sa.select(table).where(table.c.person_id == person_id)
        query = of_person.order_by(table.c.started_at, table.c.id)
        return tuple(visit_rows.visit_from(row) for row in self._ledger.all(query))

    def trials_of(self, visit_id: UUID) -> tuple[StoredTrial, ...]:
        """The visit's trials in order of testing, samples included."""
        table = tables.trial
        query = sa.select(table).where(table.c.visit_id == visit_id).order_by(table.c.position)
        return tuple(trial_rows.trial_from(row, self.calibration(row["calibration_id"]))
                     for row in self._ledger.all(query))

    def observations_of(self, visit_id: UUID) -> tuple[Observation, ...]:
        """What staff saw, oldest first; what was withdrawn is left out."""
        rows = self._ledger.all(in_order(tables.observation, tables.observation.c.visit_id == visit_id))
        withdrawn = {row["withdraws"] for row in rows}
        return tuple(visit_rows.observation_from(row) for row in rows
                     if row["id"] not in withdrawn and row["withdraws"] is None)

    def scores_of(self, visit_id: UUID) -> StoredScores | None:
        """The visit's latest score set, None where it was not scored."""
        found, = self._ledger.each(score_rows.LATEST, visit=visit_id)
        if not found:
            return None
        row = found[0]
        return score_rows.scores_from(row, *self._ledger.each(*score_rows.PARTS, set_id=row["id"]))

    def findings_of(self, visit_id: UUID) -> StoredFindings | None:
        """The visit's latest findings, None where there are none."""
        row = self._ledger.one(latest(tables.findings, tables.findings.c.visit_id == visit_id))
        return None if row is None else score_rows.findings_from(row)

    def table_that_judged(self, visit_id: UUID) -> JudgedBy | None:
        """The table behind the visit's latest findings, None where none judged it."""
        kept = self.findings_of(visit_id)
        return None if kept is None else score_rows.judged_by(kept)

    def reports_of(self, visit_id: UUID) -> tuple[StoredReport, ...]:
        """The visit's pages, oldest first."""
        query = in_order(tables.report, tables.findings.c.visit_id == visit_id)
        joined = query.join(tables.findings, tables.findings.c.id == tables.report.c.findings_id)
        return tuple(score_rows.report_from(row) for row in self._ledger.all(joined))

    def reference_table(self, sha256: str) -> bytes:
        """The zip bytes of a table's folder; Refused `unknown_reference_table`."""
        table = tables.reference_table
        row = self._ledger.one(sa.select(table).where(table.c.sha256 == sha256))
        if row is None:
            raise Refused("unknown_reference_table", {"sha256": sha256})
        return bytes(row["folder"])

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

    def _visits_tagged(self, tag: str) -> set[Any]:
        plain = sa.func.upper(sa.func.replace(tables.report.c.page_tag, "-", ""))
        pages = tables.findings.join(tables.report, tables.report.c.findings_id == tables.findings.c.id)
        query = sa.select(tables.findings.c.visit_id).select_from(pages).where(plain == tag)
        return {row["visit_id"] for row in self._ledger.all(query)}


def _plain_tag(tag: str) -> str:
    return tag.replace("-", "").upper()
