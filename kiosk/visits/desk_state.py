"""The staff's part: what the desk knows, on which screen it is, and what it asks of the kiosk.

`kiosk.visits.desk.act(state, action, at)` answers an action with the next state and wishes: short words for
what only the kiosk can do (look up, keep, print). The kiosk fulfils them and tells the desk through the
functions named below; the desk itself knows no clock, no storage, no window. Moments are aware, in local time.

    screen           view           actions beside "lock" and "touched"                       wishes
    first_pin        PadView        key N, erase, next                                        -
    first_pin_again  PadView        key N, erase, next, back                                  keep_pin
    locked           NoticeView     staff                                                     -
    unlock           PadView        key N, erase, next, back                                  check_pin
    today            ListView       open VISIT, scan CODE, find, new, site, more              today, find, open
    find             PadView        key C, erase, next, scan CODE, back                       find
    found            ListView       person ID, more, back                                     choose
    look_alike       ListView       this_person, someone_else                                 choose
    new_code         PadView        key C, erase, give_code, scan CODE, next, back            new_code, find
    new_second       PadView        key C, erase, next, back                                  -
    new_birth        PadView        key N, erase, next, not_known, back                       add_person
    left_open        NoticeView     resume, close_visit, back                                 resume, close
    intake           ChoiceView     set SUBJECT VALUE, same, next, back                       -
    ready            TickView       tick NAME, hand_over (held), back                         hand_over
    power_low        NoticeView     back                                                      -
    clock_back       NoticeView     staff                                                     -
    hand_over        NoticeView     touched, staff                                            begin
    person           (sitting)      staff, paused                                             -
    staff_choices    ChoiceView     go_on, end, retry, go_on_marked                           sitting ACTION
    paused           NoticeView     resume (once power is there), close_visit                 resume, close
    concluding       NoticeView     -                                                         conclude
    observations     ObservationView  trial ID, trial visit, note CODE, set pain_after V,
                                    set hands_as_asked V, nothing, next                       keep_observations
    results          (page content) why ID, replay, compare, next, today                      -
    why              TextView       back                                                      -
    replay           ReplayView     play, back                                                replay
    compare          ListView       compare VISIT, back                                       compare
    page             PageView       print, save, copy, sign, amend, results, later            print, save
    copy             TextView       back                                                      -
    printing         NoticeView     cancel_print                                              cancel_print
    printed          NoticeView     next, print                                               -
    not_printed      NoticeView     print, save, later                                        print, save
    saved            NoticeView     next                                                      -
    signer           PadView        key C, erase, next, back                                  -
    sign_off         TextView       set role ROLE, sign (held), back                          sign
    amend            ChoiceView     set what W, set why W, next, back                         amend
    site             ListView       site tablet|tables|languages, back                        -
    tablet           ListView       tablet card|crosses|check|latency, back                   -
    card             CardView       wider N, narrower N, next, back                           keep_calibration
    crosses          CrossView      cross X Y, back                                           -
    device_check     FigureView     start_check, next, back                                   begin_check
    latency          PadView        key N, erase, next, done, back                            -
    figures          FigureView     next, back                                                keep_FIGURES
    tables           ListView       table NAME, back                                          tables, load_table
    languages        ChoiceView     set language TAG, back                                    language
    refused          NoticeView     back                                                      -
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from uuid import UUID

from kiosk.glass.card_calibration import CardReading, Measured
from kiosk.glass.cross_check import CrossCheck
from kiosk.glass.device_check import DeviceCheck
from kiosk.glass.latency import DeviceLatency
from kiosk.scoring.trial_scores import Reason
from kiosk.visits.person import Person

DeskScreen = Literal[
    "first_pin", "first_pin_again", "locked", "unlock", "today", "find", "found", "look_alike", "new_code",
    "new_second", "new_birth", "left_open", "intake", "ready", "power_low", "clock_back", "hand_over", "person",
    "staff_choices", "paused", "concluding", "observations", "results", "why", "replay", "compare", "page",
    "copy", "printing", "printed", "not_printed", "saved", "signer", "sign_off", "amend", "site", "tablet",
    "card", "crosses", "device_check", "latency", "figures", "tables", "languages", "refused",
]
VisitState = Literal["ready", "in_progress", "not_concluded", "not_printed", "not_reviewed", "reviewed", "void"]
Wishes = tuple[str, ...]
PAGE_ROWS = 5


@dataclass(frozen=True)
class Power:
    """The battery: percent 0 to 100 and whether it charges; None = this machine has none or does not say."""

    percent: float | None = None
    charging: bool | None = None


@dataclass(frozen=True)
class TodayRow:
    """One person of today: their latest visit today and how far it is."""

    visit_id: UUID
    code: str
    birth_date: str
    state: VisitState


@dataclass(frozen=True)
class Tile:
    """One trial that staff may note something about."""

    trial_id: UUID
    block: str
    number: int
    attempt: int


@dataclass(frozen=True)
class EarlierRow:
    """An earlier visit that may be compared with, and whether it is the one compared now."""

    visit_id: UUID
    number: int
    started_at: datetime
    chosen: bool
    comparable: bool = True


@dataclass(frozen=True)
class TableRow:
    """A reference table: in use, or a folder that may be loaded."""

    name: str
    version: str
    title: str
    status: str
    tested: str
    in_use: bool = False
    folder: str = ""


@dataclass(frozen=True)
class Draft:
    """A person being added."""

    code: str = ""
    second_identifier: str = ""
    birth_date: str = ""


@dataclass(frozen=True)
class Notes:
    """Observations being made: (trial or None for the visit, code); pain and hands after the trials."""

    chosen: UUID | None = None
    seen: frozenset[tuple[UUID | None, str]] = frozenset()
    pain_after: str = "not_asked"
    hands_as_asked: str = "yes"


@dataclass(frozen=True)
class PageFacts:
    """The page as it is: its tag, when it was signed and by whom, where it was printed or saved."""

    tag: str
    reviewed: bool = False
    printer: str = ""
    saved_as: str = ""


@dataclass(frozen=True)
class SiteWork:
    """What is being measured of the tablet, in pixels and millimetres, until it is kept."""

    window_px: tuple[int, int] = (1280, 800)
    outline_px: tuple[float, float] = (0.0, 0.0)
    axis: Literal["width", "height"] = "width"
    rounds: tuple[CardReading, ...] = ()
    measured: Measured | None = None
    touches_mm: tuple[tuple[float, float], ...] = ()
    crosses: CrossCheck | None = None
    check: DeviceCheck | None = None
    checking: bool = False
    camera_hz: float | None = None
    frames: tuple[float, ...] = ()
    latency: DeviceLatency | None = None
    calibrated: bool = False
    latency_ms: float | None = None


@dataclass(frozen=True)
class DeskState:
    """Everything the staff's part knows. `refusal` is told as a note on the screen that stands.

    after_pin: where the right PIN leads. tries: wrong PINs in a row; wait_until: no PIN is taken before.
    active_at: the last touch, for the lock of an idle desk.
    """

    screen: DeskScreen
    at: datetime
    active_at: datetime
    power: Power = Power()
    after_pin: DeskScreen = "today"
    entered: str = ""
    first_pin: str = ""
    tries: int = 0
    wait_until: datetime | None = None
    refusal: Reason | None = None
    rows: tuple[TodayRow, ...] = ()
    list_page: int = 0
    people: tuple[Person, ...] = ()
    alike: tuple[Person, ...] = ()
    draft: Draft = Draft()
    person: Person | None = None
    subject: int = 0
    answers: Mapping[str, str] = field(default_factory=dict)
    last_answers: Mapping[str, str] = field(default_factory=dict)
    needed: tuple[str, ...] = ()
    languages: tuple[str, ...] = ("en",)
    language: str = "en"
    ticks: frozenset[str] = frozenset()
    visit_id: UUID | None = None
    choices: tuple[str, ...] = ()
    tiles: tuple[Tile, ...] = ()
    notes: Notes = Notes()
    page: PageFacts | None = None
    earlier: tuple[EarlierRow, ...] = ()
    why: str = ""
    signer: str = ""
    role: str = ""
    amend_what: str = ""
    amend_why: str = ""
    tables: tuple[TableRow, ...] = ()
    site: SiteWork = SiteWork()
    back_to: DeskScreen = "today"


Moved = tuple[DeskState, Wishes]
