"""The journal of the running trial, so that a power cut loses at most half a second of it.

The recorder begins it with each trial, adds a part every PART_MS, drops the parts when the disc waits again,
and closes it when the trial is over and about to be kept. An implementation must not delay a frame: it writes
on another thread.
"""

from dataclasses import dataclass
from typing import Final, Protocol
from uuid import UUID

from kiosk.pursuit.samples import RawTouch
from kiosk.pursuit.trial import TrialFacts, TrialPlan

PART_MS: Final = 250


@dataclass(frozen=True)
class JournalTrial:
    """The running trial: its visit, its place there (from 1), its plan and its calibration."""

    visit_id: UUID
    position: int
    plan: TrialPlan
    calibration_id: UUID | None
    repeat_of: UUID | None = None


@dataclass(frozen=True)
class Part:
    """What came since the last part. facts are of the trial so far, but flip_t_s has only new frames."""

    raw: RawTouch
    facts: TrialFacts
    set_off_ns: int


class Journal(Protocol):
    """Keeps the parts of one running trial at a time."""

    def begin(self, trial: JournalTrial) -> None:
        """A trial begins."""

    def add(self, part: Part) -> None:
        """Add a part; returns at once."""

    def drop(self) -> None:
        """The disc waits again: forget the parts so far."""

    def close(self) -> None:
        """The trial is over; returns once everything is written."""
