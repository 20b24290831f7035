"""What a visit found, as it travels to words, page, screen and export: codes and unrounded numbers.

Built by kiosk.visits.comparison. A Refusal stands wherever no judgement was made, with the reason as a code.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from kiosk.pursuit.observation import Observation
from kiosk.scoring.trial_scores import BlockScore, Reason, TrialScores
from kiosk.visits.visit import Visit, VisitEnd
from norms import Change, ChangeProfile, MeasurementError, Profile, Refusal, Standing


@dataclass(frozen=True)
class TrialFinding:
    """One trial as it stands in the findings; position is its place in the visit, from 1."""

    id: UUID
    position: int
    block: str
    hand: str
    hand_side: str
    number: int
    attempt: int
    scored: bool
    outcome: str
    n_samples: int
    rate_hz: float | None
    scores: TrialScores


@dataclass(frozen=True)
class Versions:
    """Versions that travel with every visit."""

    battery: int
    scoring: int
    comparison: int
    findings_format: int


@dataclass(frozen=True)
class TableProvenance:
    """Which reference table judged the visit."""

    name: str
    version: str
    sha256: str
    status: str
    title: str
    tested_from: str
    tested_to: str
    device_class: str
    input: str


@dataclass(frozen=True)
class JudgedBy:
    """The table behind earlier findings, as far as comparing needs it."""

    name: str
    version: str
    sha256: str


@dataclass(frozen=True)
class HistoryPoint:
    """One visit in the person's own history: values in the unit, z* where there is a standing."""

    visit_id: UUID
    number: int
    started_at: datetime
    values: Mapping[str, float]
    z: Mapping[str, float]


@dataclass(frozen=True)
class Findings:
    """All that is known after a visit.

    age_years is None where the birth date is not known.
    visit_number counts the person's visits of this battery from 1; history is oldest first and ends with this
    visit. standings (the primary measures), other_standings and changes go by measure id; an unscored measure
    has the refusal of its block. table_refusal says why no table judged this visit: then only values are
    there. compared_with is the earlier visit of `changes`; where it is None but changes are there, they all
    say why the latest earlier visit cannot be compared. earlier_intake is that of the visit compared with.
    measurement_errors hold those primary measures whose own error is known.
    """

    format: int
    visit: Visit
    end: VisitEnd | None
    visit_number: int
    versions: Versions
    age_years: float | None
    trials: tuple[TrialFinding, ...]
    block_scores: Mapping[str, BlockScore]
    standings: Mapping[str, Standing | Refusal]
    profile: Profile | Refusal | None
    compared_with: HistoryPoint | None
    changes: Mapping[str, Change | Refusal]
    change_profile: ChangeProfile | Refusal | None
    history: tuple[HistoryPoint, ...]
    observations: tuple[Observation, ...]
    table: TableProvenance | None
    table_refusal: Refusal | None
    cautions: tuple[Reason, ...]
    earlier_intake: Mapping[str, str] | None = None
    other_standings: Mapping[str, Standing | Refusal] = field(default_factory=dict)
    measurement_errors: Mapping[str, MeasurementError] = field(default_factory=dict)
