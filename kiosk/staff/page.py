"""The page before it goes out: printed, saved or copied; signed; amended."""

from dataclasses import dataclass
from enum import Enum
from typing import ClassVar, Final

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.amend import Amend
from kiosk.staff.concluded import Concluded
from kiosk.staff.printing import GiveLeaflet, Paper, PaperAction, SavePaper, print_out
from kiosk.staff.rights import Right
from kiosk.staff.screen import Moved, Screen, StaffContext, back, person_head, today
from kiosk.staff.sign import SignAction, Signer, sign_word
from kiosk.visits.actions import Action
from kiosk.wording.page_parts import PageContent
from kiosk.wording.staff_parts import Control, PageView

SPACE: Final = " "


class PageAction(Action, Enum):
    """What may be done with a page, besides printing, saving and signing it."""

    RESULTS = "results"
    COPY = "copy"
    AMEND = "amend"


@dataclass(frozen=True)
class PageScreen(Screen):
    """A picture of the page of the concluded visit, and what may be done with it."""

    results: Screen
    name: ClassVar[str] = "page"
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Out, signed, put right, or left."""
        here = self.cleared()
        match action:
            case PaperAction.PRINT:
                return print_out(Paper.PAGE, here)
            case PaperAction.SAVE:
                return self.stay(SavePaper(Paper.PAGE, here))
            case PaperAction.LEAFLET:
                return Moved(GiveLeaflet(Paper.LEAFLET, here))
            case SignAction.SIGN if context.concluded is not None and not context.concluded.reviewed:
                return Moved(Signer(here))
            case PageAction.AMEND:
                return Moved(Amend(here))
            case PageAction.COPY:
                return Moved(CopyLine(here))
            case PageAction.RESULTS:
                return Moved(self.results)
            case StaffAction.LATER:
                return today(self)
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> PageView:
        """Its tag, whether it is fit and reviewed, and its picture."""
        say, concluded = language.say, at_hand(context)
        content = concluded.content
        today = content.headlines[0]
        lines = (f"{content.fit.title} {content.fit.answer}", today.brief or today.sentence,
                 say("Reviewed.") if concluded.reviewed else say("Not yet reviewed"))
        return PageView(person_head(context, say("Page"), language), content.page_tag, lines,
                        copy_lines(content, language), qr_text(content, language),
                        _controls(concluded.reviewed, language), self.note_in(language))


@dataclass(frozen=True)
class CopyLine(Screen):
    """The lines for the clinic's record, and as a QR code."""

    page: Screen
    name: ClassVar[str] = "copy"
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Go back to the page."""
        return Moved(self.page) if action is StaffAction.BACK else self.stay()

    def view(self, context: StaffContext, language: Language) -> PageView:
        """The copy lines as text and as a QR code."""
        content = at_hand(context).content
        return PageView(person_head(context, language.say("Copy line"), language), content.page_tag, (),
                        copy_lines(content, language), qr_text(content, language), (back(language),))


def at_hand(context: StaffContext) -> Concluded:
    """The concluded visit; ValueError where there is none."""
    if context.concluded is None:
        raise ValueError("concluded must be a visit to show its page, got none")
    return context.concluded


def copy_lines(content: PageContent, language: Language) -> tuple[str, str]:
    """Two plain lines for the clinic's record: who and which page; then the two sentences."""
    say = language.say
    who = say("%(code)s, %(when)s, %(visit)s, page %(tag)s.", code=code_of(content, language),
              when=content.when, visit=content.visit_line, tag=content.page_tag)
    said = (part for one in content.headlines
            for part in (_headed(one.word, one.brief or one.sentence), one.chance))
    return who, SPACE.join(part for part in said if part)


def qr_text(content: PageContent, language: Language) -> str:
    """What the QR code holds: the two lines."""
    return "\n".join(copy_lines(content, language))


def code_of(content: PageContent, language: Language) -> str:
    """The person's code as the page has it."""
    label = language.say("Code")
    return next((one.value for one in content.identity if one.label == label), "")


def _headed(word: str, sentence: str) -> str:
    return f"{word}: {sentence}" if word else sentence


def _controls(reviewed: bool, language: Language) -> tuple[Control, ...]:
    say_in = language.say_in
    return (Control(PageAction.RESULTS, say_in("button", "Results"), "quiet"),
            Control(StaffAction.LATER, say_in("button", "Later"), "quiet"),
            Control(PageAction.AMEND, say_in("button", "Amend")),
            Control(PageAction.COPY, say_in("button", "Copy line")),
            Control(PaperAction.LEAFLET, say_in("button", "Leaflet")),
            Control(PaperAction.SAVE, say_in("button", "Save")),
            Control(SignAction.SIGN, sign_word(language), available=not reviewed),
            Control(PaperAction.PRINT, say_in("button", "Print"), "main"))
