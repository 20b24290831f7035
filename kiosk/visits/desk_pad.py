"""The pad: what has been typed, one character at a time."""

from dataclasses import replace
from typing import Final

from kiosk.visits.check_character import ALPHABET
from kiosk.visits.desk_state import DeskScreen, DeskState

DIGITS: Final = "0123456789"
CODE: Final = ALPHABET
MOST_CHARACTERS: Final = 16


def typed(state: DeskState, verb: str, rest: str, allowed: str, most: int = MOST_CHARACTERS) -> DeskState:
    """The state after a key or the eraser; other verbs and other characters change nothing."""
    if verb == "erase":
        return replace(state, entered=state.entered[:-1], refusal=None)
    if verb == "key" and len(rest) == 1 and rest in allowed and len(state.entered) < most:
        return replace(state, entered=state.entered + rest, refusal=None)
    return state


def at_once(state: DeskState, text: str, allowed: str, most: int = MOST_CHARACTERS) -> DeskState:
    """The state with all that a keyboard or a scanner typed, as far as it is allowed here."""
    kept = "".join(one for one in text.upper() if one in allowed)
    return replace(state, entered=kept[:most], refusal=None)


def on(state: DeskState, screen: DeskScreen) -> DeskState:
    """The desk on another screen: nothing typed, no note."""
    return replace(state, screen=screen, entered="", refusal=None)
