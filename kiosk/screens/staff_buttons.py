"""Buttons for staff: choices, controls, keys, rows, and their corner on a person's screen. mm, s."""

from dataclasses import dataclass
from typing import Final

from kivy.graphics import InstructionGroup

from kiosk.figures.marks import Box, around
from kiosk.screens.buttons import Button, show
from kiosk.screens.parts import Scene
from kiosk.screens.staff_text import halved
from kiosk.screens.theme import (
    ACT,
    MAIN_WORDS,
    READ,
    READ_STRONG,
    RULE_MM,
    STAFF_OUTLINE_MM,
    STAFF_RADIUS_MM,
    TypeStyle,
)
from kiosk.visits.actions import Action, ScreenAction

STAFF_HOLD_S: Final = 2.0
STAFF_MM: Final = 15.0
LINES_MM: Final = 6.4       # pitch of two lines within a button
_BESIDE_MM: Final = 4.5


@dataclass(frozen=True)
class Face:
    """How a staff button looks: roles of fill ("" = none) and words, and the style of its words."""

    fill: str
    words: str
    style: TypeStyle
    outlined: bool = True
    beside: float = _BESIDE_MM
    least: float = STAFF_MM


CHOICE: Final = Face("surface", "text", READ)
CHOSEN: Final = Face("accent", "on_accent", READ_STRONG, outlined=False)
MAIN: Final = Face("text", "button_words", ACT, outlined=False, beside=6.0, least=30.0)
SECOND: Final = Face("surface", "text", READ, beside=5.0, least=20.0)
QUIET: Final = Face("ground", "quiet", READ, beside=5.0, least=20.0)
KEY: Final = Face("surface", "text", MAIN_WORDS, beside=3.0)
WORD_KEY: Final = Face("surface", "text", READ, beside=3.0)
UNAVAILABLE: Final = Face("", "quiet", READ)


class StaffButton(Button):
    """A staff button, its words on at most two lines; pressed, it swaps fill and words at once."""

    def __init__(self, scene: Scene, name: str, action: Action, words: str, box: Box, face: Face, *,
                 available: bool = True, hold_s: float = 0.0) -> None:
        super().__init__(scene, name, action, box, hold_s)
        self.available = available
        shown = face if available else UNAVAILABLE
        self._idle, self._pressed = InstructionGroup(), InstructionGroup()
        self._draw(self._idle, words, shown, face.style, shown.fill, shown.words)
        self.canvas.add(self._idle)
        self._said, self._face, self._drawn_pressed = words, shown, False

    def show_pressed(self, pressed: bool) -> None:
        """Swap fill and words; the pressed face is drawn when it is first needed."""
        if pressed and not self._drawn_pressed:
            self._drawn_pressed, said = True, list(self.words)
            self._draw(self._pressed, self._said, self._face, self._face.style, "text", "button_words")
            self.words = said
        show(self.canvas, self._idle, not pressed)
        show(self.canvas, self._pressed, pressed)

    def _draw(self, group: InstructionGroup, words: str, face: Face, style: TypeStyle, fill: str,
              ink: str) -> None:
        painter, box, chosen = self.scene.painter, self.box, face is CHOSEN
        if fill:
            painter.rounded(group, box, STAFF_RADIUS_MM, fill)
        if face.outlined:
            painter.outline(group, box, STAFF_RADIUS_MM, STAFF_OUTLINE_MM, "line")
        lines = words_on_button(self.scene, words, style, box.width - 3.0)
        if chosen:
            painter.rounded(group, around(box.x, box.bottom + 2.4, 10.0, 1.2), 0.6, ink)
        baseline = box.y - style.cap_mm / 2 + LINES_MM / 2 * (len(lines) - 1) + (1.0 if chosen else 0.0)
        for line in lines:
            self.say(line, style, box.x, baseline, ink, canvas=group)
            baseline -= LINES_MM


class Choice(StaffButton):
    """A staff choice, 15 mm high; chosen = accent fill, bar under the word, and weight 600."""

    def __init__(self, scene: Scene, action: Action, words: str, box: Box, chosen: bool,
                 available: bool = True) -> None:
        face = CHOSEN if chosen else CHOICE
        super().__init__(scene, f"choice {action}", action, words, box, face, available=available)

    @staticmethod
    def width_mm(scene: Scene, words: str) -> float:
        """The width these words need, chosen or not."""
        return button_width_mm(scene, words, CHOSEN)


class StaffCorner(Button):
    """The way in for staff: a quiet word in the corner, held for 2 s."""

    def __init__(self, scene: Scene, word: str, box: Box) -> None:
        super().__init__(scene, "staff corner", ScreenAction.STAFF, box, STAFF_HOLD_S)
        self._quiet, self._forward = InstructionGroup(), InstructionGroup()
        self.say(word, READ, box.x, box.y - 2.0, "quiet", canvas=self._quiet)
        self.say(word, READ, box.x, box.y - 2.0, "text", canvas=self._forward)
        self.canvas.add(self._quiet)

    def show_pressed(self, pressed: bool) -> None:
        """Show the word in the colour of the pressed button."""
        show(self.canvas, self._quiet, not pressed)
        show(self.canvas, self._forward, pressed)


class RowButton(Button):
    """A row of a list that opens something: words in columns on a surface; pressed, they swap."""

    def __init__(self, scene: Scene, action: Action, cells: tuple[str, ...],
                 places: list[tuple[float, float]], box: Box) -> None:
        super().__init__(scene, f"row {action}", action, box)
        self._idle, self._pressed = InstructionGroup(), InstructionGroup()
        for group, fill, ink in ((self._idle, "surface", "text"), (self._pressed, "text", "button_words")):
            scene.painter.rounded(group, box, STAFF_RADIUS_MM, fill)
            scene.painter.outline(group, box, STAFF_RADIUS_MM, 2 * RULE_MM, "line")
            for column, (text, (left, width)) in enumerate(zip(cells, places, strict=False)):
                self._cell(group, text, READ if column else READ_STRONG, left, width, ink)
        self.canvas.add(self._idle)

    def show_pressed(self, pressed: bool) -> None:
        """Show the word in the colour of the pressed button."""
        show(self.canvas, self._idle, not pressed)
        show(self.canvas, self._pressed, pressed)

    def _cell(self, group: InstructionGroup, text: str, style: TypeStyle, left: float, width: float,
              ink: str) -> None:
        x, align = self.scene.line_start(left, left + width)
        lines = words_on_button(self.scene, text, style, width - 1.0)
        baseline = self.box.y - 2.0 + LINES_MM / 2 * (len(lines) - 1)
        for line in lines:
            self.say(line, style, x, baseline, ink, align, canvas=group)
            baseline -= LINES_MM


def button_width_mm(scene: Scene, words: str, face: Face, most: float = 1e9) -> float:
    """The width these words need on one line or, beyond `most`, on two."""
    letters, beside = scene.painter.letters, 2 * face.beside
    wide = letters.width_mm(words, face.style) + beside
    if wide > most:
        lines = halved(scene, words, face.style)
        wide = letters.widest_mm(lines, face.style) + beside
    return max(wide, face.least)


def words_on_button(scene: Scene, words: str, style: TypeStyle, width: float) -> tuple[str, ...]:
    """One line, or two of much the same width where one does not fit."""
    letters = scene.painter.letters
    if not words or letters.width_mm(words, style) <= width + 0.5:
        return (words,) if words else ()
    return halved(scene, words, style)
