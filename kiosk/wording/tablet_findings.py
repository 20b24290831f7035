"""What was measured of a tablet, in a sentence and its figures."""

from collections.abc import Sequence

from kiosk.i18n.language import Language
from kiosk.touch.card_calibration import Measured
from kiosk.touch.cross_check import CrossCheck
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.latency import DeviceLatency
from kiosk.touch.line_check import Line, LineCheck, LineFigures
from kiosk.touch.verdict import DeviceReason
from kiosk.wording.reasons import sentence
from kiosk.wording.staff_parts import Figure
from kiosk.wording.units import amount
from kiosk.wording.verdicts import verdict_words

Finding = Measured | CrossCheck | DeviceCheck | LineCheck | DeviceLatency


def found_words(found: Finding, language: Language) -> tuple[str, tuple[Figure, ...]]:
    """A finding in a sentence and its figures."""
    match found:
        case Measured():
            return _calibration(found, language)
        case CrossCheck():
            return _crosses(found, language)
        case DeviceCheck():
            return _check(found, language)
        case LineCheck():
            return verdict_words(found.verdict, language), (
                *of_lines(found.lines, language), *_reasons(found.reasons, language))
        case DeviceLatency():
            return _latency(found, language)


def _calibration(found: Measured, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say, calibration = language.say, found.calibration
    figures = (Figure(say("Across"), say("%(number)s pixels a millimetre",
                                         number=language.number(calibration.px_per_mm_x, 2))),
               Figure(say("Up"), say("%(number)s pixels a millimetre",
                                     number=language.number(calibration.px_per_mm_y, 2))))
    return say("The two rounds agree."), figures


def _crosses(check: CrossCheck, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say = language.say
    figures = (Figure(say("Mean offset"), amount(check.mean_mm, "mm", language)),
               Figure(say("Largest offset"), amount(check.worst_mm, "mm", language)),
               Figure(say("Scatter"), amount(check.sd_mm, "mm", language)))
    return verdict_words(check.verdict, language), (*figures, *_reasons(check.reasons, language))


def _check(check: DeviceCheck, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say = language.say
    field = say("%(width)s by %(height)s mm", width=language.number(check.field_w_mm),
                height=language.number(check.field_h_mm))
    figures = (
        Figure(say("Touches"), say("%(number)s a second", number=language.number(check.touch.rate_hz))),
        Figure(say("Pictures"), say("%(number)s a second",
                                    number=language.number(check.display.shown_hz))),
        Figure(say("Time without a new picture"), language.percent(100 * check.display.late_share, 1)),
        Figure(say("Window"), field))
    return verdict_words(check.verdict, language), (*figures, *_reasons(check.reasons, language))


def line_name(line: Line, language: Language) -> str:
    """The name of a straight line to be drawn."""
    names = {
        Line.STILL: language.say_in("line", "at rest"),
        Line.ACROSS_SLOW: language.say_in("line", "across, slowly"),
        Line.ACROSS_BRISK: language.say_in("line", "across, briskly"),
        Line.UP_SLOW: language.say_in("line", "upwards, slowly"),
        Line.UP_BRISK: language.say_in("line", "upwards, briskly"),
        Line.CORNERS_SLOW: language.say_in("line", "from corner to corner, slowly"),
        Line.CORNERS_BRISK: language.say_in("line", "from corner to corner, briskly")}
    return names[line]


def of_lines(lines: Sequence[LineFigures], language: Language) -> tuple[Figure, ...]:
    """Of each line its jitter, and how far it is bent."""
    return tuple(Figure(line_name(one.line, language), language.say(
        "jitter %(jitter)s, bent %(bow)s", jitter=amount(one.jitter_mm, "mm", language),
        bow=amount(one.bow_mm, "mm", language))) for one in lines)


def _latency(latency: DeviceLatency, language: Language) -> tuple[str, tuple[Figure, ...]]:
    say = language.say
    told = say("This is taken off every lag and delay measured on this tablet.")
    se_ms = say("%(number)s ms", number=language.number(latency.se_ms, 1))
    return told, (Figure(say("Latency"), amount(latency.latency_ms, "ms", language)),
                  Figure(say("SD of the passes"), amount(latency.sd_ms, "ms", language)),
                  Figure(say("Standard error"), se_ms))


def _reasons(reasons: Sequence[DeviceReason], language: Language) -> tuple[Figure, ...]:
    return tuple(Figure("", sentence(one.code, one.values, language),
                        verdict_words(one.verdict, language), one.verdict) for one in reasons)


def daily_figures(figures: Sequence[tuple[str, float, float | None]],
                  language: Language) -> tuple[Figure, ...]:
    """Figures of the day's check, each beside what is usual."""
    say = language.say
    labels = {"mean_mm": say("Mean offset"), "rate_hz": say("Touches a second"), "noise_mm": say("Jitter"),
              "refresh_hz": say("Pictures a second")}
    return tuple(Figure(labels[name], _beside(name, now, before, language)) for name, now, before in figures)


def _beside(name: str, now: float, before: float | None, language: Language) -> str:
    places = 0 if name.endswith("_hz") else 1
    told = language.number(now, 0) if places == 0 else amount(now, "mm", language)
    if before is None:
        return told
    return language.say("%(now)s, usually %(usual)s", now=told, usual=language.number(before, places))
