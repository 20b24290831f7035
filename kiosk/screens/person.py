"""The screens of the person being tested, but for those in the field (kiosk.screens.in_field).

Each builder lays out one screen from its step and words. Millimetres about the window's centre, y up; seconds
of the scene's clock.
"""

from collections.abc import Callable, Sequence
from typing import Final

from kiosk.figures.marks import Box, around
from kiosk.screens.buttons import (
    SecondButton,
)
from kiosk.screens.finger_ring import FingerRing
from kiosk.screens.pages import Pages, in_row, zone
from kiosk.screens.parts import Message, Part, Scene
from kiosk.screens.screen import Screen
from kiosk.screens.staff_buttons import StaffCorner
from kiosk.screens.theme import PERSON_GAP_MM, READ
from kiosk.screens.welcome import Welcome
from kiosk.visits.actions import Action, ScreenAction
from kiosk.visits.course import Step
from kiosk.wording.instructions import (
    ScreenWords,
    finger_hint,
    locked_words,
    screen_words,
    staff_choices,
    staff_word,
    use_this_hand,
)

HINT_AFTER_S: Final = 10.0


class FingerCheck(Screen):
    """The glass feels the finger: a ring to put it in, and a hint after ten seconds."""

    def __init__(self, scene: Scene, step: Step) -> None:
        super().__init__(scene, step, stop=True)
        words = screen_words(step, scene.language)
        ring_y = scene.glass.box.bottom + scene.glass.margin + 18.0
        place = zone(scene, above_bottom=scene.glass.margin + 18.0 + 18.0 + PERSON_GAP_MM)
        self.put(Message(scene, words.headline, " ".join(words.sentences), place))
        self._ring = self.put(FingerRing(scene, 0.0, ring_y))

    def fingers(self, places_mm: Sequence[tuple[float, float]]) -> None:
        """The source that records the trials feels the finger; the window's touches count no more."""
        self._ring.feel(places_mm)

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
        three(self, words.buttons, PERSON_GAP_MM)
        above = max(part.box.top for part in self.parts) - scene.glass.box.bottom + scene.glass.margin
        self.put(Message(scene, words.headline, "", zone(scene, above_bottom=above)))


def three(screen: Screen, buttons: Sequence[tuple[Action, str]], gap: float) -> None:
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
        corner = around(x, window.bottom + edge + 13.0, 28.0, 26.0)
        self.put(StaffCorner(scene, staff_word(scene.language), corner))

    def reported(self, action: Action) -> bool:
        """Staff have come: their choices take the place of words and corner."""
        if action is ScreenAction.STAFF and self._choices:
            self.drop("staff corner")
            self.drop("message")
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
    "welcome": Welcome,
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
