"""What a kiosk is made of. All from outside comes in here: clocks, power, PINs, the window, the panel."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Protocol
from uuid import UUID

from kiosk.app.conclusion import ReferenceTable
from kiosk.app.frame_limiter import FREE_HZ
from kiosk.app.printing import Printer, PrintJob
from kiosk.app.session import Pins, Session, StoreAccess
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery
from kiosk.pursuit.running import Picture
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Capture
from kiosk.touch.fingers import Places
from kiosk.touch.journal import Journal
from kiosk.visits.actions import Action
from kiosk.visits.course import Step
from kiosk.visits.power import Power
from kiosk.visits.staff import AtWork
from kiosk.visits.staff_archive import StaffArchive
from kiosk.wording.page_parts import PageContent
from kiosk.wording.staff_parts import Control, ReplayPath, StaffView


class Stage(Protocol):
    """What shows the screens; it answers with actions through on_action. offered: the person's languages."""

    on_action: Callable[[Action], None]
    offered: tuple[str, ...]

    @property
    def pressed(self) -> bool:
        """Whether a finger is on a button that has yet to act."""

    def show(self, step: Step, language: Language) -> None:
        """Show the screen of a step of the visit."""

    def show_staff(self, view: StaffView, language: Language) -> None:
        """Show a screen for staff."""

    def show_results(self, content: PageContent, language: Language, controls: Sequence[Control] = (),
                     trials: Sequence[ReplayPath] = ()) -> None:
        """Show the results screen; its parts stand in the order of the page."""

    def frame(self, picture: Picture, now_s: float) -> None:
        """Draw the running trial at `now_s`."""

    def fingers(self, places_mm: Places) -> None:
        """Take note of where fingers are, in mm of the panel."""

    def draw(self) -> None:
        """Draw one frame."""

    def close(self) -> None:
        """Leave the window to another stage."""


@dataclass(frozen=True)
class Dependencies:
    """The parts of a kiosk at work.

    languages: by tag. make_stage and make_capture are for a calibration: a new one needs new ones. now_local
    is aware, in the zone of the place. tables_folder holds folders of reference tables to load. window_px is
    the window's size, display its name and resolution. place is printed at the head of every page. rights is
    the leaflet's last sentence in the site's own words, by language. refresh_hz: new pictures due a second.
    """

    archive: StaffArchive
    battery: Battery
    languages: Mapping[str, Language]
    pins: Pins
    new_id: Callable[[], UUID]
    now_ns: Callable[[], int]
    now_local: Callable[[], datetime]
    zone_name: str
    power: Callable[[], Power]
    make_stage: Callable[[Calibration], Stage]
    make_capture: Callable[[], Capture]
    window_px: tuple[int, int]
    display: str
    training_table: Callable[[], ReferenceTable]
    tables_folder: Path
    pages_folder: Path
    find_printer: Callable[[], Printer]
    print_page: Callable[[bytes, str, Printer, float], PrintJob]
    device_class: str = "not named"
    px_per_mm: tuple[float, float] | None = None
    refresh_hz: float = FREE_HZ
    language: str = "en"
    place: str = ""
    paper: str = "A4"
    rights: Callable[[], Mapping[str, str]] = dict
    journal: Journal | None = None
    session: Session | None = None
    at_work: AtWork = field(default_factory=AtWork)


@dataclass(frozen=True)
class StartDependencies:
    """What there is before the store is open. make_dependencies: the parts of a kiosk at work, once it is."""

    store_access: StoreAccess
    make_dependencies: Callable[[Session], Dependencies]
    languages: Mapping[str, Language]
    language: str
    now_ns: Callable[[], int]
    now_local: Callable[[], datetime]
    power: Callable[[], Power]
    make_stage: Callable[[Calibration], Stage]
    window_px: tuple[int, int]
    find_printer: Callable[[], Printer]
    print_page: Callable[[bytes, str, Printer, float], PrintJob]
    paper: str = "A4"
