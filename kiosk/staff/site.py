"""What the site lead does: a row for each feature; which there are is told by kiosk.staff.features."""

from dataclasses import dataclass
from typing import ClassVar

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.rights import Right
from kiosk.staff.screen import Effect, Moved, Screen, SiteTile, StaffContext, back, site_head, today
from kiosk.visits.actions import Action
from kiosk.wording.staff_parts import ListRow, ListView


@dataclass(frozen=True)
class Site(Screen):
    """The site's features."""

    name: ClassVar[str] = "site"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Open the feature of a tile."""
        match action:
            case StaffAction.BACK:
                return today(self)
            case SiteTile(opens=Effect() as effect):
                return self.stay(effect)
            case SiteTile(opens=Screen() as screen):
                return Moved(screen)
        return self.stay()

    def right(self, action: Action, context: StaffContext) -> Right | None:
        """A tile names its own right."""
        return action.right if isinstance(action, SiteTile) else super().right(action, context)

    def view(self, context: StaffContext, language: Language) -> ListView:
        """One row a tile, with how the feature stands."""
        rows = tuple(ListRow(tile, tile.words(context, language)) for tile in context.tiles)
        return ListView(site_head(context, language.say("Site"), language), ("", ""), rows, (back(language),),
                        self.note_in(language))
