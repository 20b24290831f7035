"""What a screen is made of: its surroundings (pen, language, clock, where actions go) and its still parts.

Millimetres about the window's centre, y up. A part is a Kivy widget that knows the box it keeps; still parts
draw once and answer no touch.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from kivy.uix.widget import Widget

from kiosk.figures.marks import Box, around
from kiosk.i18n.language import Language
from kiosk.screens import alpha
from kiosk.screens.layout import Glass
from kiosk.screens.pen import Pen
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
from kiosk.visits.agenda import Bead

FIELD: Final = around(0.0, 0.0, 150.0, 125.0)
HATCHED_MM: Final = 2.4
BEAD_MM: Final = 4.0
BEAD_GAP_MM: Final = 2.6
BLOCK_GAP_MM: Final = 5.6
HEADLINE_MM: Final = 168.0
SENTENCE_MM: Final = 152.0


@dataclass(frozen=True, eq=False)
class Scene:
    """What every part needs: the pen, the language, the clock in seconds, and where an action is reported.

    offered: the languages a person may choose from, none where there is no choice. spoken: someone has spoken
    this screen, and it can be heard again.
    """

    pen: Pen
    language: Language
    now_s: Callable[[], float]
    report: Callable[[Action], None]
    offered: tuple[str, ...] = ()
    spoken: bool = False

    @property
    def glass(self) -> Glass:
        """The window on the glass."""
        return self.pen.glass

    @property
    def leading(self) -> int:
        """-1 where lines begin at the left, +1 where they begin at the right."""
        return 1 if self.pen.letters.rtl else -1


class Plain(Widget):
    """A widget of our own drawing: the toolkit's style sheet, which goes by class name, is left out."""

    def apply_class_lang_rules(self, *_args: Any, **_values: Any) -> None:
        """None."""


class Part(Plain):
    """A part of a screen: its name, the box it keeps clear, and the boxes of its words."""

    def __init__(self, scene: Scene, name: str, box: Box) -> None:
        left, bottom, right, top = scene.pen.edges_px(box)
        super().__init__(size_hint=(None, None), pos=(left, bottom), size=(right - left, top - bottom))
        self.scene, self.name, self.box = scene, name, box
        self.words: list[Box] = []

    def say(self, text: str, style: TypeStyle, x: float, baseline: float, role: str, align: Any = "centre",
            canvas: Any = None) -> Any:
        """One line of words; its colour."""
        ink, box = self.scene.pen.words(canvas or self.canvas, text, style, x, baseline, role, align)
        self.words.append(box)
        return ink

    def tick(self, now_s: float) -> None:
        """Time passed; still parts have nothing to do."""

    def let_go(self) -> None:
        """The screen is left."""


class Field(Part):
    """The still, rounded field the disc moves in."""

    def __init__(self, scene: Scene) -> None:
        super().__init__(scene, "field", FIELD)
        scene.pen.cleared(self.canvas, FIELD, FIELD_RADIUS_MM, "field", "ground")


class Hatched(Part):
    """The hatched edge of a caution: no hue."""

    def __init__(self, scene: Scene, box: Box) -> None:
        super().__init__(scene, "caution edge", box)
        scene.pen.hatch(self.canvas, box, "text")


class Path(Part):
    """The circle the disc follows; the target hides it around itself."""

    def __init__(self, scene: Scene, radius_mm: float) -> None:
        across = 2 * radius_mm + PATH_MM
        super().__init__(scene, "path", around(0.0, 0.0, across, across))
        scene.pen.circle_line(self.canvas, radius_mm, PATH_MM, "line")


class Beads(Part):
    """One bead a planned trial: done, now, to come. On a line (mirrored right to left) or upright."""

    def __init__(self, scene: Scene, beads: Sequence[Bead], x: float, y: float, *, upright: bool) -> None:
        """Upright: from (x, y) downwards; else centred about (x, y)."""
        places = _along(beads)
        length = places[-1] + BEAD_MM if places else BEAD_MM
        size = (BEAD_MM + 1.8, length + 1.8) if upright else (length + 1.8, BEAD_MM + 1.8)
        super().__init__(scene, "beads", around(x, y - length / 2 if upright else y, *size))
        away = [place + BEAD_MM / 2 - length / 2 for place in places]
        spots = [(bead.state, (0.0, -one) if upright else (-scene.leading * one, 0.0))
                 for bead, one in zip(beads, away, strict=True)]
        scene.pen.picture(self.canvas, self.box, _bead_layers(spots))


def _bead_layers(spots: Sequence[tuple[str, tuple[float, float]]]) -> dict[str, alpha.Distance]:
    """The shapes of each colour, mm from the middle of the row."""
    shapes: dict[str, list[alpha.Distance]] = {}
    for state, (x, y) in spots:
        for role, shape in _BEADS.get(state, _BEADS["done"]):
            shapes.setdefault(role, []).append(alpha.moved(shape, x, y))
    return {role: alpha.union(*group) for role, group in shapes.items()}


_BEADS: Final = {
    "now": (("text", alpha.ring(1.9, 2.9)), ("text", alpha.disc(1.0))),
    "todo": (("line", alpha.ring(BEAD_MM / 2 - 0.6, BEAD_MM / 2)),),
    "done": (("quiet", alpha.disc(BEAD_MM / 2)),),
}


def _along(beads: Sequence[Bead]) -> list[float]:
    """Where each bead begins, mm from the first."""
    places = [0.0] if beads else []
    for before, bead in pairwise(beads):
        same = (before.block, before.hand) == (bead.block, bead.hand)
        places.append(places[-1] + BEAD_MM + (BEAD_GAP_MM if same else BLOCK_GAP_MM))
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
    letters = scene.pen.letters
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
        glass, pen, lead = scene.glass, scene.pen, scene.leading
        edge, top = glass.box.width / 2 - glass.margin, glass.box.top
        super().__init__(scene, "header", Box(-edge, top - 21.0, 2 * edge, 21.0 - 6.0))
        mark_x, y = lead * (edge - 4.2), top - 13.0
        pen.ring(self.canvas, mark_x, y, 3.2, 4.2, "text")
        pen.disc(self.canvas, mark_x, y, 2.2, "target")
        start, end = ("right", "left") if lead > 0 else ("left", "right")
        room = 2 * edge - 4.2 - 8.0 - pen.letters.width_mm(who_and_when, READ) - 4.0
        if pen.letters.width_mm(title, ACT) <= room:
            self.say(title, ACT, mark_x - lead * 8.0, y - 2.5, "text", start)
        else:
            for row, line in enumerate(pen.letters.lines(title, READ_STRONG, room)):
                self.say(line, READ_STRONG, mark_x - lead * 8.0, y + 1.4 - row * 6.2, "text", start)
        self.say(who_and_when, READ, -lead * edge, y - 2.0, "quiet", end)
        pen.box(self.canvas, Box(-edge, top - 21.0, 2 * edge, RULE_MM), "line")
