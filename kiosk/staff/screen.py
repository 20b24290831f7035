"""What a staff screen is: a frozen state that says what an action leads to, and what it shows.

`step` and `view` are pure: what only the kiosk can do (look up, keep, print) is asked for by effects, plain
values that the kiosk carries out (kiosk.app.effects). What it found comes back as a result, which says itself
what it leads to; often it is the next screen. Screens read the shared context and change it only through what
they lead to.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import ClassVar, Self

from kiosk.i18n.language import Language
from kiosk.staff.actions import OPEN_TO_ALL, StaffAction
from kiosk.staff.concluded import Concluded
from kiosk.staff.rights import Right
from kiosk.visits.actions import Action
from kiosk.visits.backups import Backups
from kiosk.visits.device_record import KeptLatency, TabletChecks
from kiosk.visits.person import Person
from kiosk.visits.power import Power
from kiosk.visits.staff import AtWork
from kiosk.wording.page_fit import birth_words
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Control, Head, StaffView
from norms import Refusal

PERSON_DOT = " · "


@dataclass(frozen=True)
class TabletFacts:
    """What is known of the tablet: its window in pixels, its calibration, latency and newest checks.

    latency_ms: the one that counts; latencies: what each method found last.
    """

    window_px: tuple[int, int] = (1280, 800)
    calibrated: bool = False
    latency_ms: float | None = None
    checks: TabletChecks = field(default_factory=TabletChecks)
    latencies: tuple[KeptLatency, ...] = ()

    @property
    def refuses_trials(self) -> bool:
        """Whether nobody can be tested on it as it is."""
        return not self.calibrated or self.checks.refusal is not None


@dataclass(frozen=True)
class StaffContext:
    """What every staff screen may read. Moments are aware, local time.

    active_at: the last touch. wrong_pins: in a row; pin_waits_until: no PIN is taken before. person and
    concluded: whom and which visit the screens are about. tiles: what stands under Site.
    daily_offered: on which day the tablet's check of the day was offered last.
    """

    at: datetime
    active_at: datetime
    power: Power = field(default_factory=Power)
    at_work: AtWork = field(default_factory=AtWork)
    languages: tuple[str, ...] = ("en",)
    language: str = "en"
    wrong_pins: int = 0
    pin_waits_until: datetime | None = None
    person: Person | None = None
    concluded: Concluded | None = None
    tablet: TabletFacts = field(default_factory=TabletFacts)
    daily_offered: date | None = None
    backups: Backups = field(default_factory=Backups)
    tiles: tuple["SiteTile", ...] = ()


class Effect:
    """Something only the kiosk can do. slow: the screen that says so is drawn first."""

    slow: ClassVar[bool] = False


@dataclass(frozen=True)
class ShowToday(Effect):
    """Look up the persons of today and show them; nobody is at hand any more."""


class Result(ABC):
    """What an effect found or did."""

    @abstractmethod
    def on_result(self, screen: "Screen", context: StaffContext) -> "Moved":
        """What it leads to from the screen that stands."""


@dataclass(frozen=True)
class Moved:
    """What an action or a result leads to: the screen, effects, and the context where it has changed."""

    screen: "Screen"
    effects: tuple[Effect, ...] = ()
    context: StaffContext | None = None


@dataclass(frozen=True)
class Screen(Result):
    """One staff screen. As the result of an effect it is shown. note: why the last action did not go.

    name: of its pictures and tests. needs: the right its actions need. locks: it shows staff data, so that it
    is locked when it is left alone. in_visit: it belongs to the visit at hand, whoever unlocks it. on_return:
    what must be looked up when it is come back to.
    """

    note: Refusal | None = field(default=None, kw_only=True)
    name: ClassVar[str]
    needs: ClassVar[Right | None] = None
    locks: ClassVar[bool] = True
    in_visit: ClassVar[bool] = False
    on_return: ClassVar[Effect | None] = None

    @abstractmethod
    def step(self, action: Action, context: StaffContext) -> Moved:
        """What an action leads to; one that does not fit changes nothing."""

    @abstractmethod
    def view(self, context: StaffContext, language: Language) -> StaffView | None:
        """What it shows; None where the person's part or the results are drawn instead."""

    def on_result(self, screen: "Screen", context: StaffContext) -> Moved:
        """An effect has made this screen: it is shown."""
        return Moved(self)

    def right(self, action: Action, context: StaffContext) -> Right | None:
        """The right an action on this screen needs; None where everybody may."""
        return None if action in OPEN_TO_ALL else self.needs

    def cleared(self) -> Self:
        """As it is when it is come back to: no note, nothing typed."""
        return replace(self, note=None)

    def note_in(self, language: Language) -> str:
        """The note as a sentence; empty where there is none."""
        return note_words(self.note, language)

    def stay(self, *effects: Effect) -> Moved:
        """Stay on this screen and ask for these effects."""
        return Moved(self, effects)

    def noted(self, code: str, /, **values: object) -> Moved:
        """Stay on this screen, with a note."""
        return Moved(replace(self, note=Refusal(code, values)))


@dataclass(frozen=True)
class SiteTile(Action):
    """A row under Site: what it opens (a screen, or what must be looked up first), and how it stands now.

    words: the feature's name, and a few words on it.
    """

    opens: Screen | Effect
    words: Callable[[StaffContext, Language], tuple[str, str]]
    right: Right | None = Right.LEAD_SITE


def today(screen: Screen) -> Moved:
    """To today's list."""
    return Moved(screen, (ShowToday(),))


def person_head(context: StaffContext, title: str, language: Language) -> Head:
    """The header: title, and who it is about."""
    person = context.person
    if person is None:
        return site_head(context, title, language)
    return Head(title, PERSON_DOT.join((person.code, birth_words(person.birth_date, language))))


def site_head(context: StaffContext, title: str, language: Language) -> Head:
    """The header of screens without a person."""
    return Head(title, language.time(context.at))


def note_words(note: Refusal | None, language: Language) -> str:
    """A note as a sentence; empty where there is none."""
    return "" if note is None else sentence(note.code, note.values, language)


def back(language: Language) -> Control:
    """To the screen before."""
    return Control(StaffAction.BACK, language.say_in("button", "Back"), "quiet")


def next_(language: Language, available: bool = True) -> Control:
    """To the screen after."""
    return Control(StaffAction.NEXT, language.say_in("button", "Next"), "main", available)
