"""The staff's language."""

from dataclasses import dataclass, replace
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.answers import answer_words
from kiosk.staff.screen import Moved, Screen, SiteTile, StaffContext, back, site_head
from kiosk.staff.site import Site
from kiosk.visits.actions import Action
from kiosk.wording.adaptation_words import record_words
from kiosk.wording.staff_parts import Choices, ChoiceView, Option


@dataclass(frozen=True)
class Languages(Screen):
    """Every language of the kiosk."""

    name: ClassVar[str] = "languages"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Another language from now on."""
        match action:
            case StaffAction.BACK:
                return Moved(Site())
            case Answer("language", tag) if tag in context.languages:
                return Moved(Site(), (), replace(context, language=tag))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> ChoiceView:
        """Who translated this one, and whether somebody checked it."""
        say = language.say
        options = tuple(Option(Answer("language", tag), answer_words("language", tag, language),
                               tag == context.language) for tag in context.languages)
        draft = "" if language.status in ("approved", "source") else say(
            "These words have not been checked by a second translator.")
        return ChoiceView(site_head(context, say("Languages"), language),
                          (Choices(say("Staff's language"), options, record_words(language)),),
                          (back(language),), draft)


TILE: Final = SiteTile(Languages(), lambda context, language: (language.say("Languages"), ""), right=None)
