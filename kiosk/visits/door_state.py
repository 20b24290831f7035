"""Before the store is open: the screens of the door, the steps of each purpose, and what is known there.

screen          actions                                          wishes
locked          staff                                            -
begin           next                                             -
place           key, erase, capital, signs, next, back, scan     -
name            the same                                         -
passphrase      the same, show                                   check_words, sign_in
again           the same, show                                   new_passphrase, recover
roles           set role ROLE, next, back                        set_up, add_account
recovery_code   key, erase, next, back, scan                     -
code            print, next                                      print_code
code_check      key, erase, next, back, scan                     -
opening         -                                                -
refused         back                                             -
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal

from kiosk.visits.desk_state import Power
from kiosk.visits.written import Written
from norms import Refusal

DoorScreen = Literal["locked", "begin", "place", "name", "passphrase", "again", "roles", "recovery_code",
                     "code", "code_check", "opening", "refused"]
Purpose = Literal["set_up", "sign_in", "add_account", "new_passphrase", "recover"]
STEPS: Final[Mapping[Purpose, tuple[DoorScreen, ...]]] = {
    "set_up": ("begin", "place", "name", "passphrase", "again", "roles"),
    "sign_in": ("name", "passphrase"),
    "add_account": ("name", "passphrase", "again", "roles"),
    "new_passphrase": ("passphrase", "again"),
    "recover": ("recovery_code", "name", "passphrase", "again"),
}


@dataclass(frozen=True)
class DoorState:
    """Everything known before the store is open.

    over: an open kiosk lies below, and giving up leads back to it. roles: those chosen for a new account.
    code: a new recovery code, told until it was written down.
    """

    screen: DoorScreen
    purpose: Purpose
    at: datetime
    active_at: datetime
    power: Power = field(default_factory=Power)
    over: bool = False
    written: Written = field(default_factory=Written)
    place: str = ""
    name: str = ""
    passphrase: str = field(default="", repr=False)
    recovery: str = field(default="", repr=False)
    roles: frozenset[str] = frozenset()
    code: str = field(default="", repr=False)
    printed: str = ""
    refusal: Refusal | None = None


Moved = tuple[DoorState, tuple[str, ...]]
Handler = Callable[[DoorState, str, str], Moved]
