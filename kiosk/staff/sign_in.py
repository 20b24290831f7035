"""Sign-in: what stands before the store. Set up once, opened with a name and a passphrase, or recovered.

The same steps take the name and passphrase of a further account, a new passphrase, and of someone who takes
over an open kiosk. Nothing of a person tested is known here. Decision security-7.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import Enum
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import Key, StaffAction
from kiosk.staff.pad import keys
from kiosk.staff.roles import PickRole, roles_row
from kiosk.staff.screen import PERSON_DOT, Effect, back, next_, note_words
from kiosk.staff.text_input import KeyboardAction, TextInput, apply_key, keyboard
from kiosk.visits.actions import Action, Scan, ScreenAction
from kiosk.visits.power import Power
from kiosk.visits.staff import ROLES
from kiosk.wording.instructions import locked_words, staff_word
from kiosk.wording.staff_parts import ChoiceView, Control, Head, NoticeView, PadView, StaffView, TextView
from norms import Refusal

IDLE_S: Final = 180.0
MOST_IN_NAME: Final = 32
MOST_IN_PLACE: Final = 60
CODE_KEYS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
CODE_ROWS: Final = ("ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ", "234567")
CODE_LETTERS: Final = 32
CHECKED_LETTERS: Final = 4
GROUP: Final = 4
CODE_GROUPS: Final = 8


class Step(Enum):
    """A screen of sign-in."""

    LOCKED = "locked"
    BEGIN = "begin"
    PLACE = "place"
    NAME = "name"
    PASSPHRASE = "passphrase"
    AGAIN = "again"
    ROLES = "roles"
    RECOVERY_CODE = "recovery_code"
    CODE = "code"
    CODE_CHECK = "code_check"
    OPENING = "opening"
    REFUSED = "refused"


class Purpose(Enum):
    """What sign-in is for."""

    SET_UP = "set_up"
    SIGN_IN = "sign_in"
    ADD_ACCOUNT = "add_account"
    NEW_PASSPHRASE = "new_passphrase"
    RECOVER = "recover"


STEPS: Final[Mapping[Purpose, tuple[Step, ...]]] = {
    Purpose.SET_UP: (Step.BEGIN, Step.PLACE, Step.NAME, Step.PASSPHRASE, Step.AGAIN, Step.ROLES),
    Purpose.SIGN_IN: (Step.NAME, Step.PASSPHRASE),
    Purpose.ADD_ACCOUNT: (Step.NAME, Step.PASSPHRASE, Step.AGAIN, Step.ROLES),
    Purpose.NEW_PASSPHRASE: (Step.PASSPHRASE, Step.AGAIN),
    Purpose.RECOVER: (Step.RECOVERY_CODE, Step.NAME, Step.PASSPHRASE, Step.AGAIN),
}
PUT_RIGHT_ON: Final[Mapping[str, Step]] = {
    "wrong_passphrase": Step.PASSPHRASE, "name_taken": Step.NAME, "wrong_recovery_code": Step.RECOVERY_CODE,
    "unknown_account": Step.NAME, "account_closed": Step.NAME, "role_not_held": Step.NAME}
NOTHING_TYPED: Final = (Step.LOCKED, Step.BEGIN, Step.CODE, Step.CODE_CHECK, Step.OPENING)


class SignInAction(Action, Enum):
    """Besides typing and going on."""

    RECOVER = "recover"
    PRINT = "print"


@dataclass(frozen=True)
class Leave(Effect):
    """Done here: on to what lies below, or back to it."""


@dataclass(frozen=True)
class CheckStrength(Effect):
    """Is the new passphrase strong enough?"""


@dataclass(frozen=True)
class PrintCode(Effect):
    """The recovery code on paper."""


@dataclass(frozen=True)
class Fulfil(Effect):
    """All is typed that the purpose needs: do it."""

    purpose: Purpose
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class SignInState:
    """Everything known before the store is open.

    over: an open kiosk lies below, and giving up leads back to it. roles: those chosen for a new account.
    code: a new recovery code, told until it was written down. printed: the printer it lies in.
    """

    step: Step
    purpose: Purpose
    at: datetime
    active_at: datetime
    power: Power = field(default_factory=Power)
    over: bool = False
    written: TextInput = field(default_factory=TextInput)
    place: str = ""
    name: str = ""
    passphrase: str = field(default="", repr=False)
    recovery: str = field(default="", repr=False)
    roles: frozenset[str] = frozenset()
    code: str = field(default="", repr=False)
    printed: str = ""
    note: Refusal | None = None


Stepped = tuple[SignInState, tuple[Effect, ...]]


def closed(at: datetime, *, known: bool, note: Refusal | None = None) -> SignInState:
    """Before the store: locked where there is one, else its set-up."""
    if known:
        return SignInState(Step.LOCKED, Purpose.SIGN_IN, at, at, note=note)
    return SignInState(Step.BEGIN, Purpose.SET_UP, at, at, roles=frozenset(ROLES))


def over_open(at: datetime, purpose: Purpose) -> SignInState:
    """Over an open kiosk: someone takes over, is added, or changes their passphrase."""
    roles = frozenset({"administer"}) if purpose is Purpose.ADD_ACCOUNT else frozenset[str]()
    return SignInState(STEPS[purpose][0], purpose, at, at, over=True, roles=roles)


def act(state: SignInState, action: Action, at: datetime) -> Stepped:
    """What an action on the screen leads to; one that does not fit changes nothing."""
    return _STEPPED[state.step](replace(state, at=at, active_at=at), action)


def tick(state: SignInState, at: datetime, power: Power) -> Stepped:
    """Time has passed: what was typed and left alone is forgotten."""
    idle = (at - state.active_at).total_seconds() >= IDLE_S
    state = replace(state, at=at, power=power)
    if not idle or state.step in NOTHING_TYPED:
        return state, ()
    return _given_up(state)


def strong_enough(state: SignInState) -> SignInState:
    """The new passphrase is taken; it is typed once more."""
    return _on(replace(state, passphrase=state.written.text), Step.AGAIN)


def refused(state: SignInState, reason: Refusal) -> SignInState:
    """An effect did not go: said on the step where it can be put right, else on one of its own."""
    if state.step is Step.PASSPHRASE:
        return replace(_on(state, Step.PASSPHRASE), note=reason)
    waits = Step.RECOVERY_CODE if state.purpose is Purpose.RECOVER else Step.PASSPHRASE
    step = waits if reason.code == "wait_to_try" else PUT_RIGHT_ON.get(reason.code, Step.REFUSED)
    told = step if step in STEPS[state.purpose] else Step.REFUSED
    return replace(_on(state, told), note=reason)


def code_told(state: SignInState, code: str) -> SignInState:
    """The recovery code, to be written down."""
    return replace(_on(state, Step.CODE), code=code, passphrase="", recovery="")


def at_minute(state: SignInState) -> SignInState:
    """The state as its screen shows it: a screen changes with the minute, not with the second."""
    minute, percent = state.at.replace(second=0, microsecond=0), state.power.percent
    power = replace(state.power, percent=None if percent is None else round(percent))
    return replace(state, at=minute, active_at=minute, power=power)


def _on(state: SignInState, step: Step) -> SignInState:
    return replace(state, step=step, written=TextInput(), note=None)


def _given_up(state: SignInState) -> Stepped:
    """To what lies below, or to the lock."""
    if state.over:
        return state, (Leave(),)
    return closed(state.at, known=state.purpose is not Purpose.SET_UP), ()


def _before(state: SignInState) -> Stepped:
    """The step before; from the first one it is given up."""
    steps = STEPS[state.purpose]
    at = steps.index(state.step) if state.step in steps else 0
    return (_on(state, steps[at - 1]), ()) if at > 0 else _given_up(state)


def _after(state: SignInState) -> Stepped:
    """The step after; from the last one the purpose is fulfilled."""
    steps = STEPS[state.purpose]
    at = steps.index(state.step) + 1
    if at < len(steps):
        return _on(state, steps[at]), ()
    return _on(state, Step.OPENING), (Fulfil(state.purpose),)


def _typing(state: SignInState, action: Action, most: int = 256) -> Stepped:
    return replace(state, written=apply_key(state.written, action, most), note=None), ()


def _typing_code(state: SignInState, action: Action, most: int) -> Stepped:
    match action:
        case Key(one) if one not in CODE_KEYS:
            return state, ()
        case Key() | StaffAction.ERASE:
            return _typing(state, action, most)
    return state, ()


def _scanned(state: SignInState, action: Action) -> tuple[SignInState, Action]:
    """What a plugged-in keyboard typed, then Enter, is as if typed and next."""
    if not isinstance(action, Scan):
        return state, action
    return replace(state, written=replace(state.written, text=action.text)), StaffAction.NEXT


def _locked(state: SignInState, action: Action) -> Stepped:
    """The note says why the store was locked, where it locked itself."""
    if action is not ScreenAction.STAFF:
        return state, ()
    return replace(_on(replace(state, purpose=Purpose.SIGN_IN), Step.NAME), note=state.note), ()


def _begin(state: SignInState, action: Action) -> Stepped:
    return _after(state) if action is StaffAction.NEXT else (state, ())


def _place(state: SignInState, action: Action) -> Stepped:
    state, action = _scanned(state, action)
    text = state.written.text.strip()
    if action is StaffAction.BACK:
        return _before(state)
    if action is StaffAction.NEXT:
        return _after(replace(state, place=text)) if text else (state, ())
    return _typing(state, action, MOST_IN_PLACE)


def _name(state: SignInState, action: Action) -> Stepped:
    state, action = _scanned(state, action)
    text = state.written.text.strip()
    match action:
        case StaffAction.BACK:
            return _before(state)
        case SignInAction.RECOVER if state.purpose is Purpose.SIGN_IN and not state.over:
            return _on(replace(state, purpose=Purpose.RECOVER), Step.RECOVERY_CODE), ()
        case StaffAction.NEXT:
            return _after(replace(state, name=text)) if text else (state, ())
    return _typing(state, action, MOST_IN_NAME)


def _passphrase(state: SignInState, action: Action) -> Stepped:
    state, action = _scanned(state, action)
    if action is StaffAction.BACK:
        return _before(state)
    if action is not StaffAction.NEXT or not state.written.text:
        return _typing(state, action)
    if state.purpose is Purpose.SIGN_IN:
        return _after(replace(state, passphrase=state.written.text))
    return state, (CheckStrength(),)


def _again(state: SignInState, action: Action) -> Stepped:
    state, action = _scanned(state, action)
    if action is StaffAction.BACK:
        return _before(replace(state, passphrase=""))
    if action is not StaffAction.NEXT or not state.written.text:
        return _typing(state, action)
    if state.written.text != state.passphrase:
        note = Refusal("passphrases_differ")
        return replace(_on(replace(state, passphrase=""), Step.PASSPHRASE), note=note), ()
    return _after(state)


def _roles(state: SignInState, action: Action) -> Stepped:
    match action:
        case StaffAction.BACK:
            return _before(state)
        case PickRole(role):
            # the first account leads the site: somebody must name the others
            fixed = {"site_lead"} if state.purpose is Purpose.SET_UP else set()
            return replace(state, roles=(state.roles ^ {role}) | fixed, note=None), ()
        case StaffAction.NEXT:
            return _after(state) if state.roles else (replace(state, note=Refusal("role_needed")), ())
    return state, ()


def _recovery_code(state: SignInState, action: Action) -> Stepped:
    state, action = _scanned(state, action)
    if action is StaffAction.BACK:
        return closed(state.at, known=True), ()
    if action is StaffAction.NEXT:
        return _after(replace(state, recovery=state.written.text)) if state.written.text else (state, ())
    return _typing_code(state, action, CODE_LETTERS)


def _code(state: SignInState, action: Action) -> Stepped:
    if action is SignInAction.PRINT:
        return state, (PrintCode(),)
    return (_on(state, Step.CODE_CHECK), ()) if action is StaffAction.NEXT else (state, ())


def _code_check(state: SignInState, action: Action) -> Stepped:
    """Written down? The last group of the code tells."""
    state, action = _scanned(state, action)
    if action is StaffAction.BACK:
        return _on(state, Step.CODE), ()
    if action is not StaffAction.NEXT:
        return _typing_code(state, action, CHECKED_LETTERS)
    if state.written.text.upper() != state.code[-CHECKED_LETTERS:]:
        return replace(_on(state, Step.CODE_CHECK), note=Refusal("code_not_written_down")), ()
    return replace(_on(state, Step.OPENING), code=""), (Leave(),)


def _refused(state: SignInState, action: Action) -> Stepped:
    return _given_up(state) if action is StaffAction.BACK else (state, ())


_STEPPED: Final[Mapping[Step, Callable[[SignInState, Action], Stepped]]] = {
    Step.LOCKED: _locked, Step.BEGIN: _begin, Step.PLACE: _place, Step.NAME: _name,
    Step.PASSPHRASE: _passphrase, Step.AGAIN: _again, Step.ROLES: _roles,
    Step.RECOVERY_CODE: _recovery_code, Step.CODE: _code, Step.CODE_CHECK: _code_check,
    Step.OPENING: lambda state, _: (state, ()), Step.REFUSED: _refused,
}


# What it says


def sign_in_view(state: SignInState, language: Language) -> StaffView:
    """What the screen of the step shows."""
    return _VIEWS[state.step](state, language)


def recovery_words(state: SignInState, language: Language) -> tuple[str, tuple[str, ...]]:
    """The title of the recovery code's sheet, and what stands below the code."""
    say = language.say
    made = PERSON_DOT.join(part for part in (state.place, language.date(state.at.date())) if part)
    return say("Recovery code"), (
        made, say("Lock this paper away, not beside the tablet. Tell nobody what is on it."),
        say("It opens everything when every passphrase is lost. Without both, nothing can be opened again."))


