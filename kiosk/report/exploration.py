"""The exploration sheet of a trial: paths, distance, along and across, speed, spectrum, scores.

Every turn of a circle, and every five seconds of a wandering path, is drawn by itself, so that no line hides
another. The same drawing makes a PDF (a page a trial) on a Sheet or a PNG on a Picture: both are surfaces, in
millimetres from the top left of the live area, y downwards. A plot is a box on a surface; its data are in
their own units, y upwards, on straight or logarithmic axes, and NaN breaks a line. Decision scoring-12.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from kiosk.figures.marks import Align, Point, unbroken
from kiosk.i18n.fonts import font_file
from kiosk.i18n.language import Language
from kiosk.report.paper import (
    DATA,
    LINE,
    MM,
    PAPERS,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    SPACINGS,
    TEXT,
    TINT,
    TITLE,
    WHITE,
    Paper,
    Style,
)
from kiosk.report.sheet import Sheet, document
from kiosk.report.typesetting import line_direction
from kiosk.scoring.stalls import begins
from kiosk.scoring.traces import Traces
from kiosk.wording.exploration_words import ExplorationWords

PAPER: Final = PAPERS["A4"]
AXIS_MM: Final = 10.0  # room for the numbers left of a plot
PATH_SPAN_MM: Final = 60.0  # of the field on either side of the field's centre that a path shows
FASTEST_SHOWN: Final = 99.5  # percentile of the hand's speed at which the axis ends
Explored = tuple[Traces, ExplorationWords]
MOST_POINTS: Final = 1200
Floats = NDArray[np.float64]
PX_PER_MM: Final = 6
OVERSIZE: Final = 2


class Surface(Protocol):
    """What a plot is drawn on."""

    def text_width(self, text: str, style: Style) -> float: ...

    def write(
        self, x_mm: float, baseline_mm: float, text: str, style: Style, align: Align = "left"
    ) -> float: ...

    def polyline(self, points: Sequence[Point], width_mm: float, colour: str = TEXT) -> None: ...

    def rectangle(
        self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float, colour: str
    ) -> None: ...


@dataclass(frozen=True)
class Axis:
    """The range an axis covers in the data's unit, its ticks and how many decimals they show."""

    low: float
    high: float
    ticks: tuple[float, ...]
    decimals: int = 0
    log: bool = False

    def share(self, values: Floats) -> Floats:
        """Where values lie between the ends, 0 to 1; values beyond an end count as that end."""
        cut = np.clip(values, self.low, self.high)
        if self.log:
            return np.asarray(np.log(cut / self.low) / np.log(self.high / self.low))
        return np.asarray((cut - self.low) / (self.high - self.low))


