"""The lock: the staff's PIN chosen when there is none, asked ever after, and slowed down where it is wrong.

A PIN only re-opens the screens, it protects no file. Waits grow from 30 s to an hour, as NIST SP 800-63B asks
of rate limiting (from memory: "30 seconds up to an hour"). Decision security-3.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import Enum
from itertools import pairwise
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.pad import DIGIT_ROWS, DIGITS, Pad, keys
from kiosk.staff.rights import may
from kiosk.staff.screen import Effect, Moved, Result, Screen, ShowToday, StaffContext, back, next_
from kiosk.visits.actions import Action, ScreenAction
from kiosk.visits.power import Power
from kiosk.wording.instructions import locked_words, staff_word
from kiosk.wording.staff_parts import Control, Head, NoticeView, PadView
from norms import Refusal

LEAST_DIGITS: Final = 6
MOST_DIGITS: Final = 12
FREE_TRIES: Final = 3
FIRST_WAIT_S: Final = 30.0
LONGEST_WAIT_S: Final = 3600.0
DOT: Final = "•"
NOON, EVENING = 12, 18


class LockAction(Action, Enum):
    """A passphrase instead of the PIN."""

    PASSPHRASE = "passphrase"


@dataclass(frozen=True)
class CheckPin(Effect):
    """Compare the PIN."""

    pin: str
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class KeepPin(Effect):
    """Take this PIN from now on."""

    pin: str
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class CheckClock(Effect):
    """Staff say the clock was put right: begin again."""


@dataclass(frozen=True)
class AskPassphrase(Effect):
    """Someone gives a passphrase in place of the PIN, perhaps another's."""


@dataclass(frozen=True)
class PinChecked(Result):
    """Whether the PIN was right."""

    right: bool

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """On to where it leads, or once more."""
        return pin_answered(screen, context, self.right) if isinstance(screen, Unlock) else screen.stay()


@dataclass(frozen=True)
class NoPinYet(Result):
    """There is no PIN to compare with."""

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Stay on the screen, with a note."""
        return screen.cleared().noted("no_pin_yet")


@dataclass(frozen=True)
class PassphraseGiven(Result):
    """A passphrase was given in place of the PIN. other: it was another account's."""

    other: bool
    pin_known: bool

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """On to where the PIN leads. Another account begins at today, but for a visit at hand."""
        if not isinstance(screen, Unlock):
            return screen.stay()
        in_visit = screen.after is not None and screen.after.in_visit
        if not self.pin_known and not in_visit:
            return Moved(FirstPin())
        after = screen.after if in_visit or not self.other else None
        return pin_answered(replace(screen, after=after), context, True)


@dataclass(frozen=True)
class Locked(Screen):
    """The neutral locked screen; the right PIN leads to `after`, by itself to today's list."""

    after: Screen | None = None
    name: ClassVar[str] = "locked"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Ask for the PIN when staff hold their corner."""
        if action is ScreenAction.STAFF:
            return Moved(Unlock(self.after, self))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """The neutral notice that the tablet is locked."""
        words = locked_words(language)
        return NoticeView(words.headline, " ".join(words.sentences), (), None, staff_word(language))


@dataclass(frozen=True)
class ClockBack(Screen):
    """The clock is earlier than the newest record: nothing begins before it is put right."""

    name: ClassVar[str] = "clock_back"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Check the clock again when staff hold their corner."""
        return self.stay(CheckClock()) if action is ScreenAction.STAFF else self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """The clock's time and the newest record's."""
        return NoticeView(language.say("The clock is wrong."), self.note_in(language), (), None,
                          staff_word(language))


@dataclass(frozen=True)
class PinPad(Pad):
    """A PIN, shown as dots."""

    allowed: ClassVar[str] = DIGITS
    most: ClassVar[int] = MOST_DIGITS
    locks: ClassVar[bool] = False

    def shown(self, context: StaffContext, prompt: str, controls: tuple[Control, ...],
              language: Language) -> PadView:
        """The PIN as dots, with a prompt and controls."""
        return PadView(Head(language.say("Staff PIN"), language.time(context.at)), prompt,
                       DOT * len(self.entered), keys(DIGIT_ROWS, language), controls,
                       self.note_in(language))


