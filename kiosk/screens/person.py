"""The screens of the person being tested, but for those in the field (kiosk.screens.in_field).

Each builder lays out one screen from its step and words. Millimetres about the window's centre, y up; seconds
of the scene's clock.
"""

from collections.abc import Callable
from typing import Final

from kivy.graphics import PopMatrix, PushMatrix, Translate

from kiosk.screens.buttons import (
    BUTTON_MM,
    FingerRing,
    MainButton,
    SecondButton,
    StaffCorner,
)
from kiosk.screens.hand import add_hand, hand_picture
from kiosk.screens.layout import Box, around
from kiosk.screens.parts import HEADLINE_MM, Beads, Message, Part, Scene, pages
from kiosk.screens.screen import Screen, beads_now, stop_box
from kiosk.screens.theme import PERSON_GAP_MM, READ
from kiosk.visits.course import Step
from kiosk.wording.instructions import (
    ScreenWords,
    finger_hint,
    locked_words,
    next_word,
    screen_words,
    staff_choices,
    staff_word,
    use_this_hand,
)

REST_S: Final = 8.0
HINT_AFTER_S: Final = 10.0
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
        self._beads, self._waits = beads, waits
        self._pages = [(ScreenWords(head, (sentence,) if sentence else (), one.buttons), hand)
                       for one, hand in words
                       for head, sentence in pages(scene, one.headline, one.sentences, self._zone(hand))]
        self._at = 0
        self._turn_to(0)

    def reported(self, action: str) -> bool:
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
            self.put(Beads(self.scene, beads_now(self.step), 0.0, stop_box(self.scene, self.step).y, upright=False))
        self.put(Message(self.scene, words.headline, " ".join(words.sentences), self._zone(hand)))
        if hand:
            self.put(HandPicture(self.scene, self.step.hand_side))
        self._main_action = words.buttons[-1][0]
        last = page + 1 == len(self._pages)
        label = words.buttons[-1][1] if last else next_word(self.scene.language)
        self._main = self._buttons(label, words.buttons[:-1] if page == 0 else ())

    def _buttons(self, label: str, others: tuple[tuple[str, str], ...]) -> MainButton:
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


class FingerCheck(Screen):
    """The glass feels the finger: a ring to put it in, and a hint after ten seconds."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step, stop=True)
        words = screen_words(step, scene.language)
        ring_y = scene.glass.box.bottom + scene.glass.margin + 18.0
        place = zone(scene, above_bottom=scene.glass.margin + 18.0 + 18.0 + PERSON_GAP_MM)
        self.put(Message(scene, words.headline, " ".join(words.sentences), place))
        self.put(FingerRing(scene, 0.0, ring_y))

    def tick(self, now_s: float) -> None:
        """The hint comes once."""
        super().tick(now_s)
        if now_s - self.since_s >= HINT_AFTER_S and not self.has("hint"):
            self.put(Hint(self.scene, finger_hint(self.scene.language)))


class Hint(Part):
    """A quiet note in the lower leading corner."""

    def __init__(self, scene: Scene, text: str) -> None:
        window, margin = scene.glass.box, scene.glass.margin
        width = window.width / 2 - margin - 18.0 - PERSON_GAP_MM
        left = -window.width / 2 + margin if scene.leading < 0 else window.width / 2 - margin - width
        lines = scene.pen.letters.lines(text, READ, width)
        height = READ.pitch_mm * len(lines)
        super().__init__(scene, "hint", Box(left, window.bottom + margin, width, height))
        align, x = ("left", left) if scene.leading < 0 else ("right", left + width)
        for row, line in enumerate(lines):
            self.say(line, READ, x, self.box.top - 1.2 * READ.cap_mm - row * READ.pitch_mm, "quiet", align)


class StopMenu(Screen):
    """Rest, go on, or end: three buttons of one size."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step, stop=False)
        words = screen_words(step, scene.language)
        self.put(Message(scene, words.headline, "", zone(scene)))
        three(self, words.buttons, PERSON_GAP_MM)


def three(screen: Screen, buttons: tuple[tuple[str, str], ...], gap: float) -> None:
    """Second buttons of one size in a row, or one above another where they are too wide for it."""
    scene = screen.scene
    window, margin = scene.glass.box, scene.glass.margin
    width = max(58.0, *(SecondButton.width_mm(scene, words) for _, words in buttons))
    if width * len(buttons) + gap * (len(buttons) - 1) <= window.width - 2 * margin:
        places = in_row(scene, [width] * len(buttons), window.bottom + margin, gap)
    else:
        rows = range(len(buttons) - 1, -1, -1)
        places = [Box(-width / 2, window.bottom + margin + row * 25.0, width, 20.0) for row in rows]
    for (action, label), box in zip(buttons, places, strict=True):
        screen.put(SecondButton(scene, action, label, box))


class Waiting(Screen):
    """Words without a control, and the corner for staff: not understood, thanks, locked."""

    def __init__(self, scene: Scene, step: Step | None, words: ScreenWords, *, choices: bool = False) -> None:
        super().__init__(scene, step, stop=False)
        self._choices = choices
        self.put(Message(scene, words.headline, " ".join(words.sentences), zone(scene)))
        window, edge = scene.glass.box, scene.glass.margin
        x = -scene.leading * (window.width / 2 - edge - 14.0)
        self.put(StaffCorner(scene, staff_word(scene.language), around(x, window.bottom + edge + 13.0, 28.0, 26.0)))

    def reported(self, action: str) -> bool:
        """Staff have come: their choices take the place of the corner."""
        if action == "staff" and self._choices:
            self.drop("staff corner")
            three(self, staff_choices(self.scene.language), PERSON_GAP_MM)
        return False


def _pages(*, beads: bool = False, waits: bool = False, hand: bool = False,
           stop: bool = True) -> Callable[[Scene, Step], Screen]:
    def build(scene: Scene, step: Step) -> Screen:
        words = [(screen_words(step, scene.language), hand)]
        return Pages(scene, step, words, beads=beads, waits=waits, stop=stop)

    return build


def _instruction(scene: Scene, step: Step) -> Screen:
    words = [(screen_words(step, scene.language), False), (use_this_hand(scene.language), True)]
    return Pages(scene, step, words, beads=True)


def _not_understood(scene: Scene, step: Step) -> Screen:
    return Waiting(scene, step, screen_words(step, scene.language), choices=True)


def locked(scene: Scene) -> Screen:
    """The neutral locked screen."""
    return Waiting(scene, None, locked_words(scene.language))


BUILDERS: Final[dict[str, Callable[[Scene, Step], Screen]]] = {
    "welcome": _pages(),
    "finger_check": FingerCheck,
    "instruction": _instruction,
    "not_understood_once": _pages(beads=True),
    "not_understood": _not_understood,
    "rest": _pages(beads=True, waits=True),
    "change_hand": _pages(beads=True, hand=True),
    "new_path": _pages(beads=True),
    "stop_menu": StopMenu,
    "stopped": _pages(stop=False),
    "thanks": lambda scene, step: Waiting(scene, step, screen_words(step, scene.language)),
}
