"""The composition root: the only place that makes clocks, ids and random numbers, and puts the rooms together."""

import platform
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final
from uuid import UUID

import numpy as np

from kiosk.conclusion import Conclusion, Imprint, ReferenceTable, conclude, remake
from kiosk.demo import (
    CLINIC,
    FRAME_S,
    PANEL,
    RANGES,
    DemoStage,
    NoWindow,
    SimulatedPerson,
    VirtualClock,
    demo_person,
    simulated_device,
    sit_through,
)
from kiosk.demo_files import check_writable, write_demo
from kiosk.errors import Refused
from kiosk.glass.calibration import Calibration, nominal
from kiosk.glass.capture import Playback
from kiosk.language import Language, load_language
from kiosk.pursuit.battery import Battery, load_battery
from kiosk.settings import demo_norms_folder
from kiosk.sitting import Sitting
from kiosk.storage.engine import open_file, open_memory
from kiosk.storage.ids import IdSource
from kiosk.storage.store import Store
from kiosk.visits.course import Course, form_for
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.earlier import count_earlier, local_date
from kiosk.visits.person import Person
from kiosk.visits.visit import Purpose, Visit, VisitEnd
from norms import TableFaults, age_on, pack_folder, read_folder, read_zip

KIOSK_NAME: Final = "kiosk 01"
TOUCH_DEVICE: Final = "mouse,disable_multitouch"
IDLE_S: Final = 0.02


@dataclass(frozen=True)
class Room:
    """What one kiosk works with: the battery, the archive, the tablet, the table, and where ids and time come from."""

    battery: Battery
    archive: Store
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
            id=self.new_id(), person_id=person.id, purpose=purpose, research_use="not_asked",
            device_id=self.device.id, calibration_id=self.calibration_record.id, battery=self.battery.id,
            battery_version=self.battery.version, form=form_for(earlier), earlier_visits=earlier, input="finger",
            preferred_hand="left" if person.tool_hand == "left" else "right", hands_today="both", hands_reason="",
            placement=self.device.placement, theme="dark", latency_ms=self.device.latency_ms,
            latency_source=self.device.latency_method, language=self.language.tag, delivery="screen",
            started_at=self.now_utc(), time_zone="UTC", utc_offset_min=0,
            adaptation_status=self.language.status, software=software())
        self.archive.begin_visit(visit)
        return visit

    def finish(self, visit: Visit, course: Course, page_language: Language) -> Conclusion:
        """Keep how the visit ended and make its page."""
        self.archive.end_visit(VisitEnd(visit.id, course.how or "abandoned", self.now_utc()))
        imprint = Imprint(CLINIC, KIOSK_NAME, app_version(), self.now_utc())
        return conclude(self.archive, visit.id, self.battery, self.reference, page_language, imprint, self.new_id)


def run_demo(out: Path, *, seed: int, visits: int, language_tag: str, window: bool, store: Path | None) -> None:
    """Simulated visits of one person, 180 days apart: the last page, the findings and every trial as files."""
    check_writable(out)
    clock, language = VirtualClock(), load_language(language_tag)
    new_id = IdSource(clock.now_utc, np.random.default_rng([seed, 1]))
    device, record, calibration = simulated_device(new_id)
    room = Room(load_battery(), open_archive(store, clock.now_utc, new_id), demo_table(), device, calibration, record,
                language, new_id, clock.now_utc)
    person = demo_person(new_id)
    room.furnish(person)
    stage = demo_stage(calibration, clock) if window else NoWindow()
    simulated = SimulatedPerson(seed, age_on(person.birth_date, clock.now_utc().date()).years, calibration)
    conclusions = [demo_visit(room, person, simulated, stage, clock, number, number == visits)
                   for number in range(1, visits + 1)]
    write_demo(out, conclusions, room.archive)


def demo_visit(room: Room, person: Person, simulated: SimulatedPerson, stage: DemoStage, clock: VirtualClock,
               number: int, last: bool) -> Conclusion:
    """One simulated visit (from 1), from welcome to page."""
    clock.begin_visit(number)
    simulated.comes(number, last)
    visit = room.begin(person, "demo")
    capture = Playback(clock.now_ns, RANGES, PANEL)
    course = Course(room.battery, form=visit.form, preferred_hand=visit.preferred_hand)
    sitting = Sitting(visit, room.battery, course, room.archive, capture, room.calibration, stage, room.language,
                      room.new_id, clock.now_ns, 1 / FRAME_S)
    sit_through(sitting, stage, clock, capture, simulated)
    return room.finish(visit, course, load_language("en"))


