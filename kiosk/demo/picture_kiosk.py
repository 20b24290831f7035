"""A kiosk in memory, without a window, on a clock of its own, that keeps what its screens show.

For pictures and for tests of every screen: what is shown now is looked at in every language asked for. Nobody
in it is real. Seconds; local time is that of the invented clinic.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import copytree
from typing import Any, Final, Literal, Protocol

import numpy as np

from kiosk import __version__
from kiosk.app.conclusion import Imprint, ReferenceTable, remake
from kiosk.app.context import CLINIC, KIOSK_NAME, demo_table
from kiosk.app.dependencies import Dependencies
from kiosk.app.driver import KioskDriver
from kiosk.app.effects import carry_out, follow
from kiosk.app.printing import Printer
from kiosk.app.store_opening import Machine, memory_store
from kiosk.base.errors import Refused
from kiosk.base.settings import demo_norms_folder
from kiosk.demo.simulated_visits import ANSWERS, FRAME_S, PANEL, RANGES, SimulatedPerson, simulated_device
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import load_battery
from kiosk.staff import tables
from kiosk.staff.actions import Key, StaffAction
from kiosk.staff.concluded import Concluded
from kiosk.staff.ready import Ready
from kiosk.staff.today import TodayAction
from kiosk.storage.ids import IdSource
from kiosk.storage.pin_file import PinInMemory
from kiosk.touch.capture import Playback
from kiosk.visits.actions import Action
from kiosk.visits.earlier import local_date
from kiosk.visits.power import Power
from kiosk.wording.page_parts import PageContent
from kiosk.wording.staff_parts import Control, ReplayPath, StaffView
from norms import Refusal

BEGINS: Final = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)
PIN: Final = "481516"
FULL, LOW, EMPTY = Power(84.0, False), Power(20.0, False), Power(5.0, False)
REACHES_S: Final = 0.7


class Screens(Protocol):
    """A stage that shows the staff's screens."""

    def show_staff(self, view: StaffView, language: Language) -> None:
        """Show a screen for staff."""

    def show_results(self, content: PageContent, language: Language, controls: Sequence[Control] = (),
                     trials: Sequence[ReplayPath] = ()) -> None:
        """Show the results screen."""


@dataclass(frozen=True, eq=False)
class Shot:
    """One screen in one language: a view, or the results' content, controls and trials."""

    name: str
    screen: str
    language: Language
    view: StaffView | None = None
    results: tuple[PageContent, Sequence[Control], Sequence[ReplayPath]] | None = None

    def put(self, stage: Screens) -> None:
        if self.view is not None:
            stage.show_staff(self.view, self.language)
        elif self.results is not None:
            content, controls, trials = self.results
            stage.show_results(content, self.language, controls, trials)


class Remembering:
    """A stage that remembers the staff's screen shown last."""

    pressed = False

    def __init__(self) -> None:
        self.offered: tuple[str, ...] = ()
        self.on_action: Callable[[Action], None] = lambda action: None
        self.view: StaffView | None = None
        self.results: tuple[PageContent, Sequence[Control], Sequence[ReplayPath]] | None = None

    def show_staff(self, view: StaffView, language: Language) -> None:
        self.view, self.results = view, None

    def show_results(self, content: PageContent, language: Language, controls: Sequence[Control] = (),
                     trials: Sequence[ReplayPath] = ()) -> None:
        self.view, self.results = None, (content, controls, trials)

    def show(self, step: object, language: object) -> None:
        """Screens for the person are not recorded."""

    def frame(self, picture: object, now_s: float) -> None:
        """Run this many frames."""

    def fingers(self, places_mm: object) -> None:
        """Fingers are not shown."""

    def draw(self) -> None:
        """Nothing is drawn."""

    def close(self) -> None:
        """There is no window to close."""


class Job:
    """A print job that ends with the given outcome when it is looked at for the third time."""

    def __init__(self, end: Refusal | Literal["printed"], printer: Printer) -> None:
        self.printer = printer
        self.outcome: Refusal | Literal["printed"] | None = None
        self._end, self._looks = end, 0

    def tick(self, now_s: float) -> None:
        """Look at the job once; it ends at the third look."""
        self._looks += 1
        if self._looks == 3:
            self.outcome = self._end

    def cancel(self, now_s: float) -> None:
        """End the job as cancelled."""
        self.outcome = Refusal("print_cancelled")