@dataclass(frozen=True)
class Plot:
    """A box on a surface with its two axes."""

    surface: Surface
    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float
    x: Axis
    y: Axis

    def line(self, x: Floats, y: Floats, width_mm: float, colour: str) -> None:
        """A line through points, broken at NaN, thinned to what the eye can tell."""
        for run in unbroken(np.column_stack([x, y]), MOST_POINTS):
            self.surface.polyline(self._points(run[:, 0], run[:, 1]), width_mm, colour)

    def band(self, from_x: float, to_x: float, colour: str = TINT) -> None:
        """Shade a stretch of x over the whole height."""
        left, right = (self.left_mm + self._width() * self.x.share(np.array([from_x, to_x]))).tolist()
        self.surface.rectangle(left, self.top_mm, right, self.bottom_mm, colour)

    def level(self, y: float, width_mm: float = 0.2, colour: str = LINE) -> None:
        """Draw a horizontal line at one value."""
        self.line(np.array([self.x.low, self.x.high]), np.array([y, y]), width_mm, colour)

    def frame(self, title: str, language: Language, x_title: str = "") -> None:
        """Draw the title above, the two axes, and the ticks with their numbers."""
        surface, corner = self.surface, (self.left_mm, self.bottom_mm)
        surface.write(self.left_mm, self.top_mm - 1.4, title, SMALL_STRONG)
        surface.polyline([(self.left_mm, self.top_mm), corner, (self.right_mm, self.bottom_mm)], 0.25, LINE)
        for tick, y_mm in zip(self.y.ticks, self._down(np.array(self.y.ticks)).tolist(), strict=True):
            surface.polyline([(self.left_mm - 1.0, y_mm), (self.left_mm, y_mm)], 0.2, LINE)
            told = _number(tick, self.y, language)
            surface.write(self.left_mm - 1.6, y_mm + 1.0, told, SMALL_QUIET, "right")
        self._x_ticks(language)
        if x_title:
            surface.write(self.right_mm, self.bottom_mm + 7.2, x_title, SMALL_QUIET, "right")

    def _x_ticks(self, language: Language) -> None:
        across = self.left_mm + self._width() * self.x.share(np.array(self.x.ticks))
        for tick, x_mm in zip(self.x.ticks, across.tolist(), strict=True):
            self.surface.polyline([(x_mm, self.bottom_mm), (x_mm, self.bottom_mm + 1.0)], 0.2, LINE)
            self.surface.write(x_mm, self.bottom_mm + 4.0, _number(tick, self.x, language), SMALL, "centre")

    def _points(self, x: Floats, y: Floats) -> list[Point]:
        across = self.left_mm + self._width() * self.x.share(x)
        return list(zip(across.tolist(), self._down(y).tolist(), strict=True))

    def _down(self, y: Floats) -> Floats:
        return self.bottom_mm - (self.bottom_mm - self.top_mm) * self.y.share(y)

    def _width(self) -> float:
        return self.right_mm - self.left_mm


def _number(tick: float, axis: Axis, language: Language) -> str:
    decimals = max(axis.decimals, -int(np.floor(np.log10(tick)))) if axis.log and tick < 1 else axis.decimals
    return language.number(tick, decimals)


def even_axis(low: float, high: float) -> Axis:
    """An axis over these values with three to six round ticks.

    >>> even_axis(0.0, 23.0)
    Axis(low=0.0, high=25.0, ticks=(0.0, 5.0, 10.0, 15.0, 20.0, 25.0), decimals=0, log=False)
    """
    span = max(high - low, 1e-6)
    step = next(one for one in _round_steps() if span / one <= 5)
    first, last = int(np.floor(low / step + 1e-9)), int(np.ceil(high / step - 1e-9))
    ticks = tuple(float(step * one) for one in range(first, last + 1))
    return Axis(ticks[0], ticks[-1], ticks, max(0, -int(np.floor(np.log10(step) + 1e-9))))


def _round_steps() -> list[float]:
    return [lead * 10.0**power for power in range(-7, 7) for lead in (1.0, 2.0, 5.0)]


def log_axis(low: float, high: float) -> Axis:
    """A logarithmic axis over whole decades that holds these values, ticks at the decades.

    >>> log_axis(0.02, 3.0).ticks
    (0.01, 0.1, 1.0, 10.0)
    """
    first, last = int(np.floor(np.log10(low))), int(np.ceil(np.log10(high)))
    ticks = tuple(float(f"1e{power}") for power in range(first, max(last, first + 1) + 1))
    return Axis(ticks[0], ticks[-1], ticks, 0, log=True)


