"""Buttons: they swap fill and words on touch-down, at once, and act on lift inside their edge, or when held.

Seconds of the scene's clock. A button that is not available shows an outline, quiet words and open arcs.
"""

from typing import Final, Literal

import numpy as np
from kivy.graphics import Canvas, Color, InstructionGroup
from kivy.input import MotionEvent

from kiosk.figures.marks import Box
from kiosk.screens import alpha
from kiosk.screens.painter import texture_of
from kiosk.screens.parts import Part, Scene
from kiosk.screens.theme import (
    MAIN_WORDS,
    PERSON_RADIUS_MM,
    READ_STRONG,
    SECOND_OUTLINE_MM,
    SECOND_WORDS,
    STOP_OUTLINE_MM,
    rgb,
)
from kiosk.visits.actions import Action, CourseAction

STOP_HOLD_S: Final = 0.6
LONGEST_PRESS_S: Final = 5.0  # a lift that never came, as where the window lost its focus
FILL_S: Final = 0.400
BUTTON_MM: Final = 26.0
MAIN_WIDTH_MM: Final = (76.0, 200.0)
STOP_MM: Final = (28.0, 26.0)
STOP_WORD_MM: Final = 23.0
_DISC_AT_MM: Final = 14.0
_WORDS_FROM_MM: Final = 31.5
_WORDS_TO_MM: Final = 10.5


class Button(Part):
    """A button; with hold_s 0 it acts on lift inside it, else once it was held for so long."""

    def __init__(self, scene: Scene, name: str, action: Action, box: Box, hold_s: float = 0.0) -> None:
        super().__init__(scene, name, box)
        self.action, self.hold_s, self.available = action, hold_s, True
        self._touch: MotionEvent | None = None
        self._since_s: float | None = None

    @property
    def pressed(self) -> bool:
        """Whether a finger is on it and it has yet to act; not after LONGEST_PRESS_S."""
        return self._since_s is not None and self.scene.now_s() - self._since_s < LONGEST_PRESS_S

    def on_touch_down(self, touch: MotionEvent) -> bool:
        """The first finger inside takes the button; one whose lift never came gives it up to the next."""
        if not self.available or self.pressed or not self.collide_point(*touch.pos):
            return False
        self.on_leave()
        touch.grab(self)
        self._touch, self._since_s = touch, self.scene.now_s()
        self.show_pressed(True)
        return True

    def on_touch_move(self, touch: MotionEvent) -> bool:
        """A held button lets go when the finger leaves it."""
        if touch.grab_current is self and self.hold_s and not self.collide_point(*touch.pos):
            self._release(touch)
        return touch.grab_current is self

    def on_touch_up(self, touch: MotionEvent) -> bool:
        """Lift: acts when inside and not one to be held."""
        if touch.grab_current is not self or touch is not self._touch:
            return False
        self.tick(self.scene.now_s())
        self._release(touch)
        if not self.hold_s and self.collide_point(*touch.pos):
            self.scene.report(self.action)
        return True

    def tick(self, now_s: float) -> None:
        """A held button acts once its time is full."""
        if self.hold_s and self._since_s is not None and now_s - self._since_s >= self.hold_s - 1e-9:
            self._since_s = None
            self.scene.report(self.action)

    def on_leave(self) -> None:
        """The screen is left: a finger still down no longer counts."""
        if self._touch is not None:
            self._release(self._touch)

    def show_pressed(self, pressed: bool) -> None:
        """Exchange the colours of fill and words while it is pressed."""

    def _release(self, touch: MotionEvent) -> None:
        touch.ungrab(self)
        self._touch = self._since_s = None
        self.show_pressed(False)


class Stop(Button):
    """Outline, square, word; held 0.6 s. One picture, so that a trial's frame has one thing to draw."""

    def __init__(self, scene: Scene, word: str, box: Box) -> None:
        super().__init__(scene, "stop", CourseAction.STOP, box, STOP_HOLD_S)
        painter, half = scene.painter, (box.width / 2, box.height / 2)
        square = alpha.moved(alpha.rounded(3.5, 3.5, 0.8), 0.0, 0.14 * box.height)
        cover = alpha.picture(painter.panel.calibration, *half, square)
        marks, words = painter.stamped(cover, word, READ_STRONG, -0.24 * box.height - 2.0)
        self.words.append(Box(box.x + words.left, box.y + words.bottom, words.width, words.height))
        outer = alpha.rounded(*half, PERSON_RADIUS_MM)
        inner = alpha.grown(outer, -STOP_OUTLINE_MM)
        edge = alpha.picture(painter.panel.calibration, *half, alpha.without(outer, inner))
        fill = alpha.picture(painter.panel.calibration, *half, outer)
        self._textures = (texture_of(np.maximum(edge, marks)), texture_of(fill * (1.0 - marks)))
        painter.colour(self.canvas, "text")
        self._rectangle = painter.about(box.x, box.y, self._textures[0])
        self.canvas.add(self._rectangle)

    def show_pressed(self, pressed: bool) -> None:
        """Exchange the colours of fill and words while it is pressed."""
        self._rectangle.texture = self._textures[pressed]


