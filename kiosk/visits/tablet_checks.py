"""What is kept of a tablet's checks, and whether it is fit for visits by the newest of each kind.

A check of touch and picture, and five crosses touched; a tablet that was never checked is not held back.

Decision touch-7.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from kiosk.touch.verdict import DeviceReason, Verdict, worst


@dataclass(frozen=True)
class KeptCheck:
    """A check as it was kept; mean_offset_mm only of the crosses."""

    id: UUID
    verdict: Verdict
    reasons: tuple[DeviceReason, ...]
    made_at: datetime
    mean_offset_mm: float | None = None


@dataclass(frozen=True)
class TabletChecks:
    """The newest check of each kind, None where there has been none."""

    panel: KeptCheck | None = None
    crosses: KeptCheck | None = None

    @property
    def verdict(self) -> Verdict:
        """The stricter of both; pass where nothing was found."""
        return worst(self._reasons())

    @property
    def reason(self) -> DeviceReason | None:
        """The first of the reasons that make the verdict."""
        return next((one for one in self._reasons() if one.verdict == self.verdict), None)

    def _reasons(self) -> Iterator[DeviceReason]:
        for check in (self.panel, self.crosses):
            yield from () if check is None else check.reasons
