"""The site's part about people and copies: accounts and their roles, and backups.

Names and passphrases are typed at the door (kiosk.visits.door), which lies over the desk then.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from kiosk.visits.desk_pad import on
from kiosk.visits.desk_state import DeskState, Handler, Moved
from kiosk.visits.staff import ROLES, StaffRow
from norms import Refusal


def staff_told(state: DeskState, rows: Sequence[StaffRow]) -> DeskState:
    """Every account of this kiosk."""
    return replace(on(state, "staff"), staff=tuple(rows), account=None)


def _staff(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "site"), ()
    if verb == "add":
        return state, ("door add_account",)
    chosen = next((one for one in state.staff if str(one.id) == rest and one.active), None)
    if verb == "account" and chosen is not None:
        return replace(on(state, "account"), account=chosen), ()
    return state, ()


def _account(state: DeskState, verb: str, rest: str) -> Moved:
    known = state.account
    if verb == "back":
        return state, ("staff",)
    if known is None:
        return state, ()
    name, _, role = rest.partition(" ")
    if verb == "set" and name == "role" and role in ROLES:
        return replace(state, account=replace(known, roles=known.roles ^ {role}), refusal=None), ()
    if verb == "next":
        note = None if known.roles else Refusal("role_needed")
        return (replace(state, refusal=note), ()) if note else (state, ("set_roles",))
    return (state, ("close_account",)) if verb == "close" else (state, ())


def _own(state: DeskState, verb: str, rest: str) -> Moved:
    """One's own passphrase and PIN."""
    if verb == "back":
        return on(state, "site"), ()
    if verb == "passphrase":
        return state, ("door new_passphrase",)
    return (replace(on(state, "first_pin"), first_pin=""), ()) if verb == "pin" else (state, ())


def _backup(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "site"), ()
    return (state, ("begin_backup",)) if verb == "begin_backup" else (state, ())


HANDLERS: Final[Mapping[str, Handler]] = {
    "staff": _staff, "account": _account, "own": _own, "backup": _backup,
}
