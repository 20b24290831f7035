"""The page of a tablet's passport: a line for each measurement, then what changed."""

from collections.abc import Iterator, Mapping

from kiosk.i18n.language import Language
from kiosk.visits.passport import FigureChange, MeasuredBy, Measurement, Passport
from kiosk.wording.reasons import sentence
from kiosk.wording.verdicts import verdict_words


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
    yield language.say("%(what)s (%(date)s, %(who)s): %(figures)s", what=_name(one.by, language),
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


def _name(by: MeasuredBy, language: Language) -> str:
    say = language.say
    names: Mapping[MeasuredBy, str] = {
        MeasuredBy.CARD: say("Size, with a card"), MeasuredBy.PANEL: say("Touch and picture"),
        MeasuredBy.CROSSES: say("Touch, with five crosses"),
        MeasuredBy.LINES: say("Straight lines, along a ruler"),
        MeasuredBy.FILM: say("Latency, from a slow-motion video"),
        MeasuredBy.SLIDE: say("Latency, with a slide")}
    return names[by]


def _figure(name: str, value: float, language: Language) -> str:
    """One figure in words; figures that only the file has are left out."""
    say, places = language.say, {"px_per_mm_x": 2, "px_per_mm_y": 2}
    number = language.number(value, places.get(name, 1))
    messages = {
        "px_per_mm_x": lambda: say("across %(number)s pixels a millimetre", number=number),
        "px_per_mm_y": lambda: say("up %(number)s pixels a millimetre", number=number),
        "latency_ms": lambda: say("%(number)s ms", number=number),
        "sd_ms": lambda: say("SD %(number)s ms", number=number),
        "rate_hz": lambda: say("%(number)s touches a second", number=number),
        "refresh_hz": lambda: say("%(number)s pictures a second", number=number),
        "noise_mm": lambda: say("jitter %(number)s mm", number=language.number(value, 2)),
        "mean_mm": lambda: say("mean offset %(number)s mm", number=number)}
    return messages[name]() if name in messages else ""
