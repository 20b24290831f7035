"""Copies of the store that the kiosk makes by itself, while nobody is here."""

from dataclasses import replace
from datetime import UTC, timedelta
from typing import Final

from kiosk.app.driver import KioskDriver
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


def look_again(driver: KioskDriver, opened: Session) -> None:
    """How the copies stand now, on the screens that say so."""
    told, zone = opened.backups(), driver.context.at.tzinfo
    newest = None if told.newest is None else told.newest.astimezone(zone)
    driver.know(replace(driver.context, backups=replace(told, newest=newest)))
    driver.draw_anew()


def follow(driver: KioskDriver, opened: Session) -> None:
    """Once a frame of staff's screens: what became of a copy, and whether one is due while nobody is here.

    The files are looked at once a minute; a visit at hand is never looked at.
    """
    now_s = driver.deps.now_ns() / 1e9
    if driver.runner is not None:
        return
    try:
        ended = opened.follow_backup()
    except Refused:  # the copy is there; its line in the audit comes with the next one
        ended = True
    if ended:
        look_again(driver, opened)
    if now_s < driver.next_look_s:
        return
    driver.next_look_s = now_s + LOOK_EACH_S
    look_again(driver, opened)
    if is_idle(driver) and is_due(driver):
        opened.begin_backup()
        look_again(driver, opened)


def is_idle(driver: KioskDriver) -> bool:
    """Whether nobody touches the tablet and no visit is at hand."""
    context = driver.context
    untouched_s = (context.at - context.active_at).total_seconds()
    return isinstance(driver.state.screen, IDLE_ON) and untouched_s >= IDLE_S


def is_due(driver: KioskDriver) -> bool:
    """Once a day and after every five visits; half an hour after one that was not made."""
    told, now = driver.context.backups, driver.context.at
    if told.running or (told.trouble is not None and _too_soon(told, driver)):
        return False
    if told.newest is None or told.newest.date() != now.date():
        return True
    begun = driver.deps.archive.visits_since(told.newest.astimezone(UTC))
    return len(begun) >= VISITS_BETWEEN


def _too_soon(told: Backups, driver: KioskDriver) -> bool:
    return told.tried is not None and driver.context.at - told.tried < TRY_AGAIN