def in_groups(code: str) -> str:
    """A code as it is typed, in groups of four.

    >>> in_groups("ABCDEFGHIJ")
    'ABCD-EFGH-IJ'
    """
    plain = code.replace("-", "")
    return "-".join(plain[at:at + GROUP] for at in range(0, len(plain), GROUP))


def _title(state: SignInState, language: Language) -> str:
    say = language.say
    return {Purpose.SET_UP: say("First set-up"), Purpose.SIGN_IN: say("Sign in"),
            Purpose.ADD_ACCOUNT: say("New account"), Purpose.NEW_PASSPHRASE: say("New passphrase"),
            Purpose.RECOVER: say("Recovery")}[state.purpose]


def _head(state: SignInState, language: Language) -> Head:
    return Head(_title(state, language), language.time(state.at))


def _show_locked(state: SignInState, language: Language) -> NoticeView:
    words = locked_words(language)
    return NoticeView(words.headline, " ".join(words.sentences), (), None, staff_word(language))


def _show_begin(state: SignInState, language: Language) -> TextView:
    say = language.say
    return TextView(_head(state, language), (
        say("This kiosk keeps no data yet. Set it up: the name of the place, your account and its "
            "passphrase."),
        say("Everything kept is locked with the passphrase. Nobody can open it without one, not even the "
            "makers of this kiosk."),
        say("At the end a recovery code is shown. Have a pen and paper ready.")), (next_(language),))