class MainButton(Button):
    """The one main button: a disc at the leading edge, words in caps of 6 mm; grows from 76 to 200 mm."""

    def __init__(self, scene: Scene, action: Action, words: str, box: Box, available: bool = True) -> None:
        super().__init__(scene, "main button", action, box)
        self._idle, self._ready = InstructionGroup(), InstructionGroup()
        self._fill, self._words, self._discs = self._draw_ready(words)
        self._idle_inks = self._draw_idle(words)
        self.canvas.add(self._idle)
        self.canvas.add(self._ready)
        self._filling_from_s: float | None = None
        self.available = available
        self._show(1.0 if available else 0.0)

    @staticmethod
    def width_mm(scene: Scene, words: str) -> float:
        """The width these words need."""
        needed = _WORDS_FROM_MM + scene.painter.letters.width_mm(words, MAIN_WORDS) + _WORDS_TO_MM
        return max(needed, MAIN_WIDTH_MM[0])

    def make_available(self) -> None:
        """Let it be pressed from now on; its fill fades in over 400 ms."""
        self.available, self._filling_from_s = True, self.scene.now_s()

    def tick(self, now_s: float) -> None:
        """Let the fill rise while it is held."""
        if self._filling_from_s is not None:
            level = min((now_s - self._filling_from_s) / FILL_S, 1.0)
            self._show(level)
            self._filling_from_s = None if level == 1.0 else self._filling_from_s

    def show_pressed(self, pressed: bool) -> None:
        """Exchange the colours of fill and words while it is pressed."""
        fill, words = ("button_words", "text") if pressed else ("text", "button_words")
        tint(self, self._fill, fill)
        tint(self, self._words, words)

    def _show(self, level: float) -> None:
        for ink in (self._fill, self._words, *self._discs):
            ink.a = level
        for ink in self._idle_inks:
            ink.a = 1.0 - level

    def _draw_ready(self, words: str) -> tuple[Color, Color, tuple[Color, ...]]:
        painter, box = self.scene.painter, self.box
        fill = painter.rounded(self._ready, box, PERSON_RADIUS_MM, "text")
        x, words_x = self._columns()
        rim_disc_pip = ((7.5, "ground"), (6.5, "target"), (1.1, "pip"))
        discs = tuple(painter.disc(self._ready, x, box.y, radius, role) for radius, role in rim_disc_pip)
        said = self.say(words, MAIN_WORDS, words_x, box.y - 3.0, "button_words", canvas=self._ready)
        return fill, said, discs

    def _draw_idle(self, words: str) -> tuple[Color, ...]:
        painter, box = self.scene.painter, self.box
        x, words_x = self._columns()
        scale = 7.5 / 17.0
        return (painter.outline(self._idle, box, PERSON_RADIUS_MM, SECOND_OUTLINE_MM, "line"),
                painter.shape(self._idle, x, box.y, (7.5, 7.5), "small arcs",
                          alpha.scaled(alpha.arcs(15.0, 17.0, 40.0), scale), "target"),
                self.say(words, MAIN_WORDS, words_x, box.y - 3.0, "quiet", canvas=self._idle))

    def _columns(self) -> tuple[float, float]:
        """Centres of the disc and of the words."""
        lead, half = self.scene.leading, self.box.width / 2
        middle_mm = (_WORDS_FROM_MM + self.box.width - _WORDS_TO_MM) / 2
        return self.box.x + lead * (half - _DISC_AT_MM), self.box.x + lead * (half - middle_mm)


Mark = Literal["", "again"]


class SecondButton(Button):
    """Ground fill, outline, words in caps of 5 mm; a mark at the leading edge where it has one."""

    def __init__(self, scene: Scene, action: Action, words: str, box: Box, mark: Mark = "") -> None:
        super().__init__(scene, f"second button {action}", action, box)
        painter = scene.painter
        self._fill = InstructionGroup()
        painter.rounded(self._fill, box, PERSON_RADIUS_MM, "text")
        painter.outline(self.canvas, box, PERSON_RADIUS_MM, SECOND_OUTLINE_MM, "line")
        inks = []
        words_x = box.x
        if mark:
            mark_x = box.x + scene.leading * (box.width / 2 - 13.0)
            inks.append(painter.shape(self.canvas, mark_x, box.y, (6.0, 6.0), "again", again(), "text"))
            words_x -= scene.leading * 7.0
        inks.append(self.say(words, SECOND_WORDS, words_x, box.y - 2.5, "text"))
        self._inks = tuple(inks)

    @staticmethod
    def width_mm(scene: Scene, words: str, mark: Mark = "") -> float:
        """The width these words need."""
        return scene.painter.letters.width_mm(words, SECOND_WORDS) + (34.0 if mark else 16.0)

    def show_pressed(self, pressed: bool) -> None:
        """Exchange the colours of fill and words while it is pressed."""
        show(self.canvas.before, self._fill, pressed)
        for ink in self._inks:
            tint(self, ink, "ground" if pressed else "text")


def again() -> alpha.Distance:
    """An arrow that turns: an open ring with a head; 12 mm across; never mirrored."""
    gap = alpha.triangle((0.0, 0.0), (9.0, 3.0), (3.0, 9.0))
    head = alpha.triangle((1.0, 2.2), (6.4, 2.2), (3.7, 6.0))
    return alpha.union(alpha.without(alpha.ring(3.2, 4.4), gap), head)


def show(canvas: Canvas, group: InstructionGroup, shown: bool) -> None:
    """Add a group of instructions to a canvas or take it out."""
    if shown and canvas.indexof(group) < 0:
        canvas.add(group)
    elif not shown and canvas.indexof(group) >= 0:
        canvas.remove(group)


def tint(part: Part, ink: Color, role: str) -> None:
    """Give a Color the colour of a role; its opacity stays."""
    ink.rgb = rgb(part.scene.painter.role(role))

