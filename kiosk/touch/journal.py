"""The running trial put by in parts while it runs, so that a power cut takes half a second of it at most.

A journal is begun with each trial that sets off and given a part every PART_MS; what is in it is dropped when
the disc waits again, and closed when the trial is over and about to be kept. It must not hold up a frame:
whoever fulfils it writes elsewhere than on this thread.
"""

from dataclasses import dataclass
from typing import Final, Protocol
from uuid import UUID

from kiosk.pursuit.samples import RawTouch
from kiosk.pursuit.trial import TrialFacts, TrialPlan

PART_MS: Final = 250


@dataclass(frozen=True)
class JournalTrial:
    """Which trial runs: where it stands in which visit, its frozen plan and calibration."""

    visit_id: UUID
    position: int
    plan: TrialPlan
    calibration_id: UUID | None
    repeat_of: UUID | None = None


@dataclass(frozen=True)
class Part:
    """What came since the last part; facts are those of the trial so far, flip_t_s only the new flips."""

    raw: RawTouch
    facts: TrialFacts
    set_off_ns: int


class Journal(Protocol):
    """Keeps the parts of one running trial at a time."""

    def begin(self, trial: JournalTrial) -> None:
        """A trial is on the screen."""

    def add(self, part: Part) -> None:
        """One part of it; returns at once."""

    def drop(self) -> None:
        """The disc waits again: what was put by counts for nothing."""

    def close(self) -> None:
        """The trial is over; returns when nothing of it is being written any more."""
