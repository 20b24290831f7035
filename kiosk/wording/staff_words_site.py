"""The tablet's measurements and the languages in words: card, crosses, check, latency, what was found."""

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from kiosk.i18n.language import Language
from kiosk.touch.cross_check import CROSSES_MM
from kiosk.touch.verdict import DeviceReason, Verdict
from kiosk.visits.desk_site import ROUNDS, STEPS_PX
from kiosk.visits.desk_state import DeskState
from kiosk.visits.site_work import SiteWork
from kiosk.wording.adaptation_words import record_words
from kiosk.wording.circumstances import language_words
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import (
    CardView,
    Choices,
    ChoiceView,
    Control,
    CrossView,
    Figure,
    FigureView,
    Option,
    StaffView,
)
from kiosk.wording.staff_shown import back, next_, note, site_head
from kiosk.wording.units import amount


def _card(state: DeskState, language: Language) -> CardView:
    say, site = language.say, state.site
    prompt = say("Lay a bank card on the outline. Make the outline as wide as the card.") if (
        site.axis == "width") else say("Now make the outline as high as the card.")
    width_px, height_px = site.outline_px
    lengths = (width_px, height_px) if site.axis == "width" else (height_px, width_px)
    number = language.number
    steps = (*(Control(f"narrower {step}", number(-step)) for step in reversed(STEPS_PX)),
             *(Control(f"wider {step}", number(step, signed=True)) for step in STEPS_PX))
    title = say("Size, round %(n)s of %(m)s", n=number(len(site.rounds) + 1), m=number(ROUNDS))
    return CardView(site_head(state, title, language), prompt, site.axis, *lengths,
                    (back(language), *steps, next_(language)), note(state, language))


def _crosses(state: DeskState, language: Language) -> CrossView:
    done = len(state.site.touches_mm)
    x_mm, y_mm = CROSSES_MM[min(done, len(CROSSES_MM) - 1)]
    return CrossView(site_head(state, language.say("Touch"), language),
                     language.say("Touch the middle of the cross with the fingertip."), x_mm, y_mm, done,
                     len(CROSSES_MM), (back(language),))


def _device_check(state: DeskState, language: Language) -> FigureView:
    say = language.say
    told = say("Keep drawing slow circles with one finger until this page changes.") if (
        state.site.checking) else say("Draw slow circles with one finger over the whole glass.")
    start = Control("start_check", language.say_in("button", "Start"), "main", not state.site.checking)
    return FigureView(site_head(state, say("Touch and picture"), language), told, (),
                      (back(language), start), note(state, language))


def _figures(state: DeskState, language: Language) -> FigureView:
    sentence_said, figures = _FOUND[state.figures](state.site, language)
    keep = Control("next", language.say_in("button", "Keep"), "main")
    return FigureView(site_head(state, language.say("Found"), language), sentence_said, figures,
                      (back(language), keep), note(state, language))


def verdict_words(verdict: Verdict, language: Language) -> str:
    """Pass, warn or refuse, in words."""
    say = language.say
    return {"pass": say("Fit for visits."), "warn": say("Fit for visits, with a note."),
            "refuse": say("Not fit for visits.")}[verdict]


def _reasons(reasons: Sequence[DeviceReason], language: Language) -> tuple[Figure, ...]:
    return tuple(Figure("", sentence(one.code, one.values, language),
                        verdict_words(one.verdict, language), one.verdict) for one in reasons)


def _calibration(site: SiteWork, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say = language.say
    if site.measured is None:
        return "", ()
    found = site.measured.calibration
    figures = (Figure(say("Across"), say("%(number)s pixels a millimetre",
                                         number=language.number(found.px_per_mm_x, 2))),
               Figure(say("Up"), say("%(number)s pixels a millimetre",
                                     number=language.number(found.px_per_mm_y, 2))))
    return say("The two rounds agree."), figures


def _cross_figures(site: SiteWork, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say, check = language.say, site.crosses
    if check is None:
        return "", ()
    figures = (Figure(say("Mean offset"), amount(check.mean_mm, "mm", language)),
               Figure(say("Largest offset"), amount(check.worst_mm, "mm", language)),
               Figure(say("Scatter"), amount(check.sd_mm, "mm", language)))
    return verdict_words(check.verdict, language), (*figures, *_reasons(check.reasons, language))


def _check_figures(site: SiteWork, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say, check = language.say, site.check
    if check is None:
        return "", ()
    field = say("%(width)s by %(height)s mm", width=language.number(check.field_w_mm),
                height=language.number(check.field_h_mm))
    figures = (
        Figure(say("Touches"), say("%(number)s a second", number=language.number(check.touch.rate_hz))),
        Figure(say("Pictures"), say("%(number)s a second",
                                    number=language.number(check.display.shown_hz))),
        Figure(say("Time without a new picture"), language.percent(100 * check.display.late_share, 1)),
        Figure(say("Window"), field))
    return verdict_words(check.verdict, language), (*figures, *_reasons(check.reasons, language))


def _latency_figures(site: SiteWork, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say, latency = language.say, site.latency
    if latency is None:
        return "", ()
    told = say("This is taken off every lag and delay measured on this tablet.")
    return told, (Figure(say("Latency"), amount(latency.latency_ms, "ms", language)),
                  Figure(say("SD of the passes"), amount(latency.sd_ms, "ms", language)))


def _languages(state: DeskState, language: Language) -> ChoiceView:
    options = tuple(Option(f"set language {tag}", language_words(tag, language), tag == state.language)
                    for tag in state.languages)
    draft = "" if language.status in ("approved", "source") else language.say(
        "These words have not been checked by a second translator.")
    return ChoiceView(site_head(state, language.say("Languages"), language),
                      (Choices(language.say("Staff's language"), options, record_words(language)),),
                      (back(language),), draft)


_FOUND: Final[Mapping[str, Callable[[SiteWork, Language], tuple[str, tuple[Figure, ...]]]]] = {
    "calibration": _calibration, "crosses": _cross_figures, "check": _check_figures,
    "latency": _latency_figures,
}
VIEWS: Final[Mapping[str, Callable[[DeskState, Language], StaffView]]] = {
    "card": _card, "crosses": _crosses, "device_check": _device_check, "figures": _figures,
    "languages": _languages,
}
