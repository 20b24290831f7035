"""One kiosk and what it works with: begins visits, finishes them, and makes their pages.

Clock and ids are arguments.
"""

import platform
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from typing import Final
from uuid import UUID

import numpy as np

from kiosk.conclusion import Conclusion, Imprint, ReferenceTable, conclude
from kiosk.errors import Refused
from kiosk.glass.calibration import Calibration
from kiosk.glass.capture import Capture
from kiosk.language import Language
from kiosk.pursuit.battery import Battery
from kiosk.pursuit.observation import Observation
from kiosk.settings import demo_norms_folder
from kiosk.sitting import Sitting, Stage
from kiosk.visits.archive import Archive
from kiosk.visits.course import Course, form_for
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.earlier import count_earlier
from kiosk.visits.person import Person
from kiosk.visits.visit import Purpose, Visit, VisitEnd
from norms import TableFaults, pack_folder, read_folder

CLINIC: Final = "Harbour Street demonstration clinic (invented)"
KIOSK_NAME: Final = "kiosk 01"


@dataclass(frozen=True)
class Room:
    """What one kiosk works with, and where ids and time come from."""

    battery: Battery
    archive: Archive
    reference: ReferenceTable | None
    device: Device
    calibration: Calibration
    calibration_record: CalibrationRecord
    language: Language
    new_id: Callable[[], UUID]
    now_utc: Callable[[], datetime]

    def furnish(self, person: Person) -> None:
        """Keep what every visit refers to."""
        self.archive.add_device(self.device)
        self.archive.add_calibration(self.calibration_record)
        self.archive.add_person(person)

    def begin(self, person: Person, purpose: Purpose) -> Visit:
        """A visit of this person, kept before its first trial."""
        earlier = count_earlier(self.archive, person.id, self.battery.id)
        visit = Visit(
            id=self.new_id(),
            person_id=person.id,
            purpose=purpose,
            research_use="not_asked",
            device_id=self.device.id,
            calibration_id=self.calibration_record.id,
            battery=self.battery.id,
            battery_version=self.battery.version,
            form=form_for(earlier),
            earlier_visits=earlier,
            input="finger",
            preferred_hand="left" if person.tool_hand == "left" else "right",
            hands_today="both",
            hands_reason="",
            placement=self.device.placement,
            theme="dark",
            latency_ms=self.device.latency_ms,
            latency_source=self.device.latency_method,
            language=self.language.tag,
            delivery="screen",
            started_at=self.now_utc(),
            time_zone="UTC",
            utc_offset_min=0,
            adaptation_status=self.language.status,
            software=software(),
        )
        self.archive.begin_visit(visit)
        return visit

    def sitting(
        self,
        visit: Visit,
        capture: Capture,
        stage: Stage,
        now_ns: Callable[[], int],
        refresh_hz: float | None,
        calibrated: bool = True,
    ) -> Sitting:
        """The visit, ready to be driven frame by frame."""
        course = Course(
            self.battery,
            form=visit.form,
            preferred_hand=visit.preferred_hand,
            hands_today=visit.hands_today,
        )
        return Sitting(
            visit=visit,
            battery=self.battery,
            course=course,
            archive=self.archive,
            capture=capture,
            calibration=self.calibration,
            stage=stage,
            language=self.language,
            new_id=self.new_id,
            now_ns=now_ns,
            refresh_hz=refresh_hz,
            calibrated=calibrated,
        )

    def finish(self, visit: Visit, course: Course, page_language: Language) -> Conclusion:
        """Keep how the visit ended and make its page."""
        for code in course.observations:
            self.archive.add_observation(visit.id, Observation(code))
        self.archive.end_visit(VisitEnd(visit.id, course.how or "abandoned", self.now_utc()))
        imprint = Imprint(CLINIC, KIOSK_NAME, app_version(), self.now_utc())
        return conclude(
            self.archive, visit.id, self.battery, self.reference, page_language, imprint, self.new_id
        )


def demo_table() -> ReferenceTable:
    """The simulated reference table that ships with the kiosk."""
    folder = demo_norms_folder()
    try:
        return ReferenceTable(read_folder(folder), pack_folder(folder))
    except TableFaults as faults:
        raise Refused("demo_table_faulty", {"folder": folder.name, "faults": len(faults.faults)}) from faults


def app_version() -> str:
    """The version of the installed package, or of the checkout."""
    return _installed("pursuit-kiosk", "0.1.0")


def software() -> dict[str, str]:
    """What a visit was run with."""
    return {
        "kiosk": app_version(),
        "kivy": _installed("kivy"),
        "numpy": np.__version__,
        "python": platform.python_version(),
        "os": platform.system(),
    }


def _installed(name: str, otherwise: str = "none") -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return otherwise