class Picture:
    """The live area of one sheet in pixels; the methods are those of Sheet."""

    def __init__(self, paper: Paper, script: str) -> None:
        self.paper, self.script = paper, script
        self.width_mm, self.height_mm = paper.live_width_mm, paper.live_height_mm
        size = (self._px(paper.width_mm), self._px(paper.height_mm))
        self._image = Image.new("RGB", size, WHITE)
        self._draw = ImageDraw.Draw(self._image)
        self._fonts: dict[Style, ImageFont.FreeTypeFont] = {}

    def text_width(self, text: str, style: Style) -> float:
        way = line_direction(self.script, text)
        return float(self._font(style).getlength(text, direction=way)) / (PX_PER_MM * OVERSIZE)

    def write(self, x_mm: float, baseline_mm: float, text: str, style: Style, align: Align = "left") -> float:
        """Write one line; the x of its right edge."""
        width = self.text_width(text, style)
        left = x_mm - {"left": 0.0, "centre": width / 2, "right": width}[align]
        way = line_direction(self.script, text)
        at = self._point(left, baseline_mm)
        self._draw.text(at, text, style.colour, self._font(style), anchor="ls", direction=way)
        return left + width

    def polyline(self, points: Sequence[Point], width_mm: float, colour: str = TEXT) -> None:
        """A stroke through points."""
        if len(points) > 1:
            placed = [self._point(*point) for point in points]
            self._draw.line(placed, colour, max(1, self._px(width_mm)), joint="curve")

    def rectangle(
        self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float, colour: str
    ) -> None:
        self._draw.rectangle((self._point(left_mm, top_mm), self._point(right_mm, bottom_mm)), colour)

    def png(self) -> bytes:
        """The picture as PNG with its resolution and without a date."""
        out = BytesIO()
        size = (self._image.width // OVERSIZE, self._image.height // OVERSIZE)
        small = self._image.resize(size, Image.Resampling.LANCZOS)
        small.save(out, "PNG", dpi=(PX_PER_MM * 25.4, PX_PER_MM * 25.4))
        return out.getvalue()

    def _font(self, style: Style) -> ImageFont.FreeTypeFont:
        if style not in self._fonts:
            size_px = style.size_pt / MM * PX_PER_MM * OVERSIZE
            file = str(font_file(self.script, style.weight))
            self._fonts[style] = ImageFont.truetype(file, size_px, layout_engine=ImageFont.Layout.RAQM)
        return self._fonts[style]

    def _point(self, x_mm: float, y_mm: float) -> Point:
        scale = PX_PER_MM * OVERSIZE
        return (self.paper.side_mm + x_mm) * scale, (self.paper.top_mm + y_mm) * scale

    def _px(self, length_mm: float) -> int:
        return round(length_mm * PX_PER_MM * OVERSIZE)


def exploration_pdf(trials: Sequence[Explored], language: Language) -> bytes:
    """The sheets as a PDF, one page a trial."""
    out, title = BytesIO(), " · ".join(dict.fromkeys(words.title for _, words in trials))
    canvas = document(out, PAPER, language.script, language.tag, title, SMALL)
    for traces, words in trials:
        explore(Sheet(PAPER, language.script, SPACINGS[0], canvas), traces, words, language)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def exploration_png(explored: Explored, language: Language) -> bytes:
    """The sheet of one trial as PNG."""
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
    """Each turn, or each five seconds, by itself; a finger off the screen breaks the hand's line."""
    size, pitch = 43.0, 45.6
    axis = Axis(-PATH_SPAN_MM, PATH_SPAN_MM, ())
    hand = np.where(traces.contact, traces.hand, np.nan)
    for place, (turn, title) in enumerate(zip(traces.stretches(), words.paths, strict=True)):
        left = place * pitch
        plot = Plot(surface, left, top_mm, left + size, top_mm + size, axis, axis)
        surface.write(left, top_mm - 1.4, title, SMALL_STRONG)
        plot.line(traces.disc[turn].real, traces.disc[turn].imag, 0.45, LINE)
        plot.line(hand[turn].real, hand[turn].imag, 0.3, DATA)
    surface.write(0, top_mm + size + 3.0, words.paths_note, SMALL_QUIET)


def _over_time(surface: Surface, traces: Traces, words: ExplorationWords, language: Language) -> None:
    seconds = even_axis(float(traces.t_s[0]), float(traces.t_s[-1]))

    def plot(top_mm: float, height_mm: float, axis: Axis) -> Plot:
        return Plot(surface, AXIS_MM, top_mm, 177.5, top_mm + height_mm, seconds, axis)

    distance = plot(74.0, 26.0, even_axis(0.0, max(float(traces.distance_mm.max()), 15.0)))
    _shade(distance, traces)
    distance.level(traces.plan.disc_radius_mm)
    distance.line(traces.t_s, traces.distance_mm, 0.3, DATA)
    distance.frame(words.distance, language)
    parts = ((110.0, traces.along_mm, words.along), (138.0, traces.across_mm, words.across))
    for top_mm, values, title in parts:
        _signed(plot(top_mm, 18.0, _both_ways(traces)), traces.t_s, values, title, words.not_shown, language)
    fastest = max(float(np.percentile(traces.hand_speed, FASTEST_SHOWN)), float(traces.disc_speed.max()))
    speed = plot(166.0, 18.0, even_axis(0.0, fastest))
    speed.line(traces.t_s, traces.disc_speed, 0.45, LINE)
    speed.line(traces.t_s, traces.hand_speed, 0.25, DATA)
    speed.frame(words.speed, language, words.seconds)


def _shade(plot: Plot, traces: Traces) -> None:
    """Shade every stretch in which the hand was off the disc or the finger off the screen."""
    off = ~traces.on_target
    ends = np.flatnonzero(begins(off[::-1]))[::-1]
    for begin, end in zip(np.flatnonzero(begins(off)).tolist(), (off.size - 1 - ends).tolist(), strict=True):
        plot.band(float(traces.t_s[begin]), float(traces.t_s[end]))


def _both_ways(traces: Traces) -> Axis:
    """One scale for along and across, symmetrical about 0."""
    known = np.abs(np.concatenate([traces.along_mm, traces.across_mm]))
    most = max(float(np.nanmax(known)), 1.0) if np.isfinite(known).any() else 1.0
    top = even_axis(0.0, most).high
    return Axis(-top, top, (-top, 0.0, top), even_axis(0.0, most).decimals)


def _signed(plot: Plot, t_s: Floats, values: Floats, title: str, not_shown: str,
            language: Language) -> None:
    plot.level(0.0)
    plot.line(t_s, values, 0.3, DATA)
    plot.frame(title, language)
    if not np.isfinite(values).any():
        plot.surface.write(plot.left_mm + 3.0, plot.top_mm + 6.0, not_shown, SMALL)


def _spectrum(surface: Surface, traces: Traces, words: ExplorationWords, language: Language,
              top_mm: float) -> None:
    """Power over frequency, both logarithmic, the line fitted to 3 to 12 Hz, and the sentence about it."""
    shake = traces.shake
    if shake is None:
        surface.write(AXIS_MM, top_mm - 1.4, words.spectrum, SMALL_STRONG)
        surface.write(AXIS_MM + 3.0, top_mm + 6.0, words.not_shown, SMALL)
        return
    power = np.maximum(np.exp(shake.log_power), 1e-9)
    x = Axis(float(shake.f_hz[0]), float(shake.f_hz[-1]), (1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0), log=True)
    plot = Plot(surface, AXIS_MM + 4.0, top_mm, 100.0, top_mm + 44.0, x, log_axis(power.min(), power.max()))
    fitted = (shake.f_hz >= 3.0) & (shake.f_hz <= 12.0)
    plot.line(shake.f_hz, power, 0.4, DATA)
    plot.line(shake.f_hz[fitted], np.exp(shake.line_nat[fitted]), 0.5, TEXT)
    plot.frame(words.spectrum, language, words.frequency)
    surface.write(AXIS_MM + 4.0, top_mm + 55.0, words.shake, SMALL)


def _scores(surface: Surface, words: ExplorationWords, top_mm: float) -> None:
    surface.write(108.0, top_mm - 1.4, words.fit, SMALL_STRONG)
    for place, (name, figure) in enumerate(words.scores):
        baseline = top_mm + 3.2 + place * 3.4
        surface.write(108.0, baseline, name, SMALL)
        surface.write(180.0, baseline, figure, SMALL, "right")
