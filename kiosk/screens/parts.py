"""What a screen is made of: its scene (painter, language, clock, where actions go) and its still parts.

Millimetres about the window's centre, y up. A part is a Kivy widget that knows the box it keeps; still parts
draw once and answer no touch.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from kivy.graphics import Canvas, Color
from kivy.uix.widget import Widget

from kiosk.figures.marks import Align, Box, around
from kiosk.i18n.language import Language
from kiosk.screens import alpha
from kiosk.screens.painter import Painter, TouchPanel
from kiosk.screens.theme import (
    ACT,
    FIELD_RADIUS_MM,
    PATH_MM,
    READ,
    READ_STRONG,
    RULE_MM,
    SPEAK,
    TELL,
    TypeStyle,
)
from kiosk.visits.actions import Action
from kiosk.visits.course import ProgressDot

FIELD: Final = around(0.0, 0.0, 150.0, 125.0)
HATCHED_MM: Final = 2.4
DOT_MM: Final = 4.0
DOT_GAP_MM: Final = 2.6
BLOCK_GAP_MM: Final = 5.6
HEADLINE_MM: Final = 168.0
SENTENCE_MM: Final = 152.0


@dataclass(frozen=True, eq=False)
class Scene:
    """What every part needs: painter, language, the clock in seconds, and where an action is reported.

    offered: the languages a person may choose from, none where there is no choice. spoken: someone has spoken
    this screen, and it can be heard again.
    """

    painter: Painter
    language: Language
    now_s: Callable[[], float]
    report: Callable[[Action], None]
    offered: tuple[str, ...] = ()
    spoken: bool = False

    @property
    def panel(self) -> TouchPanel:
        """The window on the touch panel."""
        return self.painter.panel

    @property
    def leading(self) -> int:
        """-1 where lines begin at the left, +1 where they begin at the right."""
        return 1 if self.painter.letters.rtl else -1

    def line_start(self, left: float, right: float) -> tuple[float, Align]:
        """Where lines between two edges begin, and how they are aligned there."""
        return (left, "left") if self.leading < 0 else (right, "right")


class Plain(Widget):
    """A widget of our own drawing: the toolkit's style sheet, which goes by class name, is left out."""

    def apply_class_lang_rules(self, *_args: object, **_values: object) -> None:
        """Apply no rules of the style sheet."""


class Part(Plain):
    """A part of a screen: its name, the box it keeps clear, and the boxes of its words."""

    def __init__(self, scene: Scene, name: str, box: Box) -> None:
        left, bottom, right, top = scene.painter.edges_px(box)
        super().__init__(size_hint=(None, None), pos=(left, bottom), size=(right - left, top - bottom))
        self.scene, self.name, self.box = scene, name, box
        self.words: list[Box] = []

    def say(self, text: str, style: TypeStyle, x: float, baseline: float, role: str, align: Align = "centre",
            canvas: Canvas | None = None) -> Color:
        """One line of words; its colour."""
        ink, box = self.scene.painter.words(canvas or self.canvas, text, style, x, baseline, role, align)
        self.words.append(box)
        return ink

    def tick(self, now_s: float) -> None:
        """Time passed; still parts have nothing to do."""

    def on_leave(self) -> None:
        """Called when the screen is left."""


class Field(Part):
    """The still, rounded field the disc moves in."""

    def __init__(self, scene: Scene) -> None:
        super().__init__(scene, "field", FIELD)
        scene.painter.cleared(self.canvas, FIELD, FIELD_RADIUS_MM, "field", "ground")


class Hatched(Part):
    """The hatched edge of a caution: no hue."""

    def __init__(self, scene: Scene, box: Box) -> None:
        super().__init__(scene, "caution edge", box)
        scene.painter.hatch(self.canvas, box, "text")


class Path(Part):
    """The circle the disc follows; the target hides it around itself."""

    def __init__(self, scene: Scene, radius_mm: float) -> None:
        across = 2 * radius_mm + PATH_MM
        super().__init__(scene, "path", around(0.0, 0.0, across, across))
        scene.painter.circle_line(self.canvas, radius_mm, PATH_MM, "line")


class ProgressDots(Part):
    """One dot a planned trial: done, now, to come. On a line (mirrored right to left) or upright."""

    def __init__(self, scene: Scene, dots: Sequence[ProgressDot], x: float, y: float, *,
                 upright: bool) -> None:
        """Upright: from (x, y) downwards; else centred about (x, y)."""
        places = _along(dots)
        length = places[-1] + DOT_MM if places else DOT_MM
        size = (DOT_MM + 1.8, length + 1.8) if upright else (length + 1.8, DOT_MM + 1.8)
        super().__init__(scene, "progress_dots", around(x, y - length / 2 if upright else y, *size))
        away = [place + DOT_MM / 2 - length / 2 for place in places]
        spots = [(dot.state, (0.0, -one) if upright else (-scene.leading * one, 0.0))
                 for dot, one in zip(dots, away, strict=True)]
        scene.painter.picture(self.canvas, self.box, _dot_layers(spots))