@dataclass(frozen=True)
class FirstPin(PinPad):
    """A PIN is chosen."""

    name: ClassVar[str] = "first_pin"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Once more, unless it is weak."""
        if action is not StaffAction.NEXT:
            return Moved(self.typed(action))
        weak = weakness(self.entered)
        return Moved(replace(self, entered="", note=weak) if weak else FirstPinAgain(self.entered))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """How long it is to be, and when it is asked."""
        prompt = language.say("Choose a PIN for the staff: six digits or more. It is asked whenever the "
                              "tablet was locked.")
        return self.shown(context, prompt, (next_(language, bool(self.entered)),), language)


@dataclass(frozen=True)
class FirstPinAgain(PinPad):
    """The PIN is typed a second time."""

    first: str
    name: ClassVar[str] = "first_pin_again"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Keep the PIN, unless the two differ."""
        match action:
            case StaffAction.BACK:
                return Moved(FirstPin())
            case StaffAction.NEXT if self.entered != self.first:
                return Moved(FirstPin(note=Refusal("pins_differ")))
            case StaffAction.NEXT:
                return self.stay(KeepPin(self.entered))
        return Moved(self.typed(action))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """The pad that asks for the same PIN again."""
        controls = (back(language), next_(language, bool(self.entered)))
        return self.shown(context, language.say("The same PIN once more."), controls, language)


@dataclass(frozen=True)
class Unlock(PinPad):
    """The PIN is asked. after: where the right one leads (None: today's list); given_up: where Back leads."""

    after: Screen | None
    given_up: Screen
    name: ClassVar[str] = "unlock"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """The PIN is compared, but not while it has to wait."""
        match action:
            case StaffAction.BACK:
                return Moved(self.given_up)
            case LockAction.PASSPHRASE:
                return self.cleared().stay(AskPassphrase())
        if context.pin_waits_until is not None and context.at < context.pin_waits_until:
            left_s = (context.pin_waits_until - context.at).total_seconds()
            return self.cleared().noted("pin_waits", wait_s=left_s)
        if action is StaffAction.NEXT:
            return self.stay(CheckPin(self.entered)) if self.entered else self.stay()
        return Moved(self.typed(action))

    def view(self, context: StaffContext, language: Language) -> PadView:
        """The day, the time, and the battery."""
        other = Control(LockAction.PASSPHRASE, language.say_in("button", "Use passphrase"))
        controls = (back(language), other, next_(language, bool(self.entered)))
        return self.shown(context, greeting(context.at, context.power, language), controls, language)


def pin_answered(screen: Unlock, context: StaffContext, right: bool) -> Moved:
    """The kiosk has compared the PIN: on to where it leads, or once more."""
    if right:
        known = replace(context, wrong_pins=0, pin_waits_until=None)
        after = screen.after
        if after is None or not may(context.at_work, after.needs):
            return Moved(screen, (ShowToday(),), known)
        return Moved(after, () if after.on_return is None else (after.on_return,), known)
    tries = context.wrong_pins + 1
    wait = wait_s(tries)
    until = context.at + timedelta(seconds=wait) if wait else None
    note = Refusal("wrong_pin") if until is None else Refusal("pin_waits", {"wait_s": wait})
    return Moved(replace(screen, entered="", note=note), (),
                 replace(context, wrong_pins=tries, pin_waits_until=until))


def wait_s(tries: int) -> float:
    """How long no PIN is taken after so many wrong ones in a row.

    >>> [wait_s(tries) for tries in (2, 3, 4, 5, 10)]
    [0.0, 30.0, 60.0, 120.0, 3600.0]
    """
    if tries < FREE_TRIES:
        return 0.0
    return float(min(FIRST_WAIT_S * 2.0 ** (tries - FREE_TRIES), LONGEST_WAIT_S))


def weakness(pin: str) -> Refusal | None:
    """Why a PIN is not taken: too short, one digit only, or digits in a row.

    >>> weakness("481516"), weakness("123456").code, weakness("4815").code, weakness("777777").code
    (None, 'pin_easily_guessed', 'pin_short', 'pin_easily_guessed')
    """
    if len(pin) < LEAST_DIGITS:
        return Refusal("pin_short", {"least": LEAST_DIGITS})
    steps = {int(after) - int(before) for before, after in pairwise(pin)}
    return Refusal("pin_easily_guessed") if steps in ({0}, {1}, {-1}) else None


def greeting(at: datetime, power: Power, language: Language) -> str:
    """Good morning. Wednesday 25 November 2026, 08:25. Battery 84 %."""
    say, hour = language.say, at.hour
    word = say("Good morning.") if hour < NOON else (
        say("Good afternoon.") if hour < EVENING else say("Good evening."))
    moment = say("%(date)s, %(time)s.", date=language.long_date(at.date()), time=language.time(at))
    return " ".join(part for part in (word, moment, power_words(power, language)) if part)


def power_words(power: Power, language: Language) -> str:
    """Battery 84 %; empty where there is none."""
    if power.percent is None:
        return ""
    percent = language.percent(power.percent)
    if power.charging:
        return language.say("Battery %(percent)s, charging.", percent=percent)
    return language.say("Battery %(percent)s.", percent=percent)
