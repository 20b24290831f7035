"""The exploration sheet of a trial: paths, distance, along and across, speed, spectrum, scores.

Every turn of a circle, and every five seconds of a wandering path, is drawn by itself, so that no line lies
over another untold. As PDF (a page a trial) or
as PNG, from the same drawing.
"""

from collections.abc import Sequence
from io import BytesIO
from typing import Final

import numpy as np

from kiosk.i18n.language import Language
from kiosk.report.document import document
from kiosk.report.panel import Axis, Floats, Panel, Surface, even_axis, log_axis
from kiosk.report.paper import (
    DATA,
    LINE,
    PAPERS,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    SPACINGS,
    TEXT,
    TITLE,
)
from kiosk.report.picture import Picture
from kiosk.report.sheet import Sheet
from kiosk.scoring.stalls import begins
from kiosk.scoring.traces import Traces
from kiosk.wording.exploration_words import ExplorationWords

PAPER: Final = PAPERS["A4"]
AXIS_MM: Final = 10.0  # room for the numbers left of a plot
PATH_SPAN_MM: Final = 60.0  # glass on either side of the field's centre that a path shows
FASTEST_SHOWN: Final = 99.5  # percentile of the hand's speed at which the axis ends
Explored = tuple[Traces, ExplorationWords]


def exploration_pdf(trials: Sequence[Explored], language: Language) -> bytes:
    """One page a trial."""
    out, title = BytesIO(), " · ".join(dict.fromkeys(words.title for _, words in trials))
    canvas = document(out, PAPER, language.script, language.tag, title, SMALL)
    for traces, words in trials:
        explore(Sheet(PAPER, language.script, SPACINGS[0], canvas), traces, words, language)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def exploration_png(explored: Explored, language: Language) -> bytes:
    """One trial as a picture."""
    picture = Picture(PAPER, language.script)
    explore(picture, *explored, language)
    return picture.png()


def explore(surface: Surface, traces: Traces, words: ExplorationWords, language: Language) -> None:
    """Draw the sheet of one trial."""
    surface.write(0, 5.0, words.title, TITLE)
    surface.write(0, 10.5, words.about, SMALL_QUIET)
    _paths(surface, traces, words, 19.0)
    _over_time(surface, traces, words, language)
    _spectrum(surface, traces, words, language, 202.0)
    _scores(surface, words, 202.0)
    surface.write(0, 263.0, words.caution, SMALL_QUIET)


def _paths(surface: Surface, traces: Traces, words: ExplorationWords, top_mm: float) -> None:
    """Each turn, or each five seconds, by itself; a finger off the glass breaks the hand's line."""
    size, pitch = 43.0, 45.6
    axis = Axis(-PATH_SPAN_MM, PATH_SPAN_MM, ())
    hand = np.where(traces.contact, traces.hand, np.nan)
    for place, (turn, title) in enumerate(zip(traces.stretches(), words.paths, strict=True)):
        left = place * pitch
        panel = Panel(surface, left, top_mm, left + size, top_mm + size, axis, axis)
        surface.write(left, top_mm - 1.4, title, SMALL_STRONG)
        panel.line(traces.disc[turn].real, traces.disc[turn].imag, 0.45, LINE)
        panel.line(hand[turn].real, hand[turn].imag, 0.3, DATA)
    surface.write(0, top_mm + size + 3.0, words.paths_note, SMALL_QUIET)


def _over_time(surface: Surface, traces: Traces, words: ExplorationWords, language: Language) -> None:
    seconds = even_axis(float(traces.t_s[0]), float(traces.t_s[-1]))

    def panel(top_mm: float, height_mm: float, axis: Axis) -> Panel:
        return Panel(surface, AXIS_MM, top_mm, 177.5, top_mm + height_mm, seconds, axis)

    distance = panel(74.0, 26.0, even_axis(0.0, max(float(traces.distance_mm.max()), 15.0)))
    _shade(distance, traces)
    distance.level(traces.plan.disc_radius_mm)
    distance.line(traces.t_s, traces.distance_mm, 0.3, DATA)
    distance.frame(words.distance, language)
    parts = ((110.0, traces.along_mm, words.along), (138.0, traces.across_mm, words.across))
    for top_mm, values, title in parts:
        _signed(panel(top_mm, 18.0, _both_ways(traces)), traces.t_s, values, title, words.not_shown, language)
    fastest = max(float(np.percentile(traces.hand_speed, FASTEST_SHOWN)), float(traces.disc_speed.max()))
    speed = panel(166.0, 18.0, even_axis(0.0, fastest))
    speed.line(traces.t_s, traces.disc_speed, 0.45, LINE)
    speed.line(traces.t_s, traces.hand_speed, 0.25, DATA)
    speed.frame(words.speed, language, words.seconds)


def _shade(panel: Panel, traces: Traces) -> None:
    """Every stretch off the disc, or off the glass."""
    off = ~traces.on_target
    ends = np.flatnonzero(begins(off[::-1]))[::-1]
    for begin, end in zip(np.flatnonzero(begins(off)).tolist(), (off.size - 1 - ends).tolist(), strict=True):
        panel.band(float(traces.t_s[begin]), float(traces.t_s[end]))


def _both_ways(traces: Traces) -> Axis:
    """One scale for along and across, as far up as down."""
    known = np.abs(np.concatenate([traces.along_mm, traces.across_mm]))
    most = max(float(np.nanmax(known)), 1.0) if np.isfinite(known).any() else 1.0
    top = even_axis(0.0, most).high
    return Axis(-top, top, (-top, 0.0, top), even_axis(0.0, most).decimals)


def _signed(panel: Panel, t_s: Floats, values: Floats, title: str, not_shown: str,
            language: Language) -> None:
    panel.level(0.0)
    panel.line(t_s, values, 0.3, DATA)
    panel.frame(title, language)
    if not np.isfinite(values).any():
        panel.surface.write(panel.left_mm + 3.0, panel.top_mm + 6.0, not_shown, SMALL)


def _spectrum(surface: Surface, traces: Traces, words: ExplorationWords, language: Language,
              top_mm: float) -> None:
    """Log power over log frequency, the line laid through 3 to 12 Hz, and what it says."""
    shake = traces.shake
    if shake is None:
        surface.write(AXIS_MM, top_mm - 1.4, words.spectrum, SMALL_STRONG)
        surface.write(AXIS_MM + 3.0, top_mm + 6.0, words.not_shown, SMALL)
        return
    power = np.maximum(np.exp(shake.log_power), 1e-9)
    x = Axis(float(shake.f_hz[0]), float(shake.f_hz[-1]), (1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0), log=True)
    panel = Panel(surface, AXIS_MM + 4.0, top_mm, 100.0, top_mm + 44.0, x, log_axis(power.min(), power.max()))
    fitted = (shake.f_hz >= 3.0) & (shake.f_hz <= 12.0)
    panel.line(shake.f_hz, power, 0.4, DATA)
    panel.line(shake.f_hz[fitted], np.exp(shake.line_nat[fitted]), 0.5, TEXT)
    panel.frame(words.spectrum, language, words.frequency)
    surface.write(AXIS_MM + 4.0, top_mm + 55.0, words.shake, SMALL)


def _scores(surface: Surface, words: ExplorationWords, top_mm: float) -> None:
    surface.write(108.0, top_mm - 1.4, words.fit, SMALL_STRONG)
    for place, (name, figure) in enumerate(words.scores):
        baseline = top_mm + 3.2 + place * 3.4
        surface.write(108.0, baseline, name, SMALL)
        surface.write(180.0, baseline, figure, SMALL, "right")
