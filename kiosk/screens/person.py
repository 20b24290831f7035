"""The screens of the person being tested, but for those in the field (kiosk.screens.in_field).

A screen of words has a message and a main button, and further pages where a language needs them. The welcome
also has the other languages, by their own names and each in its own letters, on one button across from Stop;
touched, it gives way to a button for each. Each builder lays out one screen from its step and words.
Millimetres about the window's centre, y up; seconds of the scene's clock. Decision screens-6.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from kivy.graphics import PopMatrix, PushMatrix, Translate

from kiosk.figures.marks import Box, around
from kiosk.i18n.language import script_of
from kiosk.screens.buttons import BUTTON_MM, STOP_MM, Button, MainButton, SecondButton, tint
from kiosk.screens.hand import add_hand, hand_picture
from kiosk.screens.painter import painter_for
from kiosk.screens.parts import HEADLINE_MM, Message, Part, ProgressDots, Scene, pages
from kiosk.screens.screen import OwnAction, Screen, dots_now, stop_box
from kiosk.screens.staff_buttons import StaffCorner
from kiosk.screens.target import FingerRing
from kiosk.screens.theme import PERSON_GAP_MM, PERSON_RADIUS_MM, READ, SECOND_OUTLINE_MM
from kiosk.visits.actions import Action, ChooseLanguage, ScreenAction
from kiosk.visits.course import Step
from kiosk.wording.instructions import (
    ScreenWords,
    finger_hint,
    locked_words,
    next_word,
    say_again_word,
    screen_words,
    staff_choices,
    staff_word,
    use_this_hand,
)
from kiosk.wording.own_names import own_name

REST_S: Final = 8.0
_HAND_BOX_MM: Final = (46.0, 62.0)
_TOP_MM: Final = 31.0
COLUMNS: Final = 3
LINE_MM: Final = 7.6
GAP_MM: Final = 6.0
CHOICE_MM: Final = (58.0, 20.0)
CHOICES_IN_ROW: Final = 3
HINT_AFTER_S: Final = 10.0


def zone(scene: Scene, width: float = HEADLINE_MM, above_bottom: float | None = None) -> Box:
    """Where a message stands: from 31 below the top to 42 above the bottom (on a wide panel 4 more)."""
    window, extra = scene.panel.box, scene.panel.margin - 8.0
    bottom = window.bottom + (BUTTON_MM + 2 * scene.panel.margin if above_bottom is None else above_bottom)
    return Box(-width / 2, bottom, width, window.top - _TOP_MM - extra - bottom)


class Pages(Screen):
    """One or more pages of words; the main button turns the page, and on the last one acts."""

    def __init__(self, scene: Scene, step: Step, words: list[tuple[ScreenWords, bool]], *, dots: bool,
                 waits: bool = False, stop: bool = True) -> None:
        super().__init__(scene, step, stop=stop)
        self._hand_side, self._dot_states = step.hand_side, dots_now(step)
        self._dots_y = stop_box(scene, step).y
        self._dots, self._waits = dots, waits
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
        if self._dots:
            self.put(ProgressDots(self.scene, self._dot_states, 0.0, self._dots_y, upright=False))
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
        bottom = scene.panel.box.bottom + scene.panel.margin
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
        x_px, y_px = scene.panel.px(x, y)
        self.canvas.add(PushMatrix())
        self.canvas.add(Translate(round(x_px), round(y_px)))
        add_hand(self.canvas, hand_picture(scene.painter, side, 0.6, "ground", half_mm, (29.0, -42.0)))
        self.canvas.add(PopMatrix())


class Welcome(Pages):
    """Its languages are those the scene offers, but for the one it speaks."""

    def __init__(self, scene: Scene, step: Step) -> None:
        words = screen_words(step, scene.language)
        again = ((OwnAction.SAY_AGAIN, say_again_word(scene.language)),) if scene.spoken else ()
        words = replace(words, buttons=(*again, *words.buttons))
        super().__init__(scene, step, [(words, False)], dots=False)
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
        self._edge = scene.painter.outline(self.canvas, box, PERSON_RADIUS_MM, SECOND_OUTLINE_MM, "line")
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
            painter = spoken(self.scene, tag).painter
            self.words.append(painter.words(self.canvas, own_name(tag), READ, x, baseline, "text")[1])


def spoken(scene: Scene, tag: str) -> Scene:
    """The scene with the letters of another language."""
    script = script_of(tag)
    way = "rtl" if script == "arabic" else "ltr"
    return replace(scene, painter=painter_for(scene.panel, scene.painter.theme, script, way))


def _columns(scene: Scene, tags: Sequence[str]) -> list[tuple[Sequence[str], float]]:
    """The names row by row in columns, and the width of each column."""
    columns = [tags[first::COLUMNS] for first in range(min(COLUMNS, len(tags)))]
    return [(column, max(_name_mm(scene, tag) for tag in column)) for column in columns]


def _name_mm(scene: Scene, tag: str) -> float:
    return spoken(scene, tag).painter.letters.width_mm(own_name(tag), READ)


def _grid(scene: Scene) -> list[Box]:
    """Places for all languages, row by row from the top, in the middle of the screen."""
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


class FingerCheck(Screen):
    """Whether the screen senses the finger: a ring to put it in, and a hint after ten seconds."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step, stop=True)
        words = screen_words(step, scene.language)
        ring_y = scene.panel.box.bottom + scene.panel.margin + 18.0
        place = zone(scene, above_bottom=scene.panel.margin + 18.0 + 18.0 + PERSON_GAP_MM)
        self.put(Message(scene, words.headline, " ".join(words.sentences), place))
        self._ring = self.put(FingerRing(scene, 0.0, ring_y))

    def fingers(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """The source that records the trials feels the finger; the window's touches count no more."""
        self._ring.feel(places_mm)

    def tick(self, now_s: float) -> None:
        """Show the hint once, when its time has come."""
        super().tick(now_s)
        if now_s - self.since_s >= HINT_AFTER_S and not self.has("hint"):
            self.put(Hint(self.scene, finger_hint(self.scene.language)))


class Hint(Part):
    """A quiet note in the lower leading corner."""

    def __init__(self, scene: Scene, text: str) -> None:
        window, margin = scene.panel.box, scene.panel.margin
        width = window.width / 2 - margin - 18.0 - PERSON_GAP_MM
        left = -window.width / 2 + margin if scene.leading < 0 else window.width / 2 - margin - width
        lines = scene.painter.letters.lines(text, READ, width)
        height = READ.pitch_mm * len(lines)
        super().__init__(scene, "hint", Box(left, window.bottom + margin, width, height))
        x, align = scene.line_start(left, left + width)
        for row, line in enumerate(lines):
            self.say(line, READ, x, self.box.top - 1.2 * READ.cap_mm - row * READ.pitch_mm, "quiet", align)


class StopMenu(Screen):
    """Rest, go on, or end: three buttons of one size."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step, stop=False)
        words = screen_words(step, scene.language)
        three(self, words.buttons, PERSON_GAP_MM)
        above = max(part.box.top for part in self.parts) - scene.panel.box.bottom + scene.panel.margin
        self.put(Message(scene, words.headline, "", zone(scene, above_bottom=above)))


def three(screen: Screen, buttons: Sequence[tuple[Action, str]], gap: float) -> None:
    """Second buttons of one size in a row, or one above another where they are too wide for it."""
    scene = screen.scene
    window, margin = scene.panel.box, scene.panel.margin
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
        window, edge = scene.panel.box, scene.panel.margin
        x = -scene.leading * (window.width / 2 - edge - 14.0)
        corner = around(x, window.bottom + edge + 13.0, 28.0, 26.0)
        self.put(StaffCorner(scene, staff_word(scene.language), corner))

    def reported(self, action: Action) -> bool:
        """Staff have come: their choices take the place of words and corner."""
        if action is ScreenAction.STAFF and self._choices:
            self.drop("staff corner")
            self.drop("message")
            three(self, staff_choices(self.scene.language), PERSON_GAP_MM)
        return False


def _pages(*, dots: bool = False, waits: bool = False, hand: bool = False,
           stop: bool = True) -> Callable[[Scene, Step], Screen]:
    def build(scene: Scene, step: Step) -> Screen:
        words = [(screen_words(step, scene.language), hand)]
        return Pages(scene, step, words, dots=dots, waits=waits, stop=stop)

    return build


def _instruction(scene: Scene, step: Step) -> Screen:
    words = [(screen_words(step, scene.language), False), (use_this_hand(scene.language), True)]
    return Pages(scene, step, words, dots=True)


def _not_understood(scene: Scene, step: Step) -> Screen:
    return Waiting(scene, step, screen_words(step, scene.language), choices=True)


def locked(scene: Scene) -> Screen:
    """The locked screen, which says nothing of any person."""
    return Waiting(scene, None, locked_words(scene.language))


BUILDERS: Final[dict[str, Callable[[Scene, Step], Screen]]] = {
    "welcome": Welcome,
    "finger_check": FingerCheck,
    "instruction": _instruction,
    "not_understood_once": _pages(dots=True),
    "not_understood": _not_understood,
    "rest": _pages(dots=True, waits=True),
    "change_hand": _pages(dots=True, hand=True),
    "new_path": _pages(dots=True),
    "stop_menu": StopMenu,
    "stopped": _pages(stop=False),
    "thanks": lambda scene, step: Waiting(scene, step, screen_words(step, scene.language)),
}