class PictureKiosk:
    """The kiosk and hands to use it. shots: what was looked at so far."""

    def __init__(self, languages: Sequence[Language], folder: Path) -> None:
        self.languages, self.folder, self.shots = tuple(languages), folder, list[Shot]()
        self.ns, self.power = 1_000_000_000, FULL
        self.print_ends: Refusal | Literal["printed"] = "printed"
        self.new_id = IdSource(self.now, np.random.default_rng(BEGINS.year))
        self.archive = memory_store(Machine(self.now, self.new_id, bytes))
        self.pins, self.capture = PinInMemory(), Playback(lambda: self.ns, RANGES, PANEL)
        self.person = SimulatedPerson(1, 71.0, simulated_device(self.new_id)[2])
        self._in_language: dict[tuple[object, ...], Concluded] = {}
        self.table: ReferenceTable | None = None
        self.start()

    def start(self, *, calibrated: bool = True, days: int = 0) -> None:
        """Switch it on; days: how far its clock has been set on or back meanwhile."""
        self.ns += days * 86_400 * 10**9
        self.stage = Remembering()
        deps: Any = Dependencies(
            archive=self.archive, battery=load_battery(), pins=self.pins, new_id=self.new_id,
            languages={one.tag: one for one in self.languages}, now_ns=lambda: self.ns, now_local=self.now,
            zone_name="UTC", power=lambda: self.power, make_stage=lambda _: self.stage,
            make_capture=lambda: self.capture, window_px=(PANEL.width_px, PANEL.height_px),
            display="simulated", training_table=demo_table, tables_folder=self.folder / "tables",
            pages_folder=self.folder, find_printer=lambda: Printer("desk", "Room 4"),
            print_page=lambda pdf, tag, printer, now_s: Job(self.print_ends, printer),  # type: ignore[arg-type, return-value]
            device_class="simulated", px_per_mm=(5.88, 5.88) if calibrated else None,
            language=self.languages[0].tag, place=CLINIC, refresh_hz=1 / FRAME_S)
        self.driver = KioskDriver(deps, carry_out, follow)
        self.driver.table = self.table
        self.frame()

    def now(self) -> datetime:
        """The time of its clock."""
        return BEGINS + timedelta(microseconds=self.ns // 1000)

    @property
    def screen(self) -> str:
        """The name of the screen for staff that is shown."""
        return self.driver.state.screen.name

    def frame(self, times: int = 1, by_s: float = FRAME_S) -> None:
        """Run this many frames."""
        for _ in range(times):
            self.ns += round(by_s * 1e9)
            self.driver.frame()

    def do(self, *actions: Action) -> None:
        """Report these actions one after another."""
        for action in actions:
            self.driver.act(action)
            self.frame(3)

    def type(self, text: str) -> None:
        """Type a text key by key, then press Next."""
        for key in text:
            self.driver.act(Key(key))
        self.do(StaffAction.NEXT)

    def expect(self, screen: str) -> None:
        """It has come to this screen, or the kiosk is no longer what this is made for."""
        if self.screen != screen:
            raise ValueError(f"screen must be {screen!r} by now, got {self.screen!r}")

    def look(self, screen: str, name: str = "") -> None:
        """Keep what this screen shows, in every language."""
        self.expect(screen)
        known = self.driver.context
        for language in self.languages:
            concluded = known.concluded and self._worded(known.concluded, language)
            self._speak(language.tag, concluded)
            self.driver.draw_anew()
            self.frame()
            self.shots.append(Shot(name or screen, screen, language, self.stage.view, self.stage.results))
        self._speak(known.language, known.concluded)

    def _speak(self, tag: str, concluded: Concluded | None) -> None:
        self.driver.know(replace(self.driver.context, language=tag, concluded=concluded))

    def load_table(self) -> None:
        """Take the simulated table that ships with the kiosk into use."""
        folder = demo_norms_folder()
        copytree(folder, self.folder / "tables" / folder.name)
        self.do(TodayAction.SITE, tables.TILE)
        self.look("tables")
        self.do(tables.PickTable(folder.name), StaffAction.BACK, StaffAction.BACK)
        self.table = self.driver.table

    def make_it_a_demo(self) -> None:
        """The visit about to begin is one of the demo, so that the simulated table may judge it."""
        ready = self.driver.state.screen
        if isinstance(ready, Ready):
            demo = replace(ready, answers={**ready.answers, "purpose": "demo"})
            self.driver.state = replace(self.driver.state, screen=demo)

    def sit(self, until: str = "thanks") -> None:
        """The person's part up to a screen of it, or until the staff's part comes in between."""
        lifted_ns = 0
        while self.screen == "person" and (runner := self.driver.runner) is not None:
            step = runner.step
            if step.screen == until:
                self.frame()
                return
            if step.screen != "trial":
                self.driver.act(ANSWERS[step.screen][1])
            elif runner.waiting_for_finger and self.ns > lifted_ns and step.plan is not None:
                touches = self.person.touches(step.plan, self.ns + round(REACHES_S * 1e9))
                self.capture.load(touches)
                lifted_ns = touches[-1].t_ns
            self.frame()

    def _worded(self, concluded: Concluded, language: Language) -> Concluded:
        """A concluded visit in another language."""
        if (visit := self.driver.visit) is None:
            raise Refused("unknown_visit", {"visit": ""})
        key = (visit.id, concluded.tag, concluded.content.sign_off.state, language.tag)
        if key not in self._in_language:
            imprint = Imprint(CLINIC, KIOSK_NAME, __version__, self.now())
            made = remake(self.archive, visit, language, imprint, self.new_id)
            first, *_ = self.archive.visits_of(visit.person_id)
            dates = (language.date(local_date(first)), language.date(local_date(visit)))
            self._in_language[key] = replace(concluded, content=made.content, visit_dates=dates, pdf=made.pdf)
        return self._in_language[key]
