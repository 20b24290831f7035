"""A training visit on this display, kept in memory; its results stay on the screen until the program ends.

Clocks and ids are arguments.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from kiosk.glass.calibration import Calibration, nominal
from kiosk.language import Language
from kiosk.pursuit.battery import load_battery
from kiosk.room import Room, demo_table
from kiosk.screens.window import open_window
from kiosk.visits.archive import Archive
from kiosk.visits.device_record import CalibrationRecord, Device
from kiosk.visits.person import Person

TOUCH_DEVICE: Final = "mouse,disable_multitouch"
MEASURED: Final = "ruler"
NOT_MEASURED: Final = "not_calibrated"


@dataclass(frozen=True)
class Clocks:
    """Where time and ids come from: the one monotonic clock in ns, the wall clock, new ids."""

    now_ns: Callable[[], int]
    now_utc: Callable[[], datetime]
    new_id: Callable[[], UUID]

    def now_s(self) -> float:
        """The monotonic clock in seconds."""
        return self.now_ns() / 1e9


def training(
    language: Language, archive: Archive, clocks: Clocks, px_per_mm: tuple[float, float] | None
) -> Iterator[None]:
    """One frame at a time: the visit, then its results for ever.

    px_per_mm as measured with a ruler; without it trials are recorded but not fit to be scored.
    """
    from kiosk.screens.stage import Stage
    from kiosk.screens.touch_stream import TouchStream

    window = _window()
    calibration = _calibration(window, px_per_mm)
    room = _room(language, archive, clocks, calibration, MEASURED if px_per_mm else NOT_MEASURED)
    person = Person(
        id=clocks.new_id(), code="TRAINING", birth_date="1980", tool_hand="right", language=language.tag
    )
    room.furnish(person)
    visit = room.begin(person, "training")
    stage = Stage(calibration, clocks.now_s, offscreen=False, fullscreen=True, touch_device=TOUCH_DEVICE)
    capture = TouchStream(window, clocks.now_ns)
    sitting = room.sitting(visit, capture, stage, clocks.now_ns, None, px_per_mm is not None)
    window.bind(focus=lambda _, focused: None if focused else sitting.interrupt("focus_lost"))
    while not sitting.course.done:
        sitting.tick()
        stage.draw()
        sitting.flipped()
        yield
    stage.show_results(room.finish(visit, sitting.course, language).content, language)
    while True:
        stage.draw()
        yield


def _window() -> Any:
    panel = nominal("A")
    return open_window(
        panel.window_width_px, panel.window_height_px, False, fullscreen=True, touch_device=TOUCH_DEVICE
    )


def _calibration(window: Any, px_per_mm: tuple[float, float] | None) -> Calibration:
    panel = nominal("A")
    x, y = px_per_mm or (panel.px_per_mm_x, panel.px_per_mm_y)
    return Calibration(x, y, int(window.size[0]), int(window.size[1]))


def _room(
    language: Language, archive: Archive, clocks: Clocks, calibration: Calibration, method: str
) -> Room:
    device, record = display(clocks.new_id, calibration, method)
    return Room(
        battery=load_battery(),
        archive=archive,
        reference=demo_table(),
        device=device,
        calibration=calibration,
        calibration_record=record,
        language=language,
        new_id=clocks.new_id,
        now_utc=clocks.now_utc,
    )


def display(
    new_id: Callable[[], UUID], calibration: Calibration, method: str
) -> tuple[Device, CalibrationRecord]:
    """This display as a tablet whose latency is not known."""
    device = Device(
        id=new_id(),
        device_class="training",
        label="this display",
        placement="not known",
        protector="not known",
        panel_px_w=calibration.window_width_px,
        panel_px_h=calibration.window_height_px,
    )
    record = CalibrationRecord(
        id=new_id(),
        device_id=device.id,
        method=method,
        px_per_mm_x=calibration.px_per_mm_x,
        px_per_mm_y=calibration.px_per_mm_y,
        window_px_w=calibration.window_width_px,
        window_px_h=calibration.window_height_px,
    )
    return device, record
