"""One kiosk and what it works with: begins visits, finishes them, and makes their pages.

Clock and ids are arguments.
"""

import platform
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from types import MappingProxyType
from typing import Final, Literal
from uuid import UUID
from zoneinfo import ZoneInfo

import numpy as np

from kiosk import __version__
from kiosk.app.conclusion import PAPER, Conclusion, Imprint, ReferenceTable, conclude
from kiosk.app.visit_runner import Stage, VisitRunner
from kiosk.base.errors import Refused
from kiosk.base.settings import demo_norms_folder
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery
from kiosk.pursuit.observation import Observation
from kiosk.pursuit.practice_check import check_practice
from kiosk.scoring.trial_scores import TrialScores
from kiosk.staff.intake import preferred_hand
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Capture
from kiosk.touch.journal import Journal
from kiosk.visits.archive import Archive, StoredTrial
from kiosk.visits.course import Course, form_for
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.earlier import count_earlier
from kiosk.visits.person import Person
from kiosk.visits.visit import PointingInput, Purpose, Visit, VisitEnd
from norms import TableFaults, pack_folder, read_folder

CLINIC: Final = "Harbour Street demonstration clinic (invented)"
KIOSK_NAME: Final = "kiosk 01"
INTAKE: Final = ("format", "pain_before", "last_dose", "posture", "sees_disc", "wiped_and_dry", "power",
                 "tool_hand", "sex", "education", "protector")


@dataclass(frozen=True)
class Context:
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
    zone_name: str = "UTC"
    place: str = CLINIC
    paper: str = PAPER
    journal: Journal | None = None
    input: PointingInput = "finger"

    @property
    def kiosk_name(self) -> str:
        """What this kiosk is called in its archive and on its pages."""
        return self.archive.kiosk_id

    def furnish(self, person: Person) -> None:
        """Keep what every visit refers to."""
        self.archive.add_device(self.device)
        self.archive.add_calibration(self.calibration_record)
        self.archive.add_person(person)

    def begin(self, person: Person, purpose: Purpose, answers: Mapping[str, str] = MappingProxyType({}),
              device_check_id: UUID | None = None) -> Visit:
        """A visit of this person with what intake answered, kept before its first trial."""
        now = self.now_utc()
        earlier = count_earlier(self.archive, person.id, self.battery.id)
        visit = Visit(
            id=self.new_id(),
            person_id=person.id,
            purpose=purpose,
            research_use=answers.get("research_use", "not_asked"),  # type: ignore[arg-type]
            device_id=self.device.id,
            calibration_id=self.calibration_record.id,
            battery=self.battery.id,
            battery_version=self.battery.version,
            form=form_for(earlier),
            earlier_visits=earlier,
            input=self.input,
            preferred_hand=_preferred(person, answers),
            hands_today=answers.get("hands_today", "both"),  # type: ignore[arg-type]
            hands_reason=answers.get("hands_reason", ""),
            placement=answers.get("placement", self.device.placement),
            theme="dark",
            latency_ms=self.device.latency_ms,
            latency_source=self.device.latency_method,
            language=self.language.tag,
            delivery=answers.get("delivery", "screen"),
            started_at=now,
            time_zone=self.zone_name,
            utc_offset_min=offset_min(self.zone_name, now),
            device_check_id=device_check_id,
            intake={name: answers[name] for name in INTAKE if name in answers} | {"place": self.place},
            adaptation_status=self.language.status,
            software=software(),
        )
        self.archive.begin_visit(visit)
        return visit

    def runner(self, visit: Visit, capture: Capture, stage: Stage, now_ns: Callable[[], int],
               refresh_hz: float | None, calibrated: bool = True,
               done: Sequence[tuple[StoredTrial, TrialScores]] = ()) -> VisitRunner:
        """The visit, ready to be driven frame by frame; after the trials of `done` where it is resumed."""
        course = self._course(visit, done)
        return VisitRunner(
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
            scored=list(done),
            journal=self.journal,
        )

    def _course(self, visit: Visit, done: Sequence[tuple[StoredTrial, TrialScores]]) -> Course:
        ended = [
            (trial.record.plan, trial.record.facts.outcome, self._fit(trial, scores))
            for trial, scores in done
        ]
        return Course.resume(self.battery, form=visit.form, preferred_hand=visit.preferred_hand,
                             hands_today=visit.hands_today, done=ended)

    def _fit(self, trial: StoredTrial, scores: TrialScores) -> bool:
        """Fit to be scored; of the practice: passed."""
        plan = trial.record.plan
        if plan.scored:
            return scores.validity.valid
        return check_practice(trial.record.samples, plan, self.battery).passed

    def finish(self, visit: Visit, course: Course, page_language: Language) -> Conclusion:
        """Keep how the visit ended and make its page."""
        for code in course.observations:
            self.archive.add_observation(visit.id, Observation(code))
        self.archive.end_visit(VisitEnd(visit.id, course.how or "abandoned", self.now_utc()))
        return self.conclude(visit, page_language)

    def conclude(self, visit: Visit, page_language: Language, compare_with: UUID | None = None,
                 replaces: UUID | None = None) -> Conclusion:
        """The page of a visit that has ended, kept."""
        head = self.archive.audit_head()
        imprint = Imprint(self.place, self.kiosk_name, __version__, self.now_utc(), head, self.paper)
        return conclude(self.archive, visit.id, self.battery, self.reference, page_language, imprint,
                        self.new_id, compare_with=compare_with, replaces=replaces)


def offset_min(zone_name: str, moment: datetime) -> int:
    """How far a zone is from UTC at a moment, in minutes.

    >>> offset_min("Europe/Berlin", datetime.fromisoformat("2026-07-01T12:00:00+00:00"))
    120
    """
    offset = moment.astimezone(ZoneInfo(zone_name)).utcoffset()
    return 0 if offset is None else round(offset.total_seconds() / 60)


def _preferred(person: Person, answers: Mapping[str, str]) -> Literal["left", "right"]:
    hand = preferred_hand(answers) if "tool_hand" in answers else person.tool_hand
    return "left" if hand == "left" else "right"


def demo_table() -> ReferenceTable:
    """The simulated reference table that ships with the kiosk."""
    folder = demo_norms_folder()
    try:
        return ReferenceTable(read_folder(folder), pack_folder(folder))
    except TableFaults as faults:
        raise Refused("demo_table_faulty", {"folder": folder.name, "faults": len(faults.faults)}) from faults


def software() -> dict[str, str]:
    """What a visit was run with."""
    return {
        "kiosk": __version__,
        "kivy": _installed("kivy"),
        "numpy": np.__version__,
        "python": platform.python_version(),
        "os": platform.system(),
    }


def _installed(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "none"
