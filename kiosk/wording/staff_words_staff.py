"""Accounts, one's own passphrase and PIN, and backups, in words."""

from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_state import DeskState
from kiosk.visits.site_work import Backups
from kiosk.visits.staff import ROLES, StaffRow
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import (
    Choices,
    ChoiceView,
    Control,
    Head,
    ListRow,
    ListView,
    NoticeView,
    StaffView,
    TextView,
)
from kiosk.wording.staff_shown import back, next_, note, site_head
from kiosk.wording.staff_words_door import role_options, role_words


def backup_words(told: Backups, language: Language) -> str:
    """How the copies stand, for one cell of a list."""
    say = language.say
    if told.running:
        return say("being made now")
    if told.trouble is not None:
        return say("the last one was not made")
    if told.newest is None:
        return say("none yet")
    return say("last on %(date)s, %(time)s", date=language.date(told.newest.date()),
               time=language.time(told.newest))


def _kept(state: DeskState, language: Language) -> NoticeView:
    say = language.say
    return NoticeView(say("The visit is kept."), say("Its results are read by a colleague who signs pages."),
                      (Control("leaflet", language.say_in("button", "Leaflet")), next_(language)),
                      Head(say("Today"), language.time(state.at)))


def _staff(state: DeskState, language: Language) -> ListView:
    say = language.say
    rows = tuple(ListRow(f"account {one.id}", (one.name, _does(one, language))) for one in state.staff)
    add = Control("add", language.say_in("button", "New account"), "main")
    return ListView(site_head(state, say("Staff"), language), (say("Account"), say("Does")), rows,
                    (back(language), add), note(state, language))


def _does(one: StaffRow, language: Language) -> str:
    if not one.active:
        return language.say("closed")
    return ", ".join(role_words(role, language) for role in ROLES if role in one.roles)


def _account(state: DeskState, language: Language) -> ChoiceView:
    say, say_in, known = language.say, language.say_in, state.account
    name, roles = ("", frozenset[str]()) if known is None else (known.name, known.roles)
    controls = (back(language), Control("close", say_in("button", "Close account"), hold_s=0.6),
                Control("next", say_in("button", "Keep"), "main", bool(roles)))
    row = Choices(say("What this account does"), role_options(roles, language),
                  say("A closed account signs in no more. What it did stays. Hold to close it."))
    return ChoiceView(Head(say("Account"), name), (row,), controls, note(state, language))


def _own(state: DeskState, language: Language) -> TextView:
    say, say_in = language.say, language.say_in
    does = ", ".join(role_words(role, language) for role in ROLES if state.at_work.may(role))
    controls = (back(language), Control("passphrase", say_in("button", "New passphrase")),
                Control("pin", say_in("button", "New PIN")))
    return TextView(Head(say("My account"), state.at_work.name), (does, say(
        "The passphrase opens the store. The PIN re-opens the screen while the store is open: for 15 minutes "
        "after the last touch, and until five wrong PINs.")), controls, note(state, language))


def _backup(state: DeskState, language: Language) -> TextView:
    say, told = language.say, state.backups
    said = note(state, language)
    if not said and told.trouble is not None:
        said = sentence(told.trouble.code, told.trouble.values, language)
    paragraphs = (
        say("Backup: %(state)s. Kept: %(count)s.", state=backup_words(told, language),
            count=language.number(told.kept)),
        say("A copy is made and examined by itself: once a day and after every five visits, when nobody "
            "touches the tablet."),
        say("In the folder %(folder)s. On another disk it outlives this tablet.", folder=told.folder))
    begin = Control("begin_backup", language.say_in("button", "Back up now"), "main", not told.running)
    return TextView(site_head(state, say("Backup"), language), paragraphs, (back(language), begin), said)


VIEWS: Final[Mapping[str, Callable[[DeskState, Language], StaffView]]] = {
    "kept": _kept, "staff": _staff, "account": _account, "own": _own, "backup": _backup,
}
