"""The frame of every staff screen: header, body, note, and the controls that stand at its foot. mm.

The main control stands at the trailing end. A note stands beside the controls where it has room on two lines,
else above them; its edge is hatched. What does not fit the body goes on to a further sheet, which the control
"more" turns.
"""

from collections.abc import Callable, Sequence
from typing import Final

from kiosk.figures.marks import Box
from kiosk.screens.parts import HATCHED_MM, Header, Part, Scene
from kiosk.screens.screen import OwnAction, Screen
from kiosk.screens.staff_blocks import Block
from kiosk.screens.staff_buttons import Choice, StaffButton
from kiosk.screens.staff_foot import BODY_GAP_MM, FACES, foot
from kiosk.screens.theme import ACT, READ, READ_STRONG, STAFF_GAP_MM
from kiosk.visits.actions import Action
from kiosk.wording.results_words import more_word
from kiosk.wording.staff_parts import Control, Head, Option

HEADER_MM: Final = 21.0
DOT: Final = " \N{MIDDLE DOT} "


class StaffScreen(Screen):
    """A staff screen; subclasses say what its blocks are, or draw into `body` themselves.

    tabs stand at the leading end of the foot, or above the controls where there is no room for both.
    """

    def __init__(self, scene: Scene, head: Head | None, controls: Sequence[Control], note: str = "",
                 progress: str = "", sheet: int = 0, tabs: Sequence[Option] = ()) -> None:
        super().__init__(scene, None, stop=False)
        self._tabs = tuple(tabs)
        self._head, self._controls, self._note, self._progress = head, tuple(controls), note, progress
        self.listens = False
        self._sheets: list[list[Block]] = [[]]
        self.sheet = sheet
        self.body = self._lay_out(self._controls)

    def reported(self, action: Action) -> bool:
        """Handle the control for a further sheet."""
        if action is not OwnAction.MORE_SHEETS:
            return False
        self.sheet = (self.sheet + 1) % len(self._sheets)
        self._put_sheet()
        return True

    def stack(self, make: Callable[[Box], Sequence[Block]]) -> None:
        """Show the blocks made for a body from the top down, on as many sheets as they need."""
        self._sheets = sheets(make(self.body), self.body.height)
        if len(self._sheets) > 1:
            more = Control(OwnAction.MORE_SHEETS, more_word(self.scene.language), "quiet")
            others = (one for one in self._controls if one.action is not OwnAction.MORE_SHEETS)
            self._controls = (more, *others)
            self.body = self._lay_out(self._controls)
            self._sheets = sheets(make(self.body), self.body.height)
        self.sheet = min(self.sheet, len(self._sheets) - 1)
        self._put_sheet()

    def frame_parts(self) -> None:
        """The header, the controls and the note of a screen for staff."""
        scene = self.scene
        if self._head is not None:
            who = DOT.join(part for part in (self._head.who, self._progress) if part)
            self.put(Header(scene, *fitted_head(scene, self._head.title, who)))
        for control, box in self._foot.controls:
            self.put_control(control, box)
        for option, box in self._foot.tabs:
            self.put(Choice(scene, option.action, option.words, box, option.chosen, option.available))
        if self._foot.note is not None:
            self.put(Note(scene, self._note, self._foot.note))

    def put_control(self, control: Control, box: Box) -> None:
        self.put(StaffButton(self.scene, f"control {control.action}", control.action, control.words, box,
                             FACES[control.weight], available=control.available, hold_s=control.hold_s))

    def typing(self, text: str) -> None:
        """What a keyboard or a scanner has typed so far."""

    def _put_sheet(self) -> None:
        self.clear()
        self.frame_parts()
        top = self.body.top
        for block in self._sheets[self.sheet]:
            block.put(self, Box(self.body.left, top - block.height, self.body.width, block.height))
            top -= block.height + block.after

    def _lay_out(self, controls: Sequence[Control]) -> Box:
        scene = self.scene
        window, margin = scene.panel.box, scene.panel.margin
        self._foot = foot(scene, controls, self._note, self._tabs)
        top = window.top - (HEADER_MM + BODY_GAP_MM if self._head is not None else margin)
        return Box(window.left + margin, self._foot.top, window.width - 2 * margin, top - self._foot.top)


class Note(Part):
    """A note to staff behind a hatched edge."""

    def __init__(self, scene: Scene, text: str, box: Box) -> None:
        super().__init__(scene, "note", box)
        leading = scene.leading < 0
        lines = scene.painter.letters.lines(text, READ_STRONG, box.width - HATCHED_MM - STAFF_GAP_MM)
        x = box.left + HATCHED_MM + STAFF_GAP_MM if leading else box.right - HATCHED_MM - STAFF_GAP_MM
        baseline = box.y + READ.pitch_mm * (len(lines) - 1) / 2 - 2.0
        for line in lines:
            self.say(line, READ_STRONG, x, baseline, "text", "left" if leading else "right")
            baseline -= READ.pitch_mm
        edge = box.left if leading else box.right - HATCHED_MM
        scene.painter.hatch(self.canvas, Box(edge, box.bottom, HATCHED_MM, box.height), "text")


def sheets(blocks: Sequence[Block], height: float) -> list[list[Block]]:
    """The blocks, as many to a sheet as fit."""
    filled: list[list[Block]] = [[]]
    used = 0.0
    for block in blocks:
        if filled[-1] and used + block.height > height + 1e-6:
            filled.append([])
            used = 0.0
        filled[-1].append(block)
        used += block.height + block.after
    return filled


def fitted_head(scene: Scene, title: str, who: str) -> tuple[str, str]:
    """The title, and as many of the parts of who and when as stand beside it."""
    letters = scene.painter.letters
    room = scene.panel.box.width - 2 * scene.panel.margin - 12.0 - letters.width_mm(title, ACT) - 8.0
    parts = who.split(DOT)
    while parts and letters.width_mm(DOT.join(parts), READ) > room:
        parts.pop()
    return title, DOT.join(parts)
