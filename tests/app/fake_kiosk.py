"""A kiosk at work without a window: a stage that only remembers, a clock set by hand, a simulated finger."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from kiosk.app.context import demo_table
from kiosk.app.dependencies import Dependencies
from kiosk.app.driver import KioskDriver
from kiosk.app.effects import carry_out, follow
from kiosk.app.printing import Printer
from kiosk.demo.simulated_visits import PANEL, RANGES, SimulatedPerson
from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.staff.actions import Answer, Key, StaffAction
from kiosk.staff.find import FindAction
from kiosk.staff.new_person import NewPersonAction
from kiosk.staff.observations import ObservationAction
from kiosk.staff.ready import ReadyAction, Tick
from kiosk.staff.today import TodayAction
from kiosk.storage.engine import open_memory
from kiosk.storage.ids import IdSource
from kiosk.storage.pin_file import PinInMemory
from kiosk.storage.store import Store
from kiosk.touch.calibration import PANEL_A
from kiosk.touch.capture import Playback
from kiosk.visits.actions import Action, CourseAction, ScreenAction
from kiosk.visits.power import Power
from norms import Refusal

PIN = "481516"
BEGINS = datetime(2026, 11, 25, 8, 25, tzinfo=timezone(timedelta(hours=1)))


class FakeStage:
    def __init__(self) -> None:
        self.on_action = lambda action: None
        self.steps, self.views, self.results, self.closed = [], [], [], False
        self.pressed = False
        self.places, self.offered = [], ()

    def show(self, step, language) -> None:
        self.steps.append(step)

    def show_staff(self, view, language) -> None:
        self.views.append(view)

    def show_results(self, content, language, controls=(), trials=()) -> None:
        self.results.append((content, controls, trials))

    def frame(self, picture, now_s) -> None:
        pass

    def fingers(self, places_mm) -> None:
        self.places.append(list(places_mm))

    def draw(self) -> None:
        pass

    def close(self) -> None:
        self.closed = True


class FakeJob:
    """A print job that ends as it is told, at its third look."""

    def __init__(self, outcome, pdf, tag, printer) -> None:
        self.printer, self.outcome, self.pdf, self.tag = printer, None, pdf, tag
        self._ends, self._looks = outcome, 0

    def tick(self, now_s) -> None:
        self._looks += 1
        if self._looks == 3:
            self.outcome = self._ends

    def cancel(self, now_s) -> None:
        self.outcome = Refusal("print_cancelled")


class FakeKiosk:
    """Everything a clinic needs, and hands to drive it."""

    def __init__(self, folder: Path, *, archive=None, pin: str = PIN, calibrated: bool = True,
                 begins: datetime = BEGINS, device_class: str = "T10") -> None:
        self.t_ns, self.begins = 0, begins
        self.power, self.print_outcome, self.jobs = Power(84.0, False), "printed", []
        self.new_id = IdSource(self.now_local, np.random.default_rng(int(begins.timestamp())))
        self.store = archive or Store(open_memory(), now=self.now_local, new_id=self.new_id, kiosk_id="04")
        self.capture = Playback(self.now_ns, RANGES, PANEL)
        self.stages = []
        self.person = SimulatedPerson(3, 72.0, PANEL_A)
        self.deps = Dependencies(
            archive=self.store, battery=load_battery(), languages={"en": load_language("en")},
            pins=PinInMemory(pin), new_id=self.new_id, now_ns=self.now_ns, now_local=self.now_local,
            zone_name="Europe/Berlin", power=lambda: self.power, make_stage=self._stage,
            make_capture=lambda: self.capture, window_px=(1280, 800), display="1280x800",
            training_table=demo_table, tables_folder=folder / "tables", pages_folder=folder / "pages",
            find_printer=lambda: Printer("desk", "Room 4"), print_page=self._print,
            device_class=device_class, px_per_mm=(5.88, 5.88) if calibrated else None, refresh_hz=20.0)
        self.driver = KioskDriver(self.deps, carry_out, follow)

    @property
    def screen(self) -> str:
        return self.driver.state.screen.name

    @property
    def stage(self) -> FakeStage:
        return self.stages[-1]

    @property
    def view(self):
        return self.stage.views[-1]

    def now_ns(self) -> int:
        return self.t_ns

    def now_local(self) -> datetime:
        return self.begins + timedelta(microseconds=self.t_ns / 1000)

    def frame(self, times: int = 1, by_s: float = 0.05) -> None:
        for _ in range(times):
            self.t_ns += round(by_s * 1e9)
            self.driver.frame()

    def do(self, *actions: Action) -> None:
        for action in actions:
            self.stage.on_action(action)
            self.frame(3)

    def type(self, text: str) -> None:
        for character in text:
            self.stage.on_action(Key(character))
        self.do(StaffAction.NEXT)

    def unlock(self) -> None:
        self.do(ScreenAction.STAFF)
        self.type(PIN)

    def _stage(self, calibration) -> FakeStage:
        self.stages.append(FakeStage())
        return self.stages[-1]

    def _print(self, pdf, tag, printer, now_s) -> FakeJob:
        self.jobs.append(FakeJob(self.print_outcome, pdf, tag, printer))
        return self.jobs[-1]


ANSWERS = {
    "welcome": CourseAction.BEGIN, "finger_check": CourseAction.FINGER_FELT,
    "demonstration": CourseAction.SHOWN, "instruction": CourseAction.READY, "rest": CourseAction.READY,
    "change_hand": CourseAction.READY, "new_path": CourseAction.READY, "stop_menu": CourseAction.END,
    "stopped": CourseAction.SHOWN, "not_understood_once": CourseAction.READY,
}


def sit_through(kiosk: FakeKiosk, *, until_position: int | None = None, press_stop: bool = False) -> None:
    """The person's part to the thanks, or until the trial of a position is on the screen."""
    lifted_ns = 0
    while kiosk.driver.runner is not None and kiosk.screen == "person":
        runner = kiosk.driver.runner
        step = runner.step
        if step.screen == "thanks":
            kiosk.frame()
            return
        if step.screen == "trial":
            if runner.course.position == until_position:
                if press_stop:
                    kiosk.do(CourseAction.STOP)
                    press_stop = False
                    continue
                return
            if runner.waiting_for_finger and kiosk.t_ns > lifted_ns:
                touches = kiosk.person.touches(step.plan, kiosk.t_ns + 100_000_000)
                kiosk.capture.load(touches)
                lifted_ns = touches[-1].t_ns
            kiosk.frame()
        else:
            kiosk.stage.on_action(ANSWERS[step.screen])
            kiosk.frame()


