"""The door: what stands before the store. Set up once, opened with a name and a passphrase, or recovered.

The same screens take the name and passphrase of a further account, a new passphrase, and of someone who
takes over an open kiosk. Screens, actions and wishes are listed in kiosk.visits.door_state; nothing of a
person tested is known here.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Final

from kiosk.visits.desk_state import Power
from kiosk.visits.door_state import STEPS, DoorScreen, DoorState, Handler, Moved, Purpose
from kiosk.visits.staff import ROLES
from kiosk.visits.written import Written, struck
from norms import Refusal

IDLE_S: Final = 180.0
MOST_IN_NAME: Final = 32
MOST_IN_PLACE: Final = 60
CODE_KEYS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
CODE_LETTERS: Final = 32
CHECKED_LETTERS: Final = 4
PUT_RIGHT_ON: Final[Mapping[str, DoorScreen]] = {
    "wrong_passphrase": "passphrase", "name_taken": "name", "wrong_recovery_code": "recovery_code",
    "unknown_account": "name", "account_closed": "name", "role_not_held": "name"}


def closed(at: datetime, *, known: bool, refusal: Refusal | None = None) -> DoorState:
    """Before the store: locked where there is one, else its set-up."""
    if known:
        return DoorState("locked", "sign_in", at, at, refusal=refusal)
    return DoorState("begin", "set_up", at, at, roles=frozenset(ROLES))


def over_open(at: datetime, purpose: Purpose) -> DoorState:
    """Over an open kiosk: someone takes over, is added, or changes their passphrase."""
    roles = frozenset({"administer"}) if purpose == "add_account" else frozenset[str]()
    return DoorState(STEPS[purpose][0], purpose, at, at, over=True, roles=roles)


def act(state: DoorState, action: str, at: datetime) -> Moved:
    """What an action on the screen leads to."""
    verb, _, rest = action.partition(" ")
    state = replace(state, at=at, active_at=at)
    return _HANDLERS[state.screen](state, verb, rest)


def tick(state: DoorState, at: datetime, power: Power) -> Moved:
    """Time has passed: what was typed and left alone is forgotten."""
    idle = (at - state.active_at).total_seconds() >= IDLE_S
    state = replace(state, at=at, power=power)
    if not idle or state.screen in ("locked", "begin", "code", "code_check", "opening"):
        return state, ()
    return (state, ("leave",)) if state.over else (closed(at, known=state.purpose != "set_up"), ())


def words_taken(state: DoorState) -> DoorState:
    """The new passphrase is strong enough."""
    return _on(replace(state, passphrase=state.written.text), "again")


def refused(state: DoorState, reason: Refusal) -> DoorState:
    """A wish did not go: said on the screen where it can be put right, else on one of its own."""
    if state.screen == "passphrase":
        return replace(_on(state, "passphrase"), refusal=reason)
    waits: DoorScreen = "recovery_code" if state.purpose == "recover" else "passphrase"
    screen = waits if reason.code == "wait_to_try" else PUT_RIGHT_ON.get(reason.code, "refused")
    told: DoorScreen = screen if screen in STEPS[state.purpose] else "refused"
    return replace(_on(state, told), refusal=reason)


def code_told(state: DoorState, code: str) -> DoorState:
    """The recovery code, to be written down."""
    return replace(_on(state, "code"), code=code, passphrase="", recovery="")


def printed(state: DoorState, printer: str) -> DoorState:
    """The code lies in the printer."""
    return replace(state, printed=printer, refusal=None)


def not_printed(state: DoorState, reason: Refusal) -> DoorState:
    """The code is not on paper."""
    return replace(state, refusal=reason)


def at_minute(state: DoorState) -> DoorState:
    """The state as its screen shows it: a screen changes with the minute, not with the second."""
    minute, percent = state.at.replace(second=0, microsecond=0), state.power.percent
    power = replace(state.power, percent=None if percent is None else round(percent))
    return replace(state, at=minute, active_at=minute, power=power)


def _on(state: DoorState, screen: DoorScreen) -> DoorState:
    return replace(state, screen=screen, written=Written(), refusal=None)


def _before(state: DoorState) -> Moved:
    """The step before; from the first one to what lies below or to the lock."""
    steps = STEPS[state.purpose]
    at = steps.index(state.screen) if state.screen in steps else 0
    if at > 0:
        return _on(state, steps[at - 1]), ()
    if state.over:
        return state, ("leave",)
    return closed(state.at, known=state.purpose != "set_up"), ()


def _after(state: DoorState) -> Moved:
    """The step after; from the last one to the wish of the whole."""
    steps = STEPS[state.purpose]
    at = steps.index(state.screen) + 1
    if at < len(steps):
        return _on(state, steps[at]), ()
    return _on(state, "opening"), (state.purpose,)


def _typing(state: DoorState, verb: str, rest: str, most: int = 256) -> DoorState:
    return replace(state, written=struck(state.written, verb, rest, most), refusal=None)


def _scanned(state: DoorState, verb: str, rest: str) -> tuple[DoorState, str]:
    """What a plugged-in keyboard typed, then Enter, is as if typed and next."""
    if verb != "scan":
        return state, verb
    return replace(state, written=replace(state.written, text=rest)), "next"


def _locked(state: DoorState, verb: str, rest: str) -> Moved:
    """The note says why the store was locked, where it locked itself."""
    if verb != "staff":
        return state, ()
    return replace(_on(replace(state, purpose="sign_in"), "name"), refusal=state.refusal), ()


def _begin(state: DoorState, verb: str, rest: str) -> Moved:
    return _after(state) if verb == "next" else (state, ())


def _place(state: DoorState, verb: str, rest: str) -> Moved:
    state, verb = _scanned(state, verb, rest)
    if verb == "back":
        return _before(state)
    text = state.written.text.strip()
    if verb == "next":
        return _after(replace(state, place=text)) if text else (state, ())
    return _typing(state, verb, rest, MOST_IN_PLACE), ()


def _name(state: DoorState, verb: str, rest: str) -> Moved:
    state, verb = _scanned(state, verb, rest)
    if verb == "back":
        return _before(state)
    if verb == "recover" and state.purpose == "sign_in" and not state.over:
        return _on(replace(state, purpose="recover"), "recovery_code"), ()
    text = state.written.text.strip()
    if verb == "next":
        return _after(replace(state, name=text)) if text else (state, ())
    return _typing(state, verb, rest, MOST_IN_NAME), ()


def _passphrase(state: DoorState, verb: str, rest: str) -> Moved:
    state, verb = _scanned(state, verb, rest)
    if verb == "back":
        return _before(state)
    if verb != "next" or not state.written.text:
        return _typing(state, verb, rest), ()
    if state.purpose == "sign_in":
        return _after(replace(state, passphrase=state.written.text))
    return state, ("check_words",)


def _again(state: DoorState, verb: str, rest: str) -> Moved:
    state, verb = _scanned(state, verb, rest)
    if verb == "back":
        return _before(replace(state, passphrase=""))
    if verb != "next" or not state.written.text:
        return _typing(state, verb, rest), ()
    if state.written.text != state.passphrase:
        note = Refusal("passphrases_differ")
        return replace(_on(replace(state, passphrase=""), "passphrase"), refusal=note), ()
    return _after(state)


def _roles(state: DoorState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return _before(state)
    name, _, role = rest.partition(" ")
    if verb == "set" and name == "role" and role in ROLES:
        fixed = {"site_lead"} if state.purpose == "set_up" else set()  # somebody must name the others
        return replace(state, roles=(state.roles ^ {role}) | fixed, refusal=None), ()
    if verb != "next":
        return state, ()
    return _after(state) if state.roles else (replace(state, refusal=Refusal("role_needed")), ())


def _recovery_code(state: DoorState, verb: str, rest: str) -> Moved:
    state, verb = _scanned(state, verb, rest)
    if verb == "back":
        return closed(state.at, known=True), ()
    if verb == "next":
        return _after(replace(state, recovery=state.written.text)) if state.written.text else (state, ())
    return _code_typed(state, verb, rest, CODE_LETTERS), ()


def _code(state: DoorState, verb: str, rest: str) -> Moved:
    if verb == "print":
        return state, ("print_code",)
    return (_on(state, "code_check"), ()) if verb == "next" else (state, ())


def _code_check(state: DoorState, verb: str, rest: str) -> Moved:
    """Written down? The last group of the code tells."""
    state, verb = _scanned(state, verb, rest)
    if verb == "back":
        return _on(state, "code"), ()
    if verb != "next":
        return _code_typed(state, verb, rest, CHECKED_LETTERS), ()
    if state.written.text.upper() != state.code[-CHECKED_LETTERS:]:
        return replace(_on(state, "code_check"), refusal=Refusal("code_not_written_down")), ()
    return replace(_on(state, "opening"), code=""), ("leave",)


def _code_typed(state: DoorState, verb: str, rest: str, most: int) -> DoorState:
    allowed = verb != "key" or rest in CODE_KEYS
    return _typing(state, verb, rest, most) if allowed and verb in ("key", "erase") else state


def _opening(state: DoorState, verb: str, rest: str) -> Moved:
    return state, ()


def _refused(state: DoorState, verb: str, rest: str) -> Moved:
    if verb != "back":
        return state, ()
    return (state, ("leave",)) if state.over else (closed(state.at, known=state.purpose != "set_up"), ())


_HANDLERS: Final[Mapping[str, Handler]] = {
    "locked": _locked, "begin": _begin, "place": _place, "name": _name, "passphrase": _passphrase,
    "again": _again, "roles": _roles, "recovery_code": _recovery_code, "code": _code,
    "code_check": _code_check, "opening": _opening, "refused": _refused,
}
