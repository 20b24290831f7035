"""What an account may do at the desk, by its roles. The store refuses the same (kiosk.storage).

administer gives visits; interpret reads results, signs and amends; site_lead does what is under Site. What a
role may not do is not offered; where it is asked for all the same, the desk says whose it is.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from kiosk.visits.desk_state import DeskScreen, DeskState
from kiosk.visits.staff import Role
from norms import Refusal

GIVES_VISITS: Final = ("new_code", "new_second", "left_open", "intake", "ready")
SEEKS: Final = ("find", "found", "look_alike")
READS: Final = ("results", "why", "replay", "compare", "page", "copy", "printing", "printed", "not_printed",
                "saved", "signer", "sign_off", "amend", "visits")
LEADS: Final = ("tablet", "card", "crosses", "device_check", "latency", "figures", "tables", "staff",
                "account", "backup")
SCREENS: Final[Mapping[str, Role]] = {
    **dict.fromkeys(GIVES_VISITS, "administer"), **dict.fromkeys(READS, "interpret"),
    **dict.fromkeys(LEADS, "site_lead")}
OPEN_TO_ALL: Final = ("back", "later", "today", "lock", "more", "cancel_print")
SEEKING: Final = ("find", "scan", "person")
CONCLUDED: Final = ("not_printed", "not_reviewed", "reviewed", "void")
FOR_EVERYONE: Final = ("languages", "own")
PUTS_OUT: Final = ("printing", "printed", "not_printed", "saved")


def role_needed(state: DeskState, action: str) -> Role | None:
    """The role an action on the screen needs, None where everyone may."""
    verb, _, rest = action.partition(" ")
    if verb in OPEN_TO_ALL:
        return None
    if state.screen == "today":
        return _on_today(state, verb, rest)
    if state.screen == "site":
        return None if rest in FOR_EVERYONE else "site_lead"
    if state.paper == "leaflet" and state.screen in PUTS_OUT:
        return None
    if state.screen in SEEKS:
        return _to_seek(state)
    return SCREENS.get(state.screen)


def withheld(state: DeskState, action: str) -> Role | None:
    """The role that the account at work lacks for an action; None where it may."""
    needed = role_needed(state, action)
    return None if needed is None or state.at_work.may(needed) else needed


def not_yours(state: DeskState, role: Role) -> DeskState:
    """The same screen, with whose part this is."""
    return replace(state, refusal=Refusal(f"needs_{role}"))


def allowed(state: DeskState, screen: DeskScreen) -> DeskScreen:
    """The screen, or today's list where the account at work may not see it."""
    needed = SCREENS.get(screen)
    return screen if needed is None or state.at_work.may(needed) else "today"


def concluded_screen(state: DeskState) -> DeskScreen:
    """Where a concluded visit leads: its results, or that it is kept for someone who reads them."""
    return "results" if state.at_work.may("interpret") else "kept"


def _on_today(state: DeskState, verb: str, rest: str) -> Role | None:
    if verb == "open":
        return _to_open(state, rest)
    if verb in SEEKING:
        return _to_seek(state)
    return "administer" if verb == "new" else None


def _to_seek(state: DeskState) -> Role | None:
    """People are found to give a visit, or to read one they have had."""
    return None if state.at_work.may("interpret") else "administer"


def _to_open(state: DeskState, visit_id: str) -> Role | None:
    """To go on with a visit, or to read one."""
    row = next((one for one in state.rows if str(one.visit_id) == visit_id), None)
    if row is None or row.state == "not_concluded":
        return None
    return "interpret" if row.state in CONCLUDED else "administer"

