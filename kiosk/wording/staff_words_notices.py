"""Words in the middle of the screen: locked, hand-over, power, a visit left in the middle, printing."""

from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_ready import enough_to_begin
from kiosk.visits.desk_state import DeskState
from kiosk.wording.circumstances import language_words
from kiosk.wording.instructions import locked_words, staff_word
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Control, Head, NoticeView
from kiosk.wording.staff_shown import back, head, next_, note
from kiosk.wording.staff_words_pads import power_words
from norms import Refusal


def _locked(state: DeskState, language: Language) -> NoticeView:
    words = locked_words(language)
    return NoticeView(words.headline, " ".join(words.sentences), (), None, staff_word(language))


def _clock_back(state: DeskState, language: Language) -> NoticeView:
    return NoticeView(language.say("The clock is wrong."), note(state, language), (), None,
                      staff_word(language))


def _power_low(state: DeskState, language: Language) -> NoticeView:
    return NoticeView(language.say("Plug in or charge first."), power_words(state.power, language),
                      (back(language),), head(state, language.say("Power"), language))


def _hand_over(state: DeskState, language: Language) -> NoticeView:
    return NoticeView(language.say("Please give me to the person."), "", (), None, staff_word(language))


def _paused(state: DeskState, language: Language) -> NoticeView:
    return NoticeView(
        language.say("Please give the tablet to the staff."),
        language.say("It needs power. What you did is saved."), (), None, staff_word(language))


def person_waits(reason: Refusal, language: Language) -> NoticeView:
    """In the person's part: something must be put right first. Nothing of the person stands on it."""
    say = language.say
    told = (say("Someone will help you."), sentence(reason.code, reason.values, language))
    return NoticeView(say("Please wait."), " ".join(told), (), None, staff_word(language))


def _left_open(state: DeskState, language: Language) -> NoticeView:
    say, say_in = language.say, language.say_in
    enough = enough_to_begin(state.power)
    go_on = Control("resume", say_in("button", "Go on with it"), "main", enough)
    close = Control("close_visit", say_in("button", "Close it"))
    kept = say("What was done is kept.") if enough else say("Plug in or charge first.")
    return NoticeView(say("A visit was left in the middle."), kept, (back(language), close, go_on),
                      head(state, say("Visit"), language))


def _concluding(state: DeskState, language: Language) -> NoticeView:
    return NoticeView(language.say("One moment."), language.say("The recordings are being scored."), (),
                      head(state, language.say("Results"), language))


def _leaflet(state: DeskState, language: Language) -> NoticeView:
    say, say_in = language.say, language.say_in
    persons = "" if state.page is None else language_words(state.page.language, language)
    told = say("Half a page in %(language)s, to take home. No result stands on it.", language=persons)
    controls = (back(language), Control("save", say_in("button", "Save")),
                Control("print", say_in("button", "Print"), "main"))
    return NoticeView(say("Leaflet for the person"), told, controls, _paper_head(state, language))


def _printing(state: DeskState, language: Language) -> NoticeView:
    cancel = Control("cancel_print", language.say_in("button", "Cancel"))
    return NoticeView(language.say("Printing."), _paper_named(state, language), (cancel,),
                      _paper_head(state, language))


def _printed(state: DeskState, language: Language) -> NoticeView:
    again = Control("print", language.say_in("button", "Print again"))
    return NoticeView(language.say("Printed."), _take(state, language),
                      (again, *_leaflet_next(state, language), next_(language)), _paper_head(state, language))


def _take(state: DeskState, language: Language) -> str:
    page, say = state.page, language.say
    if page is None:
        return ""
    told = {"printer": page.printer, "tag": page.tag}
    if state.paper == "leaflet":
        return say("Printer: %(printer)s. Take the leaflet marked %(tag)s.", **told)
    return say("Printer: %(printer)s. Take the page marked %(tag)s.", **told)


def _not_printed(state: DeskState, language: Language) -> NoticeView:
    say_in = language.say_in
    controls = (Control("later", say_in("button", "Later"), "quiet"), Control("print", say_in("button",
                "Try again")), Control("save", say_in("button", "Save"), "main"))
    return NoticeView(language.say("Not printed."), note(state, language), controls,
                      _paper_head(state, language))


def _saved(state: DeskState, language: Language) -> NoticeView:
    name, say = "" if state.page is None else state.page.saved_as, language.say
    told = say("Leaflet saved: %(file)s", file=name) if state.paper == "leaflet" else say(
        "Page saved: %(file)s", file=name)
    return NoticeView(say("Saved."), told, (*_leaflet_next(state, language), next_(language)),
                      _paper_head(state, language))


def _leaflet_next(state: DeskState, language: Language) -> tuple[Control, ...]:
    """After the page, the leaflet."""
    return () if state.paper == "leaflet" else (Control("leaflet", language.say_in("button", "Leaflet")),)


def _paper_head(state: DeskState, language: Language) -> Head:
    say = language.say
    return head(state, say("Leaflet") if state.paper == "leaflet" else say("Page"), language)


def _refused(state: DeskState, language: Language) -> NoticeView:
    return NoticeView(language.say("This cannot go on."), note(state, language), (back(language),),
                      head(state, language.say("Staff"), language))


def _paper_named(state: DeskState, language: Language) -> str:
    if state.page is None:
        return ""
    if state.paper == "leaflet":
        return language.say("Leaflet %(tag)s", tag=state.page.tag)
    return language.say("Page %(tag)s", tag=state.page.tag)


VIEWS: Final[Mapping[str, Callable[[DeskState, Language], NoticeView]]] = {
    "locked": _locked, "clock_back": _clock_back, "power_low": _power_low, "hand_over": _hand_over,
    "paused": _paused, "left_open": _left_open, "concluding": _concluding, "printing": _printing,
    "printed": _printed, "not_printed": _not_printed, "saved": _saved, "refused": _refused,
    "leaflet": _leaflet,
}
