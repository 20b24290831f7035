"""A visit: one sitting of one person, its circumstances, and how it ended."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal
from uuid import UUID

Purpose = Literal["care", "reference", "retest", "training", "demo"]
PointingInput = Literal["finger", "stylus", "mouse"]
HandsToday = Literal["both", "right", "left"]
How = Literal["completed", "stopped_by_person", "stopped_by_staff", "abandoned"]
DOUBTED: Final = "doubted"


@dataclass(frozen=True)
class Visit:
    """Everything fixed when a visit begins. started_at is aware (UTC); latency_ms None = not known."""

    id: UUID
    person_id: UUID
    purpose: Purpose
    research_use: Literal["yes", "no", "not_asked"]
    device_id: UUID
    calibration_id: UUID | None
    battery: str
    battery_version: int
    form: str
    earlier_visits: int
    input: PointingInput
    preferred_hand: Literal["right", "left"]
    hands_today: HandsToday
    hands_reason: str
    placement: str
    theme: str
    latency_ms: float | None
    latency_source: str | None
    language: str
    delivery: str
    started_at: datetime
    time_zone: str
    utc_offset_min: int
    device_check_id: UUID | None = None
    catalogue_sha256: str = ""
    adaptation_status: str = ""
    identity_confirmed_by: UUID | None = None
    intake: Mapping[str, str] = field(default_factory=dict)
    software: Mapping[str, str] = field(default_factory=dict)

    @property
    def date_doubted(self) -> bool:
        """Whether the clock was in doubt when the visit began; marked in `intake` until it is confirmed."""
        return self.intake.get("date") == DOUBTED


@dataclass(frozen=True)
class VisitEnd:
    """How a visit ended, and when."""

    visit_id: UUID
    how: How
    ended_at: datetime
    reason: str = ""
    pain_after: str = "not_asked"
