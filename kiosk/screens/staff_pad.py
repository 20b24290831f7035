"""The key pad: a prompt, what was entered, keys of 15 mm. Millimetres.

A narrow pad stands in the trailing half beside its prompt; a wide one under it. Decision screens-12.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from kiosk.figures.marks import Box
from kiosk.screens.parts import Part, Scene
from kiosk.screens.screen import Screen
from kiosk.screens.staff_blocks import Block, flow_block, words_block
from kiosk.screens.staff_buttons import KEY, STAFF_MM, WORD_KEY, StaffButton, button_width_mm
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.theme import MAIN_WORDS, READ_STRONG, STAFF_GAP_MM, STAFF_OUTLINE_MM, STAFF_RADIUS_MM
from kiosk.wording.staff_parts import Option, PadView

NARROW_MM: Final = 100.0
WINDOW_MM: Final = (60.0, 12.0)   # shows a code of 16 characters from its end
WIDE_WINDOWS_MM: Final = (110.0, 85.0, 60.0, 48.0)  # for a passphrase or a name, beside two lines of words
WINDOW_GAP_MM: Final = 1.5
DOT: Final = "•"
MOST_LINES: Final = 2
LIFT_MM: Final = 2.0         # a pad of four rows begins so much nearer to the header


class PadScreen(StaffScreen):
    """A pad; what a keyboard types shows in its window where the pad has letters."""

    def __init__(self, scene: Scene, view: PadView, sheet: int) -> None:
        super().__init__(scene, view.head, view.controls, view.note)
        self.listens = True
        self._view, self._prompt = view, view.prompt
        self._rows = [[(key, _key_width(scene, key)) for key in row] for row in view.keys]
        if self._wide_mm() > NARROW_MM and self._note_lies_above():
            self._prompt, self._note = view.note, ""  # a keyboard needs the height
            self.body = self._lay_out(self._controls)
        self._window_mm = self._fitting_window() if self._wide_mm() > NARROW_MM else WINDOW_MM[0]
        self._shows_typing = any(len(key.words) == 1 and key.words.isalpha()
                                 for row in view.keys for key in row)
        self.body = replace(self.body, height=self.body.height + LIFT_MM)
        self._arrange()

    def typing(self, text: str) -> None:
        """What a keyboard or a scanner has typed so far."""
        if self._shows_typing:
            typed = DOT * len(text) if self._view.masked else text
            self.drop("entered")
            self._put_entered(typed or self._view.entered)

    def _put_entered(self, text: str) -> None:
        if self._window.width:
            self.put(Entered(self.scene, text, self._window))

    def _wide_mm(self) -> float:
        return max((_row_width(row) for row in self._rows), default=0.0)

    def _note_lies_above(self) -> bool:
        """Whether the note found no room beside the controls."""
        note, controls = self._foot.note, self._foot.controls
        return note is not None and bool(controls) and note.bottom > controls[0][1].bottom

    def _fitting_window(self) -> float:
        """The widest window beside which the words take no more than two lines.

        None (0) where a code's note needs the whole width: it says the code, and gives way to the next key.
        """
        letters, wide = self.scene.painter.letters, self.body.width - STAFF_GAP_MM
        offered = [one for one in WIDE_WINDOWS_MM if self._view.wide or one <= WINDOW_MM[0]]
        fitting = [one for one in offered
                   if len(letters.lines(self._prompt, READ_STRONG, wide - one)) <= MOST_LINES]
        if fitting:
            return fitting[0]
        return WIDE_WINDOWS_MM[-1] if self._view.wide else 0.0

    def _arrange(self) -> None:
        body, scene, view = self.body, self.scene, self._view
        wide = self._wide_mm()
        high = len(self._rows) * (STAFF_MM + STAFF_GAP_MM) - STAFF_GAP_MM
        narrow = wide <= NARROW_MM
        keys_x = -scene.leading * (body.width / 2 - wide / 2) if narrow else body.x
        room = body.width - wide - 12.0 if narrow else body.width - self._window_mm - STAFF_GAP_MM
        prompt = words_block(scene, room, self._prompt, READ_STRONG)
        top = body.top if narrow else body.top - max(WINDOW_MM[1], prompt.height) - WINDOW_GAP_MM
        words_left = body.left if scene.leading < 0 else body.right - room
        self._window = self._window_box(narrow, words_left, room)
        self.frame_parts()
        self._put_words(Box(words_left, body.bottom, room, body.height), narrow)
        self._put_entered(view.entered)
        self._put_keys(keys_x, max(top, body.bottom + high))

    def _window_box(self, narrow: bool, words_left: float, room: float) -> Box:
        """Under the prompt, or at the trailing end beside it."""
        body, wide, high = self.body, self._window_mm, WINDOW_MM[1]
        if not narrow:
            left = body.right - wide if self.scene.leading < 0 else body.left
            return Box(left, body.top - high, wide, high)
        wide = min(wide, room)
        left = words_left if self.scene.leading < 0 else words_left + room - wide
        prompt = words_block(self.scene, room, self._prompt, READ_STRONG)
        return Box(left, body.top - prompt.height - STAFF_GAP_MM - high, wide, high)

    def _put_words(self, box: Box, narrow: bool) -> None:
        """The prompt and, under the window of a narrow pad, the names."""
        scene, view = self.scene, self._view
        prompt = words_block(scene, box.width, self._prompt, READ_STRONG)
        _put_block(self, prompt, box, box.top)
        if view.names and narrow:
            _put_block(self, flow_block(scene, box.width, view.names), box, self._window.bottom - 5.0)

    def _put_keys(self, x: float, top: float) -> None:
        scene = self.scene
        for row in self._rows:
            left = x - _row_width(row) / 2
            for key, wide in row:
                face = KEY if len(key.words) == 1 else WORD_KEY
                box = Box(left, top - STAFF_MM, wide, STAFF_MM)
                self.put(StaffButton(scene, f"key {key.action}", key.action, key.words, box, face,
                                     available=key.available))
                left += wide + STAFF_GAP_MM
            top -= STAFF_MM + STAFF_GAP_MM


class Entered(Part):
    """The pad's window: what was entered, its end where it is too long."""

    def __init__(self, scene: Scene, text: str, box: Box) -> None:
        super().__init__(scene, "entered", box)
        scene.painter.rounded(self.canvas, box, STAFF_RADIUS_MM, "field")
        scene.painter.outline(self.canvas, box, STAFF_RADIUS_MM, STAFF_OUTLINE_MM, "line")
        while text and scene.painter.letters.width_mm(text, MAIN_WORDS) > box.width - 6.0:
            text = text[1:]
        if text:
            self.say(text, MAIN_WORDS, box.x, box.y - 3.0, "text")


def _put_block(screen: Screen, block: Block, column: Box, top: float) -> None:
    block.put(screen, Box(column.left, top - block.height, column.width, block.height))


def _key_width(scene: Scene, key: Option) -> float:
    return STAFF_MM if len(key.words) == 1 else button_width_mm(scene, key.words, WORD_KEY)


def _row_width(row: Sequence[tuple[Option, float]]) -> float:
    return sum(wide for _, wide in row) + STAFF_GAP_MM * max(len(row) - 1, 0)
