"""The page or the person's leaflet goes to paper or into a file.

The leaflet holds no result, so that everybody may give it, and it does not change how far the page is.
"""

from dataclasses import dataclass
from enum import Enum
from typing import ClassVar

from kiosk.i18n.language import Language
from kiosk.staff.actions import StaffAction
from kiosk.staff.rights import Right, may
from kiosk.staff.screen import (
    Effect,
    Moved,
    Result,
    Screen,
    StaffContext,
    back,
    next_,
    person_head,
    site_head,
    today,
)
from kiosk.visits.actions import Action
from kiosk.wording.circumstances import language_words
from kiosk.wording.staff_parts import Control, Head, NoticeView
from norms import Refusal


class Paper(Enum):
    """What goes out: the clinician's page or the person's leaflet."""

    PAGE = "page"
    LEAFLET = "leaflet"


class PaperAction(Action, Enum):
    """What is done with it."""

    PRINT = "print"
    SAVE = "save"
    LEAFLET = "leaflet"
    CANCEL = "cancel"


@dataclass(frozen=True)
class PrintPaper(Effect):
    """Send it to the printer."""

    paper: Paper
    slow: ClassVar[bool] = True


@dataclass(frozen=True)
class SavePaper(Effect):
    """Save it as a file."""

    paper: Paper
    page: Screen


@dataclass(frozen=True)
class CancelPrint(Effect):
    """Take back what is being printed."""


@dataclass(frozen=True)
class PaperPrinted(Result):
    """It lies in the printer."""

    printer: str

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Show that it was printed."""
        return Moved(Printed(*screen.out, self.printer)) if isinstance(screen, PaperScreen) else screen.stay()


@dataclass(frozen=True)
class PaperNotPrinted(Result):
    """Nothing came, and nothing is waiting for it."""

    reason: Refusal

    def on_result(self, screen: Screen, context: StaffContext) -> Moved:
        """Show why, with the ways to save or try again."""
        if not isinstance(screen, PaperScreen):
            return screen.stay()
        return Moved(NotPrinted(*screen.out, note=self.reason))


@dataclass(frozen=True)
class PaperScreen(Screen):
    """On the way to paper. page: the screen to come back to for whoever may read it."""

    paper: Paper
    page: Screen
    needs: ClassVar[Right | None] = Right.READ_RESULTS

    @property
    def out(self) -> tuple[Paper, Screen]:
        """What goes out, and where it was chosen."""
        return self.paper, self.page

    def right(self, action: Action, context: StaffContext) -> Right | None:
        """Everybody may put out the leaflet; the page needs the screen's right."""
        return None if self.paper is Paper.LEAFLET else super().right(action, context)

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Print, save, give the leaflet, leave, or go on."""
        match action:
            case PaperAction.PRINT:
                return print_out(*self.out)
            case PaperAction.SAVE:
                return self.stay(SavePaper(*self.out))
            case StaffAction.LATER:
                return today(self)
            case PaperAction.LEAFLET:
                return Moved(GiveLeaflet(Paper.LEAFLET, self.page))
            case StaffAction.NEXT:
                return Moved(self.after(context))
        return self.stay()

    def after(self, context: StaffContext) -> Screen:
        """The page, or what stands in its place for who may not read it."""
        return self.page if may(context.at_work, Right.READ_RESULTS) else Kept(self.page)

    def head(self, context: StaffContext, language: Language) -> Head:
        """The header: page or leaflet, and whose."""
        leaflet = self.paper is Paper.LEAFLET
        return person_head(context, language.say("Leaflet") if leaflet else language.say("Page"), language)

    def leaflet_next(self, language: Language) -> tuple[Control, ...]:
        """The control that leads on from page to leaflet."""
        if self.paper is Paper.LEAFLET:
            return ()
        return (Control(PaperAction.LEAFLET, language.say_in("button", "Leaflet")),)


@dataclass(frozen=True)
class Printing(PaperScreen):
    """Shown until it is out, or was taken back."""

    name: ClassVar[str] = "printing"
    locks: ClassVar[bool] = False

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Cancel the print job."""
        return self.stay(CancelPrint()) if action is PaperAction.CANCEL else self.stay()

    def right(self, action: Action, context: StaffContext) -> Right | None:
        """Everybody may cancel."""
        return None if action is PaperAction.CANCEL else super().right(action, context)

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that says which page is being printed."""
        cancel = Control(PaperAction.CANCEL, language.say_in("button", "Cancel"))
        return NoticeView(language.say("Printing."), self._named(context, language), (cancel,),
                          self.head(context, language))

    def _named(self, context: StaffContext, language: Language) -> str:
        if context.concluded is None:
            return ""
        if self.paper is Paper.LEAFLET:
            return language.say("Leaflet %(tag)s", tag=context.concluded.tag)
        return language.say("Page %(tag)s", tag=context.concluded.tag)


@dataclass(frozen=True)
class Printed(PaperScreen):
    """It lies in the printer."""

    printer: str
    name: ClassVar[str] = "printed"

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice with the printer and the page's tag."""
        again = Control(PaperAction.PRINT, language.say_in("button", "Print again"))
        return NoticeView(language.say("Printed."), self._take(context, language),
                          (again, *self.leaflet_next(language), next_(language)),
                          self.head(context, language))

    def _take(self, context: StaffContext, language: Language) -> str:
        say = language.say
        if context.concluded is None:
            return ""
        told = {"printer": self.printer, "tag": context.concluded.tag}
        if self.paper is Paper.LEAFLET:
            return say("Printer: %(printer)s. Take the leaflet marked %(tag)s.", **told)
        return say("Printer: %(printer)s. Take the page marked %(tag)s.", **told)


