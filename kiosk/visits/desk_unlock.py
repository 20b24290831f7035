"""The lock: the staff's PIN chosen when there is none, asked ever after, and slowed down where it is wrong.

A PIN only re-opens the desk, it protects no file. Waits grow from 30 s to an hour, as NIST SP 800-63B asks of
rate limiting (from memory: "30 seconds up to an hour").
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from typing import Final

from kiosk.visits.desk_pad import DIGITS, on, typed
from kiosk.visits.desk_roles import allowed
from kiosk.visits.desk_state import DeskState, Handler, Moved
from norms import Refusal

LEAST_DIGITS: Final = 6
MOST_DIGITS: Final = 12
FREE_TRIES: Final = 3
FIRST_WAIT_S: Final = 30.0
LONGEST_WAIT_S: Final = 3600.0
OF_A_VISIT_AT_HAND: Final = ("staff_choices", "observations", "ready", "left_open")


def wait_s(tries: int) -> float:
    """How long no PIN is taken after so many wrong ones in a row.

    >>> [wait_s(tries) for tries in (2, 3, 4, 5, 10)]
    [0.0, 30.0, 60.0, 120.0, 3600.0]
    """
    if tries < FREE_TRIES:
        return 0.0
    return float(min(FIRST_WAIT_S * 2.0 ** (tries - FREE_TRIES), LONGEST_WAIT_S))


def pin_answered(state: DeskState, right: bool) -> Moved:
    """The kiosk has compared the PIN: on to where it leads, or once more."""
    if right:
        opened = replace(on(state, allowed(state, state.after_pin)), tries=0, wait_until=None)
        return opened, ("today",) if opened.screen == "today" else ()
    tries = state.tries + 1
    wait = wait_s(tries)
    until = state.at + timedelta(seconds=wait) if wait else None
    note = Refusal("wrong_pin") if until is None else Refusal("pin_waits", {"wait_s": wait})
    return replace(state, entered="", tries=tries, wait_until=until, refusal=note), ()


def passphrase_given(state: DeskState, *, other: bool, pin_known: bool) -> Moved:
    """In place of the PIN: on to where it leads. Another account begins at today, but for a visit at hand."""
    in_visit = state.after_pin in OF_A_VISIT_AT_HAND
    if not pin_known and not in_visit:
        return replace(on(state, "first_pin"), first_pin=""), ()
    after = state.after_pin if in_visit or not other else "today"
    return pin_answered(replace(state, after_pin=after), True)


def pin_kept(state: DeskState) -> Moved:
    """The kiosk has kept the new PIN."""
    return replace(on(state, "today"), first_pin=""), ("today",)


def _first(state: DeskState, verb: str, rest: str) -> Moved:
    if verb != "next":
        return typed(state, verb, rest, DIGITS, MOST_DIGITS), ()
    weak = weakness(state.entered)
    if weak is not None:
        return replace(state, entered="", refusal=weak), ()
    return replace(on(state, "first_pin_again"), first_pin=state.entered), ()


def _again(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return replace(on(state, "first_pin"), first_pin=""), ()
    if verb != "next":
        return typed(state, verb, rest, DIGITS, MOST_DIGITS), ()
    if state.entered != state.first_pin:
        return replace(on(state, "first_pin"), first_pin="", refusal=Refusal("pins_differ")), ()
    return state, ("keep_pin",)


def weakness(pin: str) -> Refusal | None:
    """Why a PIN is not taken: too short, one digit only, or digits in a row.

    >>> weakness("481516"), weakness("123456").code, weakness("4815").code, weakness("777777").code
    (None, 'pin_easily_guessed', 'pin_short', 'pin_easily_guessed')
    """
    if len(pin) < LEAST_DIGITS:
        return Refusal("pin_short", {"least": LEAST_DIGITS})
    steps = {int(after) - int(before) for before, after in pairwise(pin)}
    return Refusal("pin_easily_guessed") if steps in ({0}, {1}, {-1}) else None


def _locked(state: DeskState, verb: str, rest: str) -> Moved:
    return (replace(on(state, "unlock"), pin_back="locked"), ()) if verb == "staff" else (state, ())


def _unlock(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, state.pin_back), ()
    if verb == "passphrase":
        return replace(state, entered="", refusal=None), ("passphrase",)
    if state.wait_until is not None and state.at < state.wait_until:
        left_s = (state.wait_until - state.at).total_seconds()
        return replace(state, entered="", refusal=Refusal("pin_waits", {"wait_s": left_s})), ()
    if verb == "next":
        return state, ("check_pin",) if state.entered else ()
    return typed(state, verb, rest, DIGITS, MOST_DIGITS), ()


def _clock_back(state: DeskState, verb: str, rest: str) -> Moved:
    return state, ("check_clock",) if verb == "staff" else ()


HANDLERS: Final[Mapping[str, Handler]] = {
    "first_pin": _first, "first_pin_again": _again, "locked": _locked, "unlock": _unlock,
    "clock_back": _clock_back,
}