def _typed(state: SignInState, prompt: str, language: Language, *more: Control) -> PadView:
    ready = next_(language, bool(state.written.text.strip()))
    return PadView(_head(state, language), prompt, state.written.text, keyboard(state.written, language),
                   (back(language), *more, ready), note_words(state.note, language), wide=True)


def _show_place(state: SignInState, language: Language) -> PadView:
    return _typed(state, language.say("Name of the place, for the head of pages"), language)


def _show_name(state: SignInState, language: Language) -> PadView:
    if state.purpose is Purpose.SIGN_IN:
        forgotten = Control(SignInAction.RECOVER, language.say_in("button", "Passphrase lost"), "quiet")
        more = () if state.over else (forgotten,)
        view = _typed(state, language.say("Who is working? Name or code"), language, *more)
        moment = PERSON_DOT.join((language.long_date(state.at.date()), language.time(state.at)))
        return replace(view, head=Head(_title(state, language), moment))
    if state.purpose is Purpose.RECOVER:
        return _typed(state, language.say("Name of an account that leads the site"), language)
    return _typed(state, language.say("Name or code of the account"), language)


def _show_passphrase(state: SignInState, language: Language) -> PadView:
    if state.purpose is Purpose.SIGN_IN:
        return _secret(state, language.say("Passphrase of %(name)s", name=state.name), language)
    return _secret(state, language.say("A new passphrase: four words or more"), language)