def intake(kiosk: FakeKiosk, **answers: str) -> None:
    """Every subject answered, as given or with the first answer offered."""
    while kiosk.screen == "intake":
        options = kiosk.view.rows[0].options
        subject, first = options[0].action.subject, options[0].action.value
        value = answers.get(subject, first)
        kiosk.do(Answer(subject, value), StaffAction.NEXT)


def hand_over(kiosk: FakeKiosk) -> None:
    kiosk.do(*(Tick(tick) for tick in ("person", "hands", "glass", "seated", "power")))
    kiosk.do(ReadyAction.HAND_OVER, ScreenAction.TOUCHED)


def new_person(kiosk: FakeKiosk, birth: str = "195405") -> None:
    kiosk.do(TodayAction.NEW, NewPersonAction.MAKE_CODE, StaffAction.NEXT)
    for digit in birth:
        kiosk.do(Key(digit))
    kiosk.do(StaffAction.NEXT if birth else NewPersonAction.NOT_KNOWN)
    if kiosk.screen == "look_alike":
        kiosk.do(FindAction.THIS_PERSON)


def whole_visit(kiosk: FakeKiosk, **answers: str) -> None:
    """From intake to the results, nothing noted."""
    intake(kiosk, **answers)
    hand_over(kiosk)
    kiosk.person.comes(1, False)
    sit_through(kiosk)
    kiosk.unlock()
    kiosk.do(ObservationAction.NOTHING)
    kiosk.frame(3)
