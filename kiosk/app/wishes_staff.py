"""Wishes about accounts and backups; a kiosk that keeps nothing has neither."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, timedelta
from typing import Final

from kiosk.app.driver import Clinic
from kiosk.app.session import Session
from kiosk.base.errors import Refused
from kiosk.visits import desk_staff
from kiosk.visits.desk_state import DeskState
from kiosk.visits.site_work import Backups

IDLE_S: Final = 60.0
LOOK_EACH_S: Final = 60.0
VISITS_BETWEEN: Final = 5
TRY_AGAIN: Final = timedelta(minutes=30)
IDLE_ON: Final = ("today", "locked")


def session_of(clinic: Clinic) -> Session:
    """The open session; Refused `no_accounts` where everything is in memory."""
    if clinic.kit.session is None:
        raise Refused("no_accounts")
    return clinic.kit.session


def _door(clinic: Clinic, purpose: str) -> None:
    session_of(clinic)
    clinic.at_door = purpose  # type: ignore[assignment]


def _staff(clinic: Clinic, _: str) -> None:
    clinic.state = desk_staff.staff_told(clinic.state, session_of(clinic).staff())


def _set_roles(clinic: Clinic, _: str) -> None:
    session, known = session_of(clinic), clinic.state.account
    if known is not None:
        session.set_roles(known.id, known.roles)
        clinic.state = replace(clinic.state, at_work=session.at_work)
    _back_to_staff(clinic)


def _close_account(clinic: Clinic, _: str) -> None:
    session, known = session_of(clinic), clinic.state.account
    if known is not None:
        session.close_account(known.id)
    if session.open:
        _back_to_staff(clinic)


def _back_to_staff(clinic: Clinic) -> None:
    """The list of accounts, or today's where the account at work leads no more."""
    if clinic.state.at_work.may("site_lead"):
        _staff(clinic, "")
    else:
        clinic.told((replace(clinic.state, screen="today", account=None), ("today",)))


def _begin_backup(clinic: Clinic, _: str) -> None:
    """By hand; never in a visit."""
    if clinic.sitting is not None:
        raise Refused("visit_in_progress")
    session_of(clinic).begin_backup()
    _told(clinic)


def _told(clinic: Clinic) -> None:
    told, zone = session_of(clinic).backups(), clinic.state.at.tzinfo
    newest = None if told.newest is None else told.newest.astimezone(zone)
    clinic.state = replace(clinic.state, backups=replace(told, newest=newest))
    clinic.draw_anew()


def _follow_backup(clinic: Clinic, _: str) -> None:
    """Once a frame of the desk: what became of a backup, and whether one is due while nobody is here.

    The files are looked at once a minute; a visit at hand is never looked at.
    """
    session, now_s = clinic.kit.session, clinic.kit.now_ns() / 1e9
    if session is None or clinic.sitting is not None:
        return
    try:
        ended = session.follow_backup()
    except Refused:  # the copy is there; its line in the audit comes with the next one
        ended = True
    if ended:
        _told(clinic)
    if now_s < clinic.next_look_s:
        return
    clinic.next_look_s = now_s + LOOK_EACH_S
    _told(clinic)
    if is_idle(clinic.state) and is_due(clinic):
        session.begin_backup()
        _told(clinic)


def is_idle(state: DeskState) -> bool:
    """Whether nobody touches the tablet and no visit is at hand."""
    return state.screen in IDLE_ON and (state.at - state.active_at).total_seconds() >= IDLE_S


def is_due(clinic: Clinic) -> bool:
    """Once a day and after every five visits; half an hour after one that was not made."""
    told, now = clinic.state.backups, clinic.state.at
    if told.running or (told.trouble is not None and _too_soon(told, clinic)):
        return False
    if told.newest is None or told.newest.date() != now.date():
        return True
    begun = clinic.kit.archive.visits_since(told.newest.astimezone(UTC))
    return len(begun) >= VISITS_BETWEEN


def _too_soon(told: Backups, clinic: Clinic) -> bool:
    return told.tried is not None and clinic.state.at - told.tried < TRY_AGAIN


WISHES: Final[dict[str, Callable[[Clinic, str], None]]] = {
    "door": _door, "staff": _staff, "set_roles": _set_roles, "close_account": _close_account,
    "begin_backup": _begin_backup, "follow_backup": _follow_backup,
}
