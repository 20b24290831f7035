"""The page of a tablet's passport: a line for each measurement, then what changed."""

from collections.abc import Iterator, Mapping
from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Message, Messages
from kiosk.visits.passport import FigureChange, MeasuredBy, Measurement, Passport
from kiosk.wording.reasons import sentence
from kiosk.wording.verdicts import verdict_words

NAMES: Final[Mapping[MeasuredBy, Message]] = {
    MeasuredBy.CARD: N_("Size, with a card"),
    MeasuredBy.PANEL: N_("Touch and picture"),
    MeasuredBy.CROSSES: N_("Touch, with five crosses"),
    MeasuredBy.LINES: N_("Straight lines, along a ruler"),
    MeasuredBy.FILM: N_("Latency, from a slow-motion video"),
    MeasuredBy.SLIDE: N_("Latency, with a slide"),
}
FIGURES: Final[Messages] = {
    "px_per_mm_x": N_("across %(number)s pixels a millimetre"),
    "px_per_mm_y": N_("up %(number)s pixels a millimetre"),
    "latency_ms": N_("%(number)s ms"),
    "sd_ms": N_("SD %(number)s ms"),
    "rate_hz": N_("%(number)s touches a second"),
    "refresh_hz": N_("%(number)s pictures a second"),
    "noise_mm": N_("jitter %(number)s mm"),
    "mean_mm": N_("mean offset %(number)s mm"),
}
DECIMALS: Final = {"px_per_mm_x": 2, "px_per_mm_y": 2, "noise_mm": 2}  # one where none stand here


def passport_lines(passport: Passport, language: Language) -> tuple[str, ...]:
    """Every line under the proposed class, which is the heading."""
    say, panel, device = language.say, passport.panel, passport.device
    not_known = say("not known")
    head = (
        say("Touch panel: %(name)s; driver %(driver)s; firmware %(firmware)s; system %(kernel)s",
            name=panel.name or not_known, driver=panel.driver or not_known,
            firmware=panel.firmware or not_known, kernel=panel.kernel or not_known),
        say("Window: %(width)s by %(height)s pixels", width=device.panel_px_w, height=device.panel_px_h))
    return (*head, *(line for one in passport.newest for line in _measured(one, language)),
            *(_changed(one, language) for one in passport.changes if "." not in one.figure))


def _measured(one: Measurement, language: Language) -> Iterator[str]:
    figures = ", ".join(text for name, value in one.figures.items()
                        if (text := _figure(name, value, language)))
    yield language.say("%(what)s (%(date)s, %(who)s): %(figures)s", what=language.say_message(NAMES[one.by]),
                       date=language.date(one.made_at.date()), who=one.made_by or language.say("not known"),
                       figures=figures)
    if one.verdict is not None:
        reasons = (sentence(reason.code, reason.values, language) for reason in one.reasons)
        yield " ".join((verdict_words(one.verdict, language), *reasons))


def _changed(one: FigureChange, language: Language) -> str:
    return language.say("Changed since %(date)s: %(now)s, before %(before)s",
                        date=language.date(one.before_at.date()),
                        now=_figure(one.figure, one.now, language) or one.figure,
                        before=_figure(one.figure, one.before, language) or one.figure)


def _figure(name: str, value: float, language: Language) -> str:
    """One figure in words; figures that only the file has are left out."""
    if name not in FIGURES:
        return ""
    return language.say_message(FIGURES[name], number=language.number(value, DECIMALS.get(name, 1)))
