"""Buttons for staff: the choice of a view, and the corner that is theirs on a person's screen. mm, s."""

from typing import Final

from kiosk.screens.buttons import Button, tint
from kiosk.screens.layout import Box, around
from kiosk.screens.parts import Scene
from kiosk.screens.theme import READ, READ_STRONG, STAFF_OUTLINE_MM, STAFF_RADIUS_MM

STAFF_HOLD_S: Final = 2.0


class Choice(Button):
    """A staff choice, 15 mm high; chosen = accent fill, bar under the word, and weight 600."""

    def __init__(self, scene: Scene, action: str, words: str, box: Box, chosen: bool) -> None:
        super().__init__(scene, f"choice {action}", action, box)
        pen = scene.pen
        pen.rounded(self.canvas, box, STAFF_RADIUS_MM, "accent" if chosen else "surface")
        if chosen:
            pen.rounded(self.canvas, around(box.x, box.bottom + 2.4, 10.0, 1.2), 0.6, "on_accent")
        else:
            pen.outline(self.canvas, box, STAFF_RADIUS_MM, STAFF_OUTLINE_MM, "line")
        self.say(words, READ_STRONG if chosen else READ, box.x, box.y - 2.0 + (1.0 if chosen else 0.0),
                 "on_accent" if chosen else "text")

    @staticmethod
    def width_mm(scene: Scene, words: str) -> float:
        """The width these words need, chosen or not."""
        return max(scene.pen.letters.width_mm(words, READ_STRONG) + 9.0, 15.0)


class StaffCorner(Button):
    """The staff's way in: a quiet word in the corner, held 2 s."""

    def __init__(self, scene: Scene, word: str, box: Box) -> None:
        super().__init__(scene, "staff corner", "staff", box, STAFF_HOLD_S)
        self._ink = self.say(word, READ, box.x, box.y - 2.0, "quiet")

    def show_pressed(self, pressed: bool) -> None:
        """The word comes forward."""
        tint(self, self._ink, "text" if pressed else "quiet")