def demo_stage(calibration: Calibration, clock: VirtualClock) -> DemoStage:
    """The real screens, drawn off-screen on the virtual clock; without a window where this machine cannot draw."""
    from kiosk.screens.window import can_draw

    if not can_draw():
        return NoWindow()
    from kiosk.screens.stage import Stage

    return Stage(calibration, clock.now_s, offscreen=True)


def run_kiosk(language: Language, px_per_mm: tuple[float, float] | None) -> int:
    """One training visit on this display, kept in memory; its results stay on the screen until the program ends.

    px_per_mm as measured with a ruler; without it trials are recorded but not fit to be scored.
    """
    from kiosk.screens.stage import Stage
    from kiosk.screens.touch_stream import TouchStream
    from kiosk.screens.window import open_window

    window = open_window(nominal("A").window_width_px, nominal("A").window_height_px, False, fullscreen=True,
                         touch_device=TOUCH_DEVICE)
    width_px, height_px = (int(length) for length in window.size)
    x, y = px_per_mm or (nominal("A").px_per_mm_x, nominal("A").px_per_mm_y)
    calibration, new_id = Calibration(x, y, width_px, height_px), _ids()
    device, record = display(new_id, calibration, "ruler" if px_per_mm else "not calibrated")
    room = Room(load_battery(), open_archive(None, _now_utc, new_id), demo_table(), device, calibration, record,
                language, new_id, _now_utc)
    person = Person(id=new_id(), code="TRAINING", birth_date="1980", tool_hand="right", language=language.tag)
    room.furnish(person)
    visit = room.begin(person, "training")
    stage = Stage(calibration, time.monotonic, offscreen=False, fullscreen=True, touch_device=TOUCH_DEVICE)
    course = Course(room.battery, form=visit.form, preferred_hand=visit.preferred_hand)
    sitting = Sitting(visit, room.battery, course, room.archive, TouchStream(window, time.monotonic_ns), calibration,
                      stage, language, new_id, time.monotonic_ns, None, calibrated=px_per_mm is not None)
    window.bind(focus=lambda _, focused: None if focused else sitting.interrupt("focus_lost"))
    while not course.done:
        sitting.tick()
        stage.draw()
        sitting.flipped()
    stage.show_results(room.finish(visit, course, language).content, language)
    while True:
        stage.draw()
        time.sleep(IDLE_S)


def display(new_id: IdSource, calibration: Calibration, method: str) -> tuple[Device, CalibrationRecord]:
    """This display as a tablet whose latency is not known."""
    device = Device(id=new_id(), device_class="training", label="this display", placement="not known",
                    protector="not known", panel_px_w=calibration.window_width_px,
                    panel_px_h=calibration.window_height_px)
    record = CalibrationRecord(
        id=new_id(), device_id=device.id, method=method, px_per_mm_x=calibration.px_per_mm_x,
        px_per_mm_y=calibration.px_per_mm_y, window_px_w=calibration.window_width_px,
        window_px_h=calibration.window_height_px)
    return device, record


def remake_report(visit: str, store: Path, out: Path | None, language: Language) -> Path:
    """The page of a visit (id or page tag) from a store, made again; where it was saved."""
    new_id = _ids()
    archive = Store(open_file(store, read_only=True), now=_now_utc, new_id=new_id, kiosk_id=KIOSK_NAME)
    found = archive.find_visit(visit)
    kept = archive.table_that_judged(found.id)
    reference = None
    if kept is not None:
        folder_zip = archive.reference_table(kept.sha256)
        reference = ReferenceTable(read_zip(folder_zip), folder_zip)
    imprint = Imprint(CLINIC, KIOSK_NAME, app_version(), _now_utc())
    pages = archive.reports_of(found.id)
    report_id = pages[-1].id if pages else new_id()
    made = remake(archive, found, load_battery(), reference, language, imprint, report_id)
    place = out or Path(f"{made.content.page_tag}.pdf")
    try:
        place.write_bytes(made.pdf)
    except OSError as fault:
        raise Refused("cannot_write", {"file": place.name, "why": fault.strerror or "no access"}) from fault
    return place


def open_archive(path: Path | None, now: Callable[[], datetime], new_id: Callable[[], UUID]) -> Store:
    """The store in a file, or in memory."""
    engine = open_memory() if path is None else open_file(path)
    return Store(engine, now=now, new_id=new_id, kiosk_id=KIOSK_NAME)


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
    return {"kiosk": app_version(), "kivy": _installed("kivy"), "numpy": np.__version__,
            "python": platform.python_version(), "os": platform.system()}


def _installed(name: str, otherwise: str = "none") -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return otherwise


def _now_utc() -> datetime:
    return datetime.now(UTC)


def _ids() -> IdSource:
    return IdSource(_now_utc, np.random.default_rng(secrets.randbits(128)))