@dataclass(frozen=True)
class NotPrinted(PaperScreen):
    """It is not on paper; the note says why."""

    name: ClassVar[str] = "not_printed"

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice with the reason and ways to go on."""
        say_in = language.say_in
        controls = (Control(StaffAction.LATER, say_in("button", "Later"), "quiet"),
                    Control(PaperAction.PRINT, say_in("button", "Try again")),
                    Control(PaperAction.SAVE, say_in("button", "Save"), "main"))
        return NoticeView(language.say("Not printed."), self.note_in(language), controls,
                          self.head(context, language))


@dataclass(frozen=True)
class Saved(PaperScreen):
    """It is a file."""

    file: str
    name: ClassVar[str] = "saved"

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice with the file's name."""
        say = language.say
        told = say("Leaflet saved: %(file)s", file=self.file) if self.paper is Paper.LEAFLET else say(
            "Page saved: %(file)s", file=self.file)
        return NoticeView(say("Saved."), told, (*self.leaflet_next(language), next_(language)),
                          self.head(context, language))


@dataclass(frozen=True)
class GiveLeaflet(PaperScreen):
    """The leaflet is offered, in the person's language."""

    name: ClassVar[str] = "leaflet"
    needs: ClassVar[Right | None] = None

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Print or save it, or go back."""
        match action:
            case PaperAction.PRINT | PaperAction.SAVE:
                return super().step(action, context)
            case StaffAction.BACK:
                return Moved(self.after(context))
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that says what the leaflet is."""
        say, say_in = language.say, language.say_in
        persons = "" if context.concluded is None else language_words(context.concluded.language, language)
        told = say("Half a page in %(language)s, to take home. No result stands on it.", language=persons)
        controls = (back(language), Control(PaperAction.SAVE, say_in("button", "Save")),
                    Control(PaperAction.PRINT, say_in("button", "Print"), "main"))
        return NoticeView(say("Leaflet for the person"), told, controls, self.head(context, language))


@dataclass(frozen=True)
class Kept(Screen):
    """A concluded visit, for an account that does not read results."""

    page: Screen
    name: ClassVar[str] = "kept"

    def step(self, action: Action, context: StaffContext) -> Moved:
        """Give the leaflet, or go on to today's list."""
        match action:
            case PaperAction.LEAFLET:
                return Moved(GiveLeaflet(Paper.LEAFLET, self.page))
            case StaffAction.NEXT:
                return today(self)
        return self.stay()

    def view(self, context: StaffContext, language: Language) -> NoticeView:
        """A notice that a colleague reads the results."""
        say = language.say
        leaflet = Control(PaperAction.LEAFLET, language.say_in("button", "Leaflet"))
        return NoticeView(say("The visit is kept."),
                          say("Its results are read by a colleague who signs pages."),
                          (leaflet, next_(language)), site_head(context, say("Today"), language))


def print_out(paper: Paper, page: Screen) -> Moved:
    """Printing is said first."""
    return Moved(Printing(paper, page), (PrintPaper(paper),))