def _show_again(state: SignInState, language: Language) -> PadView:
    return _secret(state, language.say("The same passphrase once more"), language)


def _secret(state: SignInState, prompt: str, language: Language) -> PadView:
    written, say_in = state.written, language.say_in
    word = say_in("button", "Hide") if written.shown else say_in("button", "Show")
    show = Control(KeyboardAction.SHOW, word)
    return PadView(_head(state, language), prompt, written.masked(), keyboard(written, language),
                   (back(language), show, next_(language, bool(written.text))),
                   note_words(state.note, language), wide=True, masked=not written.shown)


def _show_roles(state: SignInState, language: Language) -> ChoiceView:
    say = language.say
    hint = say("The first account leads the site: it names the others.") if (
        state.purpose is Purpose.SET_UP) else ""
    return ChoiceView(Head(_title(state, language), state.name), (roles_row(state.roles, language, hint),),
                      (back(language), next_(language, bool(state.roles))), note_words(state.note, language))


def _show_recovery_code(state: SignInState, language: Language) -> PadView:
    return PadView(_head(state, language), language.say("The recovery code, from your paper"),
                   in_groups(state.written.text), keys(CODE_ROWS, language),
                   (back(language), next_(language, bool(state.written.text))),
                   note_words(state.note, language), wide=True)


