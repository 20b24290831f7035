"""The staff's part: what the desk knows, on which screen it is, and what it asks of the kiosk.

`kiosk.visits.desk.act(state, action, at)` answers an action with the next state and wishes: short words for
what only the kiosk can do (look up, keep, print). The kiosk fulfils them and tells the desk through functions
of the desk's modules; the desk itself knows no clock, no storage, no window. Moments are aware, local time.
"lock" locks every screen with staff data on it. KEY is one character.

screen           view             actions                                               wishes
first_pin        PadView          key KEY, erase, next                                  -
first_pin_again  PadView          key KEY, erase, next, back                            keep_pin
locked           NoticeView       staff                                                 -
unlock           PadView          key KEY, erase, next, passphrase, back                check_pin, passphrase
clock_back       NoticeView       staff                                                 check_clock
today            ListView         open VISIT, person ID, scan CODE, find, new, site,
                                  lock                                                  find, open, choose
find             PadView          key KEY, erase, next, scan CODE, back                 find
found            ListView         person ID, back                                       choose
look_alike       ListView         this_person, someone_else                             prepare
new_code         PadView          key KEY, erase, give_code, two_identifiers, scan
                                  CODE, next, back                                      give_code, new_code
new_second       PadView          key KEY, erase, scan TEXT, next, back                 -
new_birth        PadView          key KEY, erase, scan TEXT, next, not_known, back      add_person, amend
left_open        NoticeView       resume, close_visit, back                             resume, close
intake           ChoiceView       set SUBJECT VALUE, same, visits, next, back           visits
ready            TickView         tick NAME, hand_over (held), back                     -
power_low        NoticeView       back                                                  -
hand_over        NoticeView       touched, staff                                        begin
person           (the sitting)    staff, pause                                          staff_came
staff_choices    ChoiceView       go_on, end, retry, go_on_marked                       sitting ACTION
paused           NoticeView       staff                                                 -
observations     ObservationView  trial ID, trial visit, note CODE, nothing, next,
                                  set pain_after VALUE, set hands_as_asked VALUE        conclude, amend
concluding       NoticeView       -                                                     -
results          (page content)   why ID, replay, compare, next, today                  replay, earlier
why              TextView         back                                                  -
replay           ReplayView       trial N, back                                         -
compare          ListView         compare VISIT, back                                   compare
page             PageView         print, save, leaflet, copy, sign, amend, results,
                                  later                                                 print, save
leaflet          NoticeView       print, save, back                                     print, save
copy             PageView         back                                                  -
printing         NoticeView       cancel_print                                          cancel_print
printed          NoticeView       next, print, leaflet                                  print
not_printed      NoticeView       print, save, later                                    print, save
saved            NoticeView       next, leaflet                                         -
signer           PadView          key KEY, erase, scan TEXT, next, back                 -
sign_off         TextView         set role ROLE, sign (held), back                      sign
amend            ChoiceView       set what WHAT, set reason WHY, next, back             amend, notes
visits           ListView         open VISIT, back                                      open
kept             NoticeView       next, leaflet                                         -
site             ListView         site tablet, site tables, site languages, site staff,
                                  site backup, site own, back                           tables, staff
staff            ListView         account ID, add, back                                 door PURPOSE
account          ChoiceView       set role ROLE, next, close, back                  set_roles, close_account
own              TextView         passphrase, pin, back                                 door PURPOSE
backup           TextView         begin_backup, back                                    begin_backup
tablet           ListView         tablet card, tablet crosses, tablet check,
                                  tablet latency, back                                  -
card             CardView         wider N, narrower N, next, back                       -
crosses          CrossView        cross X Y, back                                       watch_crosses
device_check     FigureView       start_check, back                                     begin_check
latency          PadView          key KEY, erase, next, done, back                      -
figures          FigureView       next, back                                            keep FIGURES
tables           ListView         table NAME, back                                      load_table
languages        ChoiceView       set language TAG, back                                language
refused          NoticeView       back                                                  -
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from uuid import UUID

from kiosk.visits.person import Person
from kiosk.visits.site_work import Backups, SiteWork, TableRow
from kiosk.visits.staff import AtWork, StaffRow
from norms import Refusal

DeskScreen = Literal[
    "first_pin", "first_pin_again", "locked", "unlock", "today", "find", "found", "look_alike",
    "new_code", "new_second", "new_birth", "left_open", "intake", "ready", "power_low", "clock_back",
    "hand_over", "person", "staff_choices", "paused", "concluding", "observations", "results", "why",
    "replay", "compare", "page", "copy", "printing", "printed", "not_printed", "saved", "signer",
    "sign_off", "amend", "site", "tablet", "card", "crosses", "device_check", "latency", "figures",
    "tables", "languages", "refused", "kept", "staff", "account", "own",
    "backup", "leaflet", "visits",
]
VisitState = Literal["ready", "in_progress", "not_concluded", "not_printed", "not_reviewed", "reviewed",
                     "void"]
Wishes = tuple[str, ...]


@dataclass(frozen=True)
class Power:
    """The battery: percent 0 to 100 and whether it charges; None = this machine has none or does not say."""

    percent: float | None = None
    charging: bool | None = None


@dataclass(frozen=True)
class TodayRow:
    """One person of today: their latest visit of today, None before it began, and how far it is."""

    person_id: UUID
    visit_id: UUID | None
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
    """The page as it is: its tag, whether it is signed, where it or the leaflet was printed or saved.

    language: the person's at this visit, that of the leaflet.
    """

    tag: str
    reviewed: bool = False
    printer: str = ""
    saved_as: str = ""
    language: str = "en"


@dataclass(frozen=True)
class DeskState:
    """Everything the staff's part knows. `refusal` is told as a note on the screen that stands.

    after_pin: where the right PIN leads, pin_back: where giving up leads.
    tries: wrong PINs in a row; wait_until: no PIN is taken before.
    active_at: the last touch, for the lock of an idle desk.
    paper: what print and save put out, the clinician's page or the person's leaflet.
    """

    screen: DeskScreen
    at: datetime
    active_at: datetime
    power: Power = Power()
    after_pin: DeskScreen = "today"
    pin_back: DeskScreen = "locked"
    entered: str = ""
    first_pin: str = ""
    tries: int = 0
    wait_until: datetime | None = None
    refusal: Refusal | None = None
    rows: tuple[TodayRow, ...] = ()
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
    visit_state: VisitState = "ready"
    choices: tuple[str, ...] = ()
    tiles: tuple[Tile, ...] = ()
    notes: Notes = Notes()
    page: PageFacts | None = None
    paper: Literal["page", "leaflet"] = "page"
    earlier: tuple[EarlierRow, ...] = ()
    why: str = ""
    signer: str = ""
    role: str = ""
    amend_what: str = ""
    amend_why: str = ""
    tables: tuple[TableRow, ...] = ()
    table_wanted: str = ""
    site: SiteWork = field(default_factory=SiteWork)
    figures: Literal["calibration", "crosses", "check", "latency"] = "calibration"
    replay_trial: int = 0
    back_to: DeskScreen = "today"
    at_work: AtWork = field(default_factory=AtWork)
    staff: tuple[StaffRow, ...] = ()
    account: StaffRow | None = None
    backups: Backups = field(default_factory=Backups)


Moved = tuple[DeskState, Wishes]
Handler = Callable[[DeskState, str, str], Moved]
