"""What the staff's part asks of the archive: lists, signatures, amendments, the tablet's checks.

Nothing is removed: an observation is withdrawn by a row, a visit is taken out and put back by amendments, an
amended page stands beside the one it replaces.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol
from uuid import UUID

from kiosk.pursuit.observation import Observation
from kiosk.touch.cross_check import CrossCheck
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.line_check import LineCheck
from kiosk.visits.archive import Archive
from kiosk.visits.device_record import CalibrationRecord, Device, KeptLatency, TabletChecks
from kiosk.visits.passport import Measurement
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit

Action = Literal["void", "restore", "correct", "confirm_date"]


@dataclass(frozen=True)
class Amendment:
    """A correction: what was done to which row, why, and what stands in its place."""

    target_kind: str
    target_id: UUID
    action: Action
    reason: str
    replacement_id: UUID | None = None


@dataclass(frozen=True)
class SignOff:
    """Who took a page over: initials and profession, and the statement signed (its code).

    account: the one at work when it was signed; told by the archive, which knows it.
    """

    report_id: UUID
    initials: str
    role: str
    statement: str
    account: UUID | None = None


@dataclass(frozen=True)
class KeptTable:
    """A reference table as the archive lists it."""

    sha256: str
    name: str
    version: str
    status: str


class StaffArchive(Archive, Protocol):
    """The archive as the staff's part needs it."""

    def people(self) -> tuple[Person, ...]:
        """Everyone, as last known, in order of being added."""

    def people_coded(self, text: str) -> tuple[Person, ...]:
        """Those whose code or second identifier this is (case, hyphens and spaces play no part)."""

    def people_since(self, moment: datetime) -> tuple[Person, ...]:
        """People added since a moment."""

    def visits_since(self, moment: datetime) -> tuple[Visit, ...]:
        """The visits begun since, oldest first."""

    def clock_doubted(self) -> bool:
        """Whether the site lead let visits go on though the clock is in doubt."""

    def newest_record(self) -> datetime | None:
        """When the last row was made, None in an empty store."""

    def withdraw_observations(self, visit_id: UUID, codes: Sequence[str]) -> None:
        """Withdraw what staff noted with these codes."""

    def observations_of(self, visit_id: UUID) -> tuple[Observation, ...]:
        """What staff saw and did not withdraw."""

    def sign(self, sign_off: SignOff) -> UUID:
        """A signature under a page; its id. Refused `already_signed`."""

    def sign_off_of(self, report_id: UUID) -> SignOff | None:
        """Who signed a page, None where nobody did."""

    def amend(self, amendment: Amendment) -> None:
        """Keep a correction with its reason."""

    def amendments_of(self, target_id: UUID) -> tuple[Amendment, ...]:
        """The corrections of one row, oldest first."""

    def note_output(self, report_id: UUID, how: str) -> None:
        """A page was put out (how: print, save), or its leaflet (print_leaflet, save_leaflet)."""

    def was_put_out(self, report_id: UUID) -> bool:
        """Whether the page was printed or saved."""

    def newest_device(self) -> Device | None:
        """The tablet kept last, with the latency that counts."""

    def newest_visit_on(self, device_id: UUID) -> Visit | None:
        """The visit begun last on a tablet."""

    def newest_calibration(self, device_id: UUID) -> CalibrationRecord | None:
        """The tablet's newest calibration."""

    def add_device_check(self, device_id: UUID, calibration_id: UUID, check: DeviceCheck) -> UUID:
        """A check of the tablet; its id."""

    def add_cross_check(self, device_id: UUID, calibration_id: UUID, check: CrossCheck) -> UUID:
        """Five crosses touched on the tablet; its id."""

    def add_line_check(self, device_id: UUID, calibration_id: UUID, check: LineCheck) -> UUID:
        """Lines drawn on the tablet; its id."""

    def checks_of(self, device_id: UUID) -> TabletChecks:
        """The tablet's newest checks."""

    def latencies_of(self, device_id: UUID) -> tuple[KeptLatency, ...]:
        """What each method of measuring its latency found last."""

    def measurements_of(self, device_id: UUID) -> tuple[Measurement, ...]:
        """Everything that was measured of the tablet, oldest first."""

    def reference_tables(self) -> tuple[KeptTable, ...]:
        """Every table kept, oldest first."""
