"""The welcome: calm words, Begin, and the other languages by their own names, each in its own letters. mm.

The names stand together on one button across from Stop; touched, it gives way to a button for each.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from kiosk.figures.marks import Box
from kiosk.i18n.language import script_of
from kiosk.screens.buttons import STOP_MM, Button, SecondButton, tint
from kiosk.screens.pages import Pages
from kiosk.screens.parts import Scene
from kiosk.screens.pen import pen_for
from kiosk.screens.screen import OwnAction, stop_box
from kiosk.screens.theme import PERSON_GAP_MM, PERSON_RADIUS_MM, READ, SECOND_OUTLINE_MM
from kiosk.visits.actions import Action, ChooseLanguage
from kiosk.visits.course import Step
from kiosk.wording.instructions import say_again_word, screen_words
from kiosk.wording.own_names import own_name

COLUMNS: Final = 3
LINE_MM: Final = 7.6
GAP_MM: Final = 6.0
CHOICE_MM: Final = (58.0, 20.0)
CHOICES_IN_ROW: Final = 3


class Welcome(Pages):
    """Its languages are those the scene offers, but for the one it speaks."""

    def __init__(self, scene: Scene, step: Step) -> None:
        words = screen_words(step, scene.language)
        again = ((OwnAction.SAY_AGAIN, say_again_word(scene.language)),) if scene.spoken else ()
        words = replace(words, buttons=(*again, *words.buttons))
        super().__init__(scene, step, [(words, False)], beads=False)
        if self._others:
            self.put(LanguageNames(scene, self._others, self._across_from_stop(step)))

    def reported(self, action: Action) -> bool:
        """The button of the names leads to one for each."""
        if action is not OwnAction.CHOOSE_LANGUAGE:
            return super().reported(action)
        self.clear()
        for tag, box in zip(self.scene.offered, _grid(self.scene), strict=True):
            self.put(SecondButton(spoken(self.scene, tag), ChooseLanguage(tag), own_name(tag), box))
        return True

    @property
    def _others(self) -> tuple[str, ...]:
        return tuple(tag for tag in self.scene.offered if tag != self.scene.language.tag)

    def _across_from_stop(self, step: Step) -> Box:
        """In the other upper corner, as high as Stop."""
        stop = stop_box(self.scene, step)
        wide = LanguageNames.width_mm(self.scene, self._others)
        left = -stop.right if stop.x > 0 else -stop.left - wide
        return Box(left, stop.bottom, wide, stop.height)


class LanguageNames(Button):
    """The names of the other languages in two columns, on an outlined button."""

    def __init__(self, scene: Scene, tags: Sequence[str], box: Box) -> None:
        super().__init__(scene, "language names", OwnAction.CHOOSE_LANGUAGE, box)
        self._edge = scene.pen.outline(self.canvas, box, PERSON_RADIUS_MM, SECOND_OUTLINE_MM, "line")
        columns = _columns(scene, tags)
        x = box.x + scene.leading * (sum(wide for _, wide in columns) + GAP_MM * (len(columns) - 1)) / 2
        for column, wide in columns:
            self._say(column, x - scene.leading * wide / 2, len(columns[0][0]))
            x -= scene.leading * (wide + GAP_MM)

    @staticmethod
    def width_mm(scene: Scene, tags: Sequence[str]) -> float:
        """The width these names need."""
        columns = _columns(scene, tags)
        return max(sum(wide + GAP_MM for _, wide in columns) + GAP_MM, STOP_MM[0])

    def show_pressed(self, pressed: bool) -> None:
        """The edge takes the words' colour."""
        tint(self, self._edge, "text" if pressed else "line")

    def _say(self, tags: Sequence[str], x: float, rows: int) -> None:
        for row, tag in enumerate(tags):
            baseline = self.box.y + ((rows - 1) / 2 - row) * LINE_MM - READ.cap_mm / 2
            pen = spoken(self.scene, tag).pen
            self.words.append(pen.words(self.canvas, own_name(tag), READ, x, baseline, "text")[1])


def spoken(scene: Scene, tag: str) -> Scene:
    """The scene with the letters of another language."""
    script = script_of(tag)
    way = "rtl" if script == "arabic" else "ltr"
    return replace(scene, pen=pen_for(scene.glass, scene.pen.theme, script, way))


def _columns(scene: Scene, tags: Sequence[str]) -> list[tuple[Sequence[str], float]]:
    """The names row by row in columns, and the width of each column."""
    columns = [tags[first::COLUMNS] for first in range(min(COLUMNS, len(tags)))]
    return [(column, max(_name_mm(scene, tag) for tag in column)) for column in columns]


def _name_mm(scene: Scene, tag: str) -> float:
    return spoken(scene, tag).pen.letters.width_mm(own_name(tag), READ)


def _grid(scene: Scene) -> list[Box]:
    """Places for all languages, row by row from the top, in the middle of the glass."""
    (wide, high), gap = CHOICE_MM, PERSON_GAP_MM
    count = len(scene.offered)
    rows = -(-count // CHOICES_IN_ROW)
    top = (rows * (high + gap) - gap) / 2 - 6.0
    boxes = []
    for number in range(count):
        row, column = divmod(number, CHOICES_IN_ROW)
        x = (column - (CHOICES_IN_ROW - 1) / 2) * (wide + gap) * -scene.leading
        boxes.append(Box(x - wide / 2, top - row * (high + gap) - high, wide, high))
    return boxes
