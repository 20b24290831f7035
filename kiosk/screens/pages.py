"""Screens of words: a message, the main button, and further pages where a language needs them. mm, s.

Decision screens-6.
"""

from typing import Final

from kivy.graphics import PopMatrix, PushMatrix, Translate

from kiosk.figures.marks import Box, around
from kiosk.screens.buttons import BUTTON_MM, MainButton, SecondButton
from kiosk.screens.hand import add_hand, hand_picture
from kiosk.screens.parts import HEADLINE_MM, Beads, Message, Part, Scene, pages
from kiosk.screens.screen import Screen, beads_now, stop_box
from kiosk.visits.actions import Action
from kiosk.visits.course import Step
from kiosk.wording.instructions import ScreenWords, next_word

REST_S: Final = 8.0
_HAND_BOX_MM: Final = (46.0, 62.0)
_TOP_MM: Final = 31.0


def zone(scene: Scene, width: float = HEADLINE_MM, above_bottom: float | None = None) -> Box:
    """Where a message stands: from 31 below the top to 42 above the bottom (on a wide panel 4 more)."""
    window, extra = scene.glass.box, scene.glass.margin - 8.0
    bottom = window.bottom + (BUTTON_MM + 2 * scene.glass.margin if above_bottom is None else above_bottom)
    return Box(-width / 2, bottom, width, window.top - _TOP_MM - extra - bottom)


class Pages(Screen):
    """One or more pages of words; the main button turns the page, and on the last one acts."""

    def __init__(self, scene: Scene, step: Step, words: list[tuple[ScreenWords, bool]], *, beads: bool,
                 waits: bool = False, stop: bool = True) -> None:
        super().__init__(scene, step, stop=stop)
        self._hand_side, self._bead_states = step.hand_side, beads_now(step)
        self._beads_y = stop_box(scene, step).y
        self._beads, self._waits = beads, waits
        self._pages = [(ScreenWords(head, (sentence,) if sentence else (), one.buttons), hand)
                       for one, hand in words
                       for head, sentence in pages(scene, one.headline, one.sentences, self._zone(hand))]
        self._at = 0
        self._turn_to(0)

    def reported(self, action: Action) -> bool:
        """Whether the action turned a page of this screen."""
        if action != self._main_action or self._at + 1 >= len(self._pages):
            return False
        self._turn_to(self._at + 1)
        return True

    def tick(self, now_s: float) -> None:
        """The main button of a rest becomes available after eight seconds."""
        super().tick(now_s)
        if not self._main.available and now_s - self.since_s >= REST_S:
            self._main.make_available()

    def _turn_to(self, page: int) -> None:
        self._at = page
        words, hand = self._pages[page]
        self.clear()
        if self._beads:
            self.put(Beads(self.scene, self._bead_states, 0.0, self._beads_y, upright=False))
        self.put(Message(self.scene, words.headline, " ".join(words.sentences), self._zone(hand)))
        if hand:
            self.put(HandPicture(self.scene, self._hand_side))
        self._main_action = words.buttons[-1][0]
        last = page + 1 == len(self._pages)
        label = words.buttons[-1][1] if last else next_word(self.scene.language)
        self._main = self._buttons(label, words.buttons[:-1] if page == 0 else ())

    def _buttons(self, label: str, others: tuple[tuple[Action, str], ...]) -> MainButton:
        """The main button at the reading end, second buttons before it."""
        scene = self.scene
        bottom = scene.glass.box.bottom + scene.glass.margin
        sizes = [SecondButton.width_mm(scene, words, "again") for _, words in others]
        sizes.append(MainButton.width_mm(scene, label))
        places = in_row(scene, sizes, bottom, 8.0)
        for (action, words), box in zip(others, places, strict=False):
            self.put(SecondButton(scene, action, words, box, "again"))
        return self.put(MainButton(scene, self._main_action, label, places[-1], available=not self._waits))

    def _zone(self, hand: bool) -> Box:
        return zone(self.scene, 100.0 if hand else HEADLINE_MM)


def in_row(scene: Scene, widths: list[float], bottom: float, gap: float) -> list[Box]:
    """Boxes side by side in reading order, centred."""
    left = -(sum(widths) + gap * (len(widths) - 1)) / 2
    boxes = []
    for width in widths:
        boxes.append(Box(left if scene.leading < 0 else -left - width, bottom, width, BUTTON_MM))
        left += width + gap
    return boxes


class HandPicture(Part):
    """A small hand at the side of the hand to use."""

    def __init__(self, scene: Scene, side: str) -> None:
        x, y = (79.0 if side == "right" else -79.0), zone(scene).y
        super().__init__(scene, "hand picture", around(x, y, *_HAND_BOX_MM))
        half_mm = (_HAND_BOX_MM[0] / 2 - 0.5, _HAND_BOX_MM[1] / 2 - 0.5)
        x_px, y_px = scene.glass.px(x, y)
        self.canvas.add(PushMatrix())
        self.canvas.add(Translate(round(x_px), round(y_px)))
        add_hand(self.canvas, hand_picture(scene.pen, side, 0.6, "ground", half_mm, (29.0, -42.0)))
        self.canvas.add(PopMatrix())
