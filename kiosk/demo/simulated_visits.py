"""Simulated visits from first touch to printed page: the demo.

The simulated person's finger moves through the same capture, running trial, course, screens and archive as
any finger; only the clock is virtual. Trials are drawn every 50 ms of virtual time, waits are skipped. Coded
person, invented clinic.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol
from uuid import UUID

import numpy as np

from kiosk.app.visit_runner import Stage, VisitRunner
from kiosk.base.errors import KioskError
from kiosk.pursuit.samples import AxisRanges, Samples, WindowRect
from kiosk.pursuit.simulated_hand import day_to_day, later, move, typical_hand
from kiosk.pursuit.trial import TrialPlan
from kiosk.touch.calibration import Calibration, nominal
from kiosk.touch.capture import Playback, Touch
from kiosk.visits.actions import Action, CourseAction
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.person import Person

BEGINS: Final = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)
DAYS_BETWEEN: Final = 180
FRAME_S: Final = 0.05
TRIAL_FRAMES_A_PICTURE: Final = 10
TOUCH_HZ: Final = 120.0
REACHES_FOR_DISC_S: Final = 0.7
PRESS_S: Final = 1.0
ROUGHER: Final = 1.6
SLOWER_S: Final = 0.045
PANEL: Final = WindowRect(0, 0, 1280, 800, 1280, 800)
RANGES: Final = AxisRanges(left=0.0, right=16383.0, bottom=10239.0, top=0.0)
ANSWERS: Final[Mapping[str, tuple[float, CourseAction]]] = {
    "welcome": (4.0, CourseAction.BEGIN),
    "finger_check": (2.0, CourseAction.FINGER_FELT),
    "demonstration": (14.0, CourseAction.SHOWN),
    "instruction": (8.0, CourseAction.READY),
    "rest": (14.0, CourseAction.READY),
    "change_hand": (14.0, CourseAction.READY),
    "new_path": (14.0, CourseAction.READY),
    "not_understood_once": (6.0, CourseAction.READY),
    "not_understood": (20.0, CourseAction.GO_ON_MARKED),
}


class DemoStage(Stage, Protocol):
    """A stage that the demo can draw and touch."""

    def draw(self) -> None:
        """Draw exactly one frame."""

    def press(self, action: Action, pass_time: Callable[[float], None]) -> None:
        """Touch the control of this action on the glass, as long as it must be held."""


class NoWindow:
    """A stage for machines without a window: it shows nothing and answers presses at once."""

    def __init__(self) -> None:
        self.on_action: Callable[[Action], None] = _nobody_listens

    def show(self, step: object, language: object) -> None:
        """No screen is shown."""

    def frame(self, picture: object, now_s: float) -> None:
        """No picture is moved."""

    def fingers(self, places_mm: object) -> None:
        """Fingers are not shown."""

    def draw(self) -> None:
        """Nothing is drawn."""

    def press(self, action: Action, pass_time: Callable[[float], None]) -> None:
        """The press reaches the driver directly."""
        self.on_action(action)


def _nobody_listens(action: Action) -> None:
    raise ValueError(f"action: someone must listen, got {action!r}")


class DidNotAnswer(KioskError):
    """A screen of the demo did not answer a touch on its control."""


class VirtualClock:
    """Time that passes only when told to: monotonic nanoseconds, and the day of the visit."""

    def __init__(self) -> None:
        self.ns, self._began_ns, self._began = 1_000_000_000, 1_000_000_000, BEGINS

    def now_ns(self) -> int:
        """Monotonic time in nanoseconds."""
        return self.ns

    def now_s(self) -> float:
        """Monotonic time in seconds."""
        return self.ns / 1e9

    def now_utc(self) -> datetime:
        """Wall-clock time of the running visit."""
        return self._began + timedelta(microseconds=(self.ns - self._began_ns) // 1000)

    def begin_visit(self, number: int) -> None:
        """The day of a visit, from 1."""
        self._began_ns, self._began = self.ns, BEGINS + timedelta(days=DAYS_BETWEEN * (number - 1))

    def pass_s(self, seconds: float) -> None:
        """Move the clock on by this many seconds."""
        self.ns += round(seconds * 1e9)


def demo_person(new_id: Callable[[], UUID]) -> Person:
    return Person(id=new_id(), code="K-0412-7", birth_date="1954-05", tool_hand="right", language="en")


def simulated_device(new_id: Callable[[], UUID]) -> tuple[Device, CalibrationRecord, Calibration]:
    """A simulated 10.1-inch tablet that adds no latency."""
    calibration = nominal("A")
    device = Device(id=new_id(), device_class="simulated", label="simulated tablet", placement="flat",
                    protector="no", panel_px_w=PANEL.panel_width_px, panel_px_h=PANEL.panel_height_px,
                    input_fuzz=0.0, latency_ms=0.0, latency_sd_ms=0.0, latency_method="simulated")
    record = CalibrationRecord(id=new_id(), device_id=device.id, method="simulated",
                               px_per_mm_x=calibration.px_per_mm_x, px_per_mm_y=calibration.px_per_mm_y,
                               window_px_w=PANEL.width_px, window_px_h=PANEL.height_px)
    return device, record, calibration


class SimulatedPerson:
    """A hand with good and poorer days, that touches the disc and the buttons."""

    def __init__(self, seed: int, age_years: float, calibration: Calibration) -> None:
        self._rng = np.random.default_rng([seed, 0])
        self._hand = typical_hand(age_years, self._rng)
        self._calibration = calibration
        self._trial = 0

    def comes(self, visit: int, last: bool) -> None:
        """The hand of this visit (from 1): practice, the day; on the last of several slower and rougher."""
        usual = later(self._hand, visit - 1)
        self._today = day_to_day(usual, self._rng)
        if last and visit > 1:
            self._today = replace(self._today, noise_mm=ROUGHER * self._today.noise_mm,
                                  noise_s=ROUGHER * self._today.noise_s,
                                  delay_s=self._today.delay_s + SLOWER_S)
        self._trial = 0

    def touches(self, plan: TrialPlan, from_ns: int) -> list[Touch]:
        """Touches of one trial, the finger reaching the disc at from_ns."""
        samples = move(self._today, plan, self._rng, rate_hz=TOUCH_HZ, trial_index=self._trial)
        self._trial += 1
        return as_touches(samples, self._calibration, from_ns)


def as_touches(samples: Samples, calibration: Calibration, from_ns: int) -> list[Touch]:
    """Samples in mm as a digitiser of whole steps would give them, the first at from_ns."""
    x_raw, y_raw = calibration.to_raw(samples.x_mm, samples.y_mm, RANGES, PANEL)
    t_ns = from_ns + np.round((samples.t_s - samples.t_s[0]) * 1e9).astype(np.int64)
    return [
        Touch(int(t), float(x), float(y), bool(c))
        for t, x, y, c in zip(t_ns, np.round(x_raw), np.round(y_raw), samples.contact, strict=True)
    ]


def sit_through(
    runner: VisitRunner, stage: DemoStage, clock: VirtualClock, capture: Playback, person: SimulatedPerson
) -> None:
    """One whole visit, from welcome to thanks."""
    while not runner.course.done:
        _one_frame(runner, stage)
        if runner.waiting_for_finger:
            _follow(runner, stage, clock, capture, person)
        else:
            _answer(runner, stage, clock)
    _one_frame(runner, stage)


def _follow(
    runner: VisitRunner, stage: DemoStage, clock: VirtualClock, capture: Playback, person: SimulatedPerson
) -> None:
    """Follow the disc to the end of the trial; touch it again where a long lift made it wait.

    Of its frames every tenth is drawn, and all that tell of trouble: what is recorded does not depend on it,
    and drawing takes longest.
    """
    trial, lifted_ns, frames = runner.step, 0, 0
    while runner.step == trial and trial.plan is not None:
        if runner.waiting_for_finger and clock.ns > lifted_ns:
            touches = person.touches(trial.plan, clock.ns + round(REACHES_FOR_DISC_S * 1e9))
            capture.load(touches)
            lifted_ns = touches[-1].t_ns
        clock.pass_s(FRAME_S)
        runner.tick()
        if (frames := frames + 1) % TRIAL_FRAMES_A_PICTURE == 0 or runner.trouble is not None:
            stage.draw()
        runner.flipped()


def _answer(runner: VisitRunner, stage: DemoStage, clock: VirtualClock) -> None:
    """Wait, then press; both take the same time with and without a window, however long a control is held."""
    step = runner.step
    wait_s, action = ANSWERS[step.screen]
    ends_ns = clock.ns + round((wait_s + PRESS_S) * 1e9)
    clock.pass_s(wait_s)
    _one_frame(runner, stage)
    if runner.step == step:
        stage.press(action, clock.pass_s)
    if runner.step == step:
        raise DidNotAnswer("screen_did_not_answer", {"screen": step.screen, "action": action.value})
    clock.ns = ends_ns


def _one_frame(runner: VisitRunner, stage: DemoStage) -> None:
    runner.tick()
    stage.draw()
    runner.flipped()
