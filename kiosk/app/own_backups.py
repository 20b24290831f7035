"""Copies of the store that the kiosk makes by itself, while nobody is here."""

from dataclasses import replace
from datetime import UTC, timedelta
from typing import Final

from kiosk.app.driver import Clinic
from kiosk.app.session import Session
from kiosk.base.errors import Refused
from kiosk.staff.lock import Locked
from kiosk.staff.today import Today
from kiosk.visits.backups import Backups

IDLE_S: Final = 60.0
LOOK_EACH_S: Final = 60.0
VISITS_BETWEEN: Final = 5
TRY_AGAIN: Final = timedelta(minutes=30)
IDLE_ON: Final = (Today, Locked)


def look_again(clinic: Clinic, opened: Session) -> None:
    """How the copies stand now, on the screens that say so."""
    told, zone = opened.backups(), clinic.context.at.tzinfo
    newest = None if told.newest is None else told.newest.astimezone(zone)
    clinic.know(replace(clinic.context, backups=replace(told, newest=newest)))
    clinic.draw_anew()


def follow(clinic: Clinic) -> None:
    """Once a frame of staff's screens: what became of a copy, and whether one is due while nobody is here.

    The files are looked at once a minute; a visit at hand is never looked at.
    """
    opened, now_s = clinic.kit.session, clinic.kit.now_ns() / 1e9
    if opened is None or clinic.sitting is not None:
        return
    try:
        ended = opened.follow_backup()
    except Refused:  # the copy is there; its line in the audit comes with the next one
        ended = True
    if ended:
        look_again(clinic, opened)
    if now_s < clinic.next_look_s:
        return
    clinic.next_look_s = now_s + LOOK_EACH_S
    look_again(clinic, opened)
    if is_idle(clinic) and is_due(clinic):
        opened.begin_backup()
        look_again(clinic, opened)


def is_idle(clinic: Clinic) -> bool:
    """Whether nobody touches the tablet and no visit is at hand."""
    context = clinic.context
    untouched_s = (context.at - context.active_at).total_seconds()
    return isinstance(clinic.state.screen, IDLE_ON) and untouched_s >= IDLE_S


def is_due(clinic: Clinic) -> bool:
    """Once a day and after every five visits; half an hour after one that was not made."""
    told, now = clinic.context.backups, clinic.context.at
    if told.running or (told.trouble is not None and _too_soon(told, clinic)):
        return False
    if told.newest is None or told.newest.date() != now.date():
        return True
    begun = clinic.kit.archive.visits_since(told.newest.astimezone(UTC))
    return len(begun) >= VISITS_BETWEEN


def _too_soon(told: Backups, clinic: Clinic) -> bool:
    return told.tried is not None and clinic.context.at - told.tried < TRY_AGAIN
