"""Copies of the store: how they stand, and one made by hand."""

from dataclasses import dataclass
from enum import Enum
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Screen, SiteTile, StaffContext, back, note_words, site_head
from kiosk.staff.site import Site
from kiosk.visits.actions import Action
from kiosk.visits.backups import Backups
from kiosk.wording.staff_parts import Control, TextView


class BackupAction(Action, Enum):
    """A copy is made now."""

    BACK_UP = "back_up"


@dataclass(frozen=True)
class BeginBackup(Effect):
    """Make a copy, unless a visit is in progress."""


@dataclass(frozen=True)
class Backup(Screen):
    """How the copies stand."""

    name: ClassVar[str] = "backup"
    needs: ClassVar[Right | None] = Right.LEAD_SITE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Make a copy by hand, or go back."""
        match action:
            case StaffAction.BACK:
                return Moved(Site())
            case BackupAction.BACK_UP:
                return self.stay(BeginBackup())
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> TextView:
        """When, how many, where; and why the last one was not made."""
        say, told = language.say, context.backups
        said = self.note_in(language) or note_words(told.trouble, language)
        paragraphs = (
            say("Backup: %(state)s. Kept: %(count)s.", state=backup_words(told, language),
                count=language.number(told.kept)),
            say("A copy is made and examined by itself: once a day and after every five visits, when nobody "
                "touches the tablet."),
            say("In the folder %(folder)s. On another disk it outlives this tablet.", folder=told.folder))
        now = language.say_in("button", "Back up now")
        begin = Control(BackupAction.BACK_UP, now, "main", not told.running)
        return TextView(site_head(context, say("Backup"), language), paragraphs, (back(language), begin),
                        said)


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


TILE: Final = SiteTile(Backup(), lambda context, language: (
    language.say("Backup"), backup_words(context.backups, language)))
