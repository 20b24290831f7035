"""Where visits are kept: the protocol that storage fulfils, in memory or in a file.

Every call commits before it returns. Nothing is changed or removed; corrections are new rows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol
from uuid import UUID

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.trial import TrialRecord
from kiosk.scoring.trial_scores import BlockScore, TrialScores
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.findings import Findings, JudgedBy
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd


@dataclass(frozen=True)
class StoredTrial:
    """A trial as it was kept: its id, its place in the visit (from 1), and the record."""

    id: UUID
    visit_id: UUID
    position: int
    record: TrialRecord
    repeat_of: UUID | None = None


@dataclass(frozen=True)
class StoredScores:
    """A score set as it was kept: scores by trial id, and the block scores by measure."""

    id: UUID
    scoring_version: int
    trials: Mapping[UUID, TrialScores]
    blocks: Mapping[str, BlockScore]


@dataclass(frozen=True)
class StoredFindings:
    """Findings as they were kept: `content` is canonical JSON.

    reference_sha256 is the table that was asked, also where it refused; None where there was none.
    """

    id: UUID
    visit_id: UUID
    score_set_id: UUID
    reference_sha256: str | None
    content: str


@dataclass(frozen=True)
class StoredReport:
    """A printed page as it was kept; an amended one names the page it replaces."""

    id: UUID
    findings_id: UUID
    language: str
    paper: str
    pdf: bytes
    page_tag: str
    replaces: UUID | None = None


class Archive(Protocol):
    """Keeps persons, devices, visits, trials, scores, findings and pages."""

    @property
    def kiosk_id(self) -> str:
        """What the kiosk that keeps it is called."""

    def add_person(self, person: Person) -> None:
        """A person, or a new version of their details."""

    def add_device(self, device: Device) -> None:
        """Keep a tablet with its latency."""

    def add_calibration(self, calibration: CalibrationRecord) -> None:
        """Keep a calibration of a tablet."""

    def begin_visit(self, visit: Visit) -> None:
        """A visit, before its first trial."""

    def add_trial(self, trial: StoredTrial) -> None:
        """One finished, interrupted or stopped trial."""

    def add_observation(self, visit_id: UUID, observation: Observation) -> None:
        """Keep one observation by staff."""

    def end_visit(self, end: VisitEnd) -> None:
        """Keep how a visit ended."""

    def add_scores(self, visit_id: UUID, scoring_version: int, trials: Sequence[tuple[UUID, TrialScores]],
                   blocks: Sequence[BlockScore]) -> UUID:
        """Keep a score set; returns its id."""

    def add_reference_table(self, sha256: str, name: str, version: str, status: str,
                            folder_zip: bytes) -> None:
        """The table that judged a visit; kept once."""

    def add_findings(self, findings: Findings, score_set_id: UUID, reference_sha256: str | None,
                     content: str) -> UUID:
        """Findings as canonical JSON `content` (kiosk.visits.findings_json.findings_text); their id.

        reference_sha256 is the table that was asked, kept before by add_reference_table.
        """

    def add_report(self, report: StoredReport) -> None:
        """Keep a page."""

    def audit_head(self) -> str:
        """The last line of the audit, as a page bears it; empty where it is no chain (memory)."""

    def person(self, person_id: UUID) -> Person:
        """The person's details as last known; Refused `unknown_person`."""

    def device(self, device_id: UUID) -> Device:
        """The tablet; Refused `unknown_device`."""

    def visit(self, visit_id: UUID) -> Visit:
        """The visit; Refused `unknown_visit`."""

    def find_visit(self, id_or_tag: str) -> Visit:
        """A visit by id, or by the page tag of one of its pages; Refused `unknown_visit`."""

    def visit_end(self, visit_id: UUID) -> VisitEnd | None:
        """How it ended, None while it runs."""

    def is_void(self, visit_id: UUID) -> bool:
        """Whether the visit was taken out by an amendment and not put back."""

    def visits_of(self, person_id: UUID) -> tuple[Visit, ...]:
        """The person's visits, oldest first."""

    def trials_of(self, visit_id: UUID) -> tuple[StoredTrial, ...]:
        """The visit's trials in order of testing, samples included."""

    def observations_of(self, visit_id: UUID) -> tuple[Observation, ...]:
        """The observations of a visit, oldest first."""

    def calibration(self, calibration_id: UUID) -> CalibrationRecord:
        """The calibration; Refused `unknown_calibration`."""

    def scores_of(self, visit_id: UUID) -> StoredScores | None:
        """The visit's latest score set, None where it was not scored."""

    def findings_of(self, visit_id: UUID) -> StoredFindings | None:
        """The visit's latest findings, None where there are none."""

    def table_that_judged(self, visit_id: UUID) -> JudgedBy | None:
        """The table behind the visit's latest findings, None where none judged it."""

    def reports_of(self, visit_id: UUID) -> tuple[StoredReport, ...]:
        """The visit's pages, oldest first."""

    def reference_table(self, sha256: str) -> bytes:
        """The zip bytes of a table's folder; Refused `unknown_reference_table`."""
