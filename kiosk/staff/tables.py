"""Reference tables: the one in use, and the folders that may be loaded."""

from dataclasses import dataclass
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Screen, SiteTile, StaffContext, back, site_head
from kiosk.staff.site import Site
from kiosk.visits.actions import Action
from kiosk.wording.staff_parts import ListRow, ListView


@dataclass(frozen=True)
class PickTable(Action):
    """A folder with a table."""

    folder: str


@dataclass(frozen=True)
class TableRow:
    """A reference table: in use, or a folder that may be loaded."""

    name: str
    version: str
    title: str
    status: str
    tested: str
    in_use: bool = False
    folder: str = ""


@dataclass(frozen=True)
class ListTables(Effect):
    """Look up the table in use and the folders that hold one."""


@dataclass(frozen=True)
class LoadTable(Effect):
    """Keep a folder's table; a real one judges visits from now on."""

    folder: str


@dataclass(frozen=True)
class Tables(Screen):
    """The tables that are there."""

    rows: tuple[TableRow, ...] = ()
    name: ClassVar[str] = "tables"
    needs: ClassVar[Right | None] = Right.LEAD_SITE

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Load the table of a folder."""
        match action:
            case StaffAction.BACK:
                return Moved(Site())
            case PickTable(folder) if any(row.folder == folder and not row.in_use for row in self.rows):
                return self.stay(LoadTable(folder))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ListView:
        """Name, when its people were tested, and whether it is in use."""
        say = language.say
        columns = (say("Reference group"), say("Tested"), say("State"))
        return ListView(site_head(context, say("Reference groups"), language), columns,
                        tuple(_row(one, language) for one in self.rows), (back(language),),
                        self.note_in(language), say("There is no folder with a reference group."))


def _row(row: TableRow, language: Language) -> ListRow:
    say = language.say
    name = say("%(name)s, version %(version)s", name=row.title or row.name, version=row.version)
    simulated = say("simulated") if row.status == "synthetic" else row.status
    used = say("in use, %(status)s", status=simulated) if row.in_use else say("load")
    return ListRow(PickTable(row.folder), (name, row.tested, used))


TILE: Final = SiteTile(ListTables(), lambda context, language: (language.say("Reference groups"), ""))
