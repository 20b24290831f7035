"""The real kiosk put together on this display: window, touch source, archive, and the frame loop.

The loop ends when the process that started it has gone; nothing on the screen ends it.
"""

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from kiosk.app.app_session import AppSession
from kiosk.app.context import demo_table
from kiosk.app.dependencies import Dependencies, Stage, StartDependencies
from kiosk.app.driver import KioskDriver
from kiosk.app.effects import carry_out, follow
from kiosk.app.frame_limiter import FREE_HZ, FrameLimiter
from kiosk.app.machine_facts import read_power, zone_name
from kiosk.app.printing import PrintJob, default_printer
from kiosk.app.session import Pins, Session, StoreAccess
from kiosk.base.errors import Refused
from kiosk.base.settings import data_folder, locales_folder
from kiosk.i18n.language import Language, available, load_language
from kiosk.pursuit.battery import load_battery
from kiosk.screens.sounds import Sounds
from kiosk.screens.window import MOUSE, open_window, refresh_waited_for
from kiosk.touch.calibration import Calibration, full_window, nominal
from kiosk.touch.capture import Capture
from kiosk.touch.input_device import (
    FOLDER,
    OpenDevice,
    TouchDevice,
    find_touch_device,
    open_device,
    open_pipe,
    pipe_device,
    touch_devices,
)
from kiosk.touch.touch_reader import TouchReader
from kiosk.visits.staff import AtWork
from kiosk.visits.staff_archive import StaffArchive


class Languages(Mapping[str, Language]):
    """The languages of a kiosk, by tag in the order given; each is read when it is first asked for."""

    def __init__(self, tags: Sequence[str], load: Callable[[str], Language] = load_language) -> None:
        self._tags, self._load = tuple(tags), load
        self._known: dict[str, Language] = {}

    def __getitem__(self, tag: str) -> Language:
        if tag not in self._tags:
            raise KeyError(tag)
        if tag not in self._known:
            self._known[tag] = self._load(tag)
        return self._known[tag]

    def __iter__(self) -> Iterator[str]:
        return iter(self._tags)

    def __len__(self) -> int:
        return len(self._tags)


@dataclass(frozen=True)
class Wanted:
    """What was asked for. touch: a device's name or path, empty = the toolkit's touches.

    touch_ranges: touch is a named pipe, and these are its values at the left, right, bottom and top edge.
    """

    touch: str = ""
    px_per_mm: tuple[float, float] | None = None
    device_class: str = "not named"
    pages: Path | None = None
    tables: Path | None = None
    language: str = "en"
    touch_ranges: tuple[float, float, float, float] | None = None
    place: str = ""
    tones: bool = False
    paper: str = "A4"


@dataclass(frozen=True)
class Behind:
    """What keeps the data: a store that is signed in to, or an archive in memory with its PIN."""

    store_access: StoreAccess | None = None
    archive: StaffArchive | None = None
    pins: Pins | None = None


def frames(wanted: Wanted, behind: Behind, now_ns: Callable[[], int], now_utc: Callable[[], datetime],
           new_id: Callable[[], UUID]) -> Iterator[float]:
    """One picture at a time, and the rest after it in seconds, while the process that started this lives."""
    window = _window()
    waited_hz = refresh_waited_for(window, now_ns)
    limiter = FrameLimiter(waited_hz)
    size = (int(window.size[0]), int(window.size[1]))
    zone = zone_name()
    now_local = partial(_local, now_utc, zone)
    languages = Languages(available())
    print_page = partial(PrintJob, paper=wanted.paper)
    make_stage = partial(_stage, now_ns, Sounds(locales_folder(), tones=wanted.tones))

    def make_dependencies(session: Session | None) -> Dependencies:
        archive, pins = (session.archive, session.pins) if session else (behind.archive, behind.pins)
        if archive is None or pins is None:
            raise Refused("store_locked")
        return Dependencies(
            archive=archive, battery=load_battery(), languages=languages, pins=pins, new_id=new_id,
            now_ns=now_ns, now_local=now_local, zone_name=zone, power=read_power,
            make_stage=make_stage, make_capture=make_capture, window_px=size,
            display=f"{size[0]}x{size[1]}", training_table=demo_table,
            tables_folder=wanted.tables or data_folder() / "tables",
            pages_folder=wanted.pages or data_folder() / "pages", find_printer=default_printer,
            print_page=print_page, paper=wanted.paper, device_class=wanted.device_class,
            px_per_mm=wanted.px_per_mm,
            language=wanted.language, place=wanted.place or (session.place if session else ""),
            journal=session.journal if session else None, session=session,
            refresh_hz=FREE_HZ if waited_hz is None else waited_hz,
            at_work=session.at_work if session else AtWork(), rights=session.rights if session else dict)

    make_capture = _capture_source(wanted, window, size, now_ns)
    at_work: KioskDriver | AppSession
    if behind.store_access is None:
        at_work = KioskDriver(make_dependencies(None), carry_out, follow)
    else:
        at_work = AppSession(StartDependencies(
            behind.store_access, make_dependencies, languages, wanted.language, now_ns, now_local,
            read_power, make_stage, size, default_printer, print_page, wanted.paper))
    window.bind(focus=lambda _, focused: None if focused else at_work.interrupt("focus_lost"))
    parent = os.getppid()
    while os.getppid() == parent:
        began_ns = now_ns()
        at_work.frame()
        yield limiter.rest_s(began_ns, now_ns())


def _local(now_utc: Callable[[], datetime], zone: str) -> datetime:
    return now_utc().astimezone(ZoneInfo(zone))


def _window() -> Any:
    panel = nominal("A")
    return open_window(panel.window_width_px, panel.window_height_px, False, fullscreen=True,
                       touch_device=MOUSE, any_size=True)


def _stage(now_ns: Callable[[], int], sounds: Sounds, calibration: Calibration) -> Stage:
    from kiosk.screens.stage import Stage as Screens

    return Screens(calibration, lambda: now_ns() / 1e9, offscreen=False, fullscreen=True, touch_device=MOUSE,
                   sounds=sounds)


def _capture_source(wanted: Wanted, window: Any, size: tuple[int, int],
                    now_ns: Callable[[], int]) -> Callable[[], Capture]:
    """The kernel's own reports where a device was named, else the toolkit's touches."""
    if not wanted.touch:
        from kiosk.screens.input import TouchStream

        stream = TouchStream(window, now_ns)
        return lambda: stream
    panel = Calibration(1.0, 1.0, *size)
    reader = TouchReader(_opener(wanted), full_window(panel))
    if wanted.touch_ranges is not None:
        reader.source = "pipe"
    return lambda: reader


def _opener(wanted: Wanted) -> Callable[[], OpenDevice]:
    """What opens the panel named, or the pipe whose ranges were given."""
    if wanted.touch_ranges is not None:
        return partial(open_pipe, pipe_device(Path(wanted.touch), wanted.touch_ranges))
    _named(wanted.touch)  # a panel that is not there at the start is told at once
    return lambda: open_device(_named(wanted.touch))  # plugged in again it may stand under another path


def _named(touch: str) -> TouchDevice:
    """A device by its path or its name."""
    if "/" not in touch:
        return find_touch_device(touch)
    folder = Path(touch).parent
    found = [one for one in touch_devices(folder) if Path(one.path) == Path(touch)]
    if not found:
        known = tuple(one.path for one in touch_devices(FOLDER)) if FOLDER.is_dir() else ()
        raise Refused("touch_device_missing", {"name": touch, "known": known})
    return found[0]