def _dot_layers(spots: Sequence[tuple[str, tuple[float, float]]]) -> dict[str, alpha.Distance]:
    """The shapes of each colour, mm from the middle of the row."""
    shapes: dict[str, list[alpha.Distance]] = {}
    for state, (x, y) in spots:
        for role, shape in _DOTS.get(state, _DOTS["done"]):
            shapes.setdefault(role, []).append(alpha.moved(shape, x, y))
    return {role: alpha.union(*group) for role, group in shapes.items()}


_DOTS: Final = {
    "now": (("text", alpha.ring(1.9, 2.9)), ("text", alpha.disc(1.0))),
    "todo": (("line", alpha.ring(DOT_MM / 2 - 0.6, DOT_MM / 2)),),
    "done": (("quiet", alpha.disc(DOT_MM / 2)),),
}


def _along(dots: Sequence[ProgressDot]) -> list[float]:
    """Where each dot begins, mm from the first."""
    places = [0.0] if dots else []
    for before, dot in pairwise(dots):
        same = (before.block, before.hand) == (dot.block, dot.hand)
        places.append(places[-1] + DOT_MM + (DOT_GAP_MM if same else BLOCK_GAP_MM))
    return places


@dataclass(frozen=True)
class Fitted:
    """A message as it will stand: lines of headline and sentence, the headline's style, the height in mm."""

    headline: tuple[str, ...]
    style: TypeStyle
    sentence: tuple[str, ...]
    height: float


def fit(scene: Scene, headline: str, sentence: str, zone: Box) -> Fitted:
    """The message with the largest headline that fits the zone; the smallest where none does."""
    letters = scene.painter.letters
    lines = letters.lines(sentence, TELL, min(SENTENCE_MM, zone.width))
    for style in SPEAK:
        head = letters.lines(headline, style, min(HEADLINE_MM, zone.width))
        fitted = Fitted(head, style, lines, _height(head, style, lines))
        if fitted.height <= zone.height and letters.widest_mm(head, style) <= min(HEADLINE_MM, zone.width):
            break
    return fitted


def pages(scene: Scene, headline: str, sentences: Sequence[str], zone: Box) -> list[tuple[str, str]]:
    """Headline and sentences, on as many pages as the zone needs; a longer language takes another page."""
    filled: list[tuple[str, str]] = []
    for sentence in sentences:
        longer = f"{filled[-1][1]} {sentence}" if filled else sentence
        if filled and fit(scene, headline, longer, zone).height <= zone.height:
            filled[-1] = (headline, longer)
        else:
            filled.append((headline, sentence))
    return filled or [(headline, "")]


def _height(head: Sequence[str], style: TypeStyle, lines: Sequence[str]) -> float:
    """From the top of the first capital to the last baseline."""
    after = style.pitch_mm * (len(head) - 1) + style.cap_mm
    return after + (style.pitch_mm + TELL.pitch_mm * (len(lines) - 1) if lines else 0.0)


class Message(Part):
    """A headline and a sentence, centred in their zone."""

    def __init__(self, scene: Scene, headline: str, sentence: str, zone: Box) -> None:
        super().__init__(scene, "message", zone)
        self.fitted = fitted = fit(scene, headline, sentence, zone)
        baseline = zone.y + fitted.height / 2 - fitted.style.cap_mm
        for line in fitted.headline:
            self.say(line, fitted.style, zone.x, baseline, "text")
            baseline -= fitted.style.pitch_mm
        for line in fitted.sentence:
            self.say(line, TELL, zone.x, baseline, "quiet")
            baseline -= TELL.pitch_mm


class Header(Part):
    """Identity mark, title, who and when, and the rule below: on every staff screen."""

    def __init__(self, scene: Scene, title: str, who_and_when: str) -> None:
        panel, painter, lead = scene.panel, scene.painter, scene.leading
        edge, top = panel.box.width / 2 - panel.margin, panel.box.top
        super().__init__(scene, "header", Box(-edge, top - 21.0, 2 * edge, 21.0 - 6.0))
        mark_x, y = lead * (edge - 4.2), top - 13.0
        painter.ring(self.canvas, mark_x, y, 3.2, 4.2, "text")
        painter.disc(self.canvas, mark_x, y, 2.2, "target")
        _, start = scene.line_start(-edge, edge)
        end: Align = "left" if start == "right" else "right"
        room = 2 * edge - 4.2 - 8.0 - painter.letters.width_mm(who_and_when, READ) - 4.0
        if painter.letters.width_mm(title, ACT) <= room:
            self.say(title, ACT, mark_x - lead * 8.0, y - 2.5, "text", start)
        else:
            for row, line in enumerate(painter.letters.lines(title, READ_STRONG, room)):
                self.say(line, READ_STRONG, mark_x - lead * 8.0, y + 1.4 - row * 6.2, "text", start)
        self.say(who_and_when, READ, -lead * edge, y - 2.0, "quiet", end)
        painter.box(self.canvas, Box(-edge, top - 21.0, 2 * edge, RULE_MM), "line")