def _show_code(state: SignInState, language: Language) -> NoticeView:
    """The code in two lines, large enough to be written down without a slip."""
    say, say_in = language.say, language.say_in
    half = CODE_GROUPS // 2
    groups = state.code.split("-")
    shown = " ".join("-".join(part) for part in (groups[:half], groups[half:]))
    told = say("Write it down and lock it away, not beside the tablet. It is shown this once.")
    if state.note is not None:
        told = note_words(state.note, language)
    elif state.printed:
        told = say("Printed: %(printer)s. Take the paper now.", printer=state.printed)
    controls = (Control(SignInAction.PRINT, say_in("button", "Print")),
                Control(StaffAction.NEXT, say_in("button", "Written down"), "main"))
    return NoticeView(shown, told, controls, Head(say("Recovery code"), language.time(state.at)))


def _show_code_check(state: SignInState, language: Language) -> PadView:
    return PadView(Head(language.say("Recovery code"), language.time(state.at)),
                   language.say("Type the last group of the code, from your paper"), state.written.text,
                   keys(CODE_ROWS, language), (back(language), next_(language, bool(state.written.text))),
                   note_words(state.note, language))


def _show_opening(state: SignInState, language: Language) -> NoticeView:
    return NoticeView(language.say("Please wait."), "", ())


def _show_refused(state: SignInState, language: Language) -> NoticeView:
    return NoticeView(language.say("This cannot go on."), note_words(state.note, language), (back(language),),
                      _head(state, language))


_VIEWS: Final[Mapping[Step, Callable[[SignInState, Language], StaffView]]] = {
    Step.LOCKED: _show_locked, Step.BEGIN: _show_begin, Step.PLACE: _show_place, Step.NAME: _show_name,
    Step.PASSPHRASE: _show_passphrase, Step.AGAIN: _show_again, Step.ROLES: _show_roles,
    Step.RECOVERY_CODE: _show_recovery_code, Step.CODE: _show_code, Step.CODE_CHECK: _show_code_check,
    Step.OPENING: _show_opening, Step.REFUSED: _show_refused,
}
