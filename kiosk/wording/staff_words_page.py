"""The concluded visit in words for staff: the page before it is printed, its copy lines, why, and replay."""

from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.visits.desk_state import DeskState
from kiosk.wording.measures import trial_label
from kiosk.wording.page_parts import PageContent
from kiosk.wording.staff_parts import (
    Control,
    Option,
    PageView,
    ReplayPath,
    ReplayView,
    StaffView,
    TextView,
)
from kiosk.wording.staff_shown import Shown, back, head, note
from kiosk.wording.staff_words_visit import say_sign
from kiosk.wording.why import why_sentence

SPACE: Final = " "


def copy_lines(content: PageContent, language: Language) -> tuple[str, str]:
    """Two plain lines for the clinic's record: who and which page; then the two sentences."""
    say = language.say
    who = say("%(code)s, %(when)s, %(visit)s, page %(tag)s.", code=code_of(content, language),
              when=content.when, visit=content.visit_line, tag=content.page_tag)
    said = (part for one in content.headlines for part in (_headed(one.word, one.sentence), one.chance))
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


def _page(state: DeskState, shown: Shown, language: Language) -> PageView:
    say, content, page = language.say, shown.content, state.page
    reviewed = page is not None and page.reviewed
    lines = (f"{content.fit.title} {content.fit.answer}", content.headlines[0].sentence,
             say("Reviewed.") if reviewed else say("Not yet reviewed"))
    return PageView(head(state, say("Page"), language), content.page_tag, lines,
                    copy_lines(content, language), qr_text(content, language),
                    _page_controls(reviewed, language), note(state, language))


def _page_controls(reviewed: bool, language: Language) -> tuple[Control, ...]:
    say_in = language.say_in
    return (Control("results", say_in("button", "Results"), "quiet"),
            Control("later", say_in("button", "Later"), "quiet"),
            Control("amend", say_in("button", "Amend")), Control("copy", say_in("button", "Copy line")),
            Control("leaflet", say_in("button", "Leaflet")), Control("save", say_in("button", "Save")),
            Control("sign", say_sign(language), available=not reviewed),
            Control("print", say_in("button", "Print"), "main"))


def _copy(state: DeskState, shown: Shown, language: Language) -> PageView:
    return PageView(head(state, language.say("Copy line"), language), shown.content.page_tag, (),
                    copy_lines(shown.content, language), qr_text(shown.content, language),
                    (back(language),))


def _why(state: DeskState, shown: Shown, language: Language) -> TextView:
    said = why_sentence(state.why, shown.findings, language)
    return TextView(head(state, language.say("Why?"), language), (said,), (back(language),))


def _replay(state: DeskState, shown: Shown, language: Language) -> ReplayView:
    options = tuple(Option(f"trial {at}", trial_label(one.block, one.number, language),
                           at == state.replay_trial) for at, one in enumerate(shown.replay))
    paths: tuple[ReplayPath, ...] = ()
    if shown.replay:
        one = shown.replay[min(state.replay_trial, len(shown.replay) - 1)]
        first = () if one.first is None else (ReplayPath(shown.visit_dates[0], *one.first),)
        paths = (*first, ReplayPath(shown.visit_dates[1], *one.latest))
    told = "" if len(paths) > 1 else language.say("There is no earlier visit to show beside it.")
    return ReplayView(head(state, language.say("Replay"), language), paths, options, (back(language),), told)


VIEWS: Final[Mapping[str, Callable[[DeskState, Shown, Language], StaffView]]] = {
    "page": _page, "copy": _copy, "why": _why, "replay": _replay,
}
