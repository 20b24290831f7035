"""The foot of a staff screen: controls, tabs and note, from the bottom up. mm."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.figures.marks import Box
from kiosk.screens.parts import HATCHED_MM, Scene
from kiosk.screens.staff_blocks import flowed
from kiosk.screens.staff_buttons import MAIN, QUIET, SECOND, STAFF_MM, button_width_mm
from kiosk.screens.theme import READ, READ_STRONG, STAFF_GAP_MM
from kiosk.wording.staff_parts import Control, Option

BODY_GAP_MM: Final = 5.0
ROW_MM: Final = STAFF_MM + STAFF_GAP_MM
TIGHTER_MM: Final = 3.0    # tabs beside the main control may stand so much closer to their words
NOTE_MM: Final = 60.0      # the least width of a note beside the controls
TWO_LINES_MM: Final = 36.0
FACES: Final = {"main": MAIN, "second": SECOND, "quiet": QUIET}
_CONTROL_SHARE: Final = 0.45
ControlRow = list[tuple[Control, float]]
TabRow = list[tuple[Option, float]]


@dataclass(frozen=True)
class Foot:
    """Where the controls stand, where the note, and where the body ends."""

    controls: tuple[tuple[Control, Box], ...]
    tabs: tuple[tuple[Option, Box], ...]
    note: Box | None
    top: float


def foot(scene: Scene, controls: Sequence[Control], note: str, tabs: Sequence[Option] = ()) -> Foot:
    """Places for controls, tabs and note from the bottom up."""
    window, margin = scene.panel.box, scene.panel.margin
    body = Box(window.left + margin, window.bottom + margin, window.width - 2 * margin, 0.0)
    rows, tab_rows, beside = _rows(scene, controls, tabs, body.width)
    placed: list[tuple[Control, Box]] = []
    for number, row in enumerate(reversed(rows)):
        placed += _placed(scene, row, body.bottom + number * ROW_MM)
    high = len(rows) + (0 if beside else len(tab_rows))
    placed_tabs = _placed_tabs(scene, tab_rows, body, 0 if beside else high - 1)
    top = body.bottom + high * ROW_MM
    if not note:
        return Foot(tuple(placed), placed_tabs, None, top)
    free = _free(rows, body.width) - (BODY_GAP_MM if rows else 0.0)
    if rows and not tabs and free >= NOTE_MM and _note_high(scene, note, free) <= STAFF_MM + 0.7:
        left = body.left if scene.leading < 0 else body.right - free
        return Foot(tuple(placed), (), Box(left, body.bottom, free, STAFF_MM), top)
    needed = _note_high(scene, note, body.width)
    noted = Box(body.left, top, body.width, needed)
    return Foot(tuple(placed), placed_tabs, noted, top + needed + STAFF_GAP_MM)


def _rows(scene: Scene, controls: Sequence[Control], tabs: Sequence[Option],
          width: float) -> tuple[list[ControlRow], list[TabRow], bool]:
    """Rows of controls, rows of tabs, and whether the tabs stand beside all controls or the main one."""
    main = [one for one in controls if one.weight == "main"]
    others = [one for one in controls if one.weight != "main"]
    for beside, above in ((controls, []), (main, others)) if tabs else ():
        lowest = _control_rows(scene, beside, width)
        for tighter in (0.0, TIGHTER_MM):
            found = flowed(scene, _free(lowest, width), tabs, tighter)
            if len(found) == 1 and _row_wide(found[0]) <= _free(lowest, width) and len(lowest) == 1:
                return [*_control_rows(scene, above, width), *lowest], found, True
    return _control_rows(scene, controls, width), flowed(scene, width, tabs) if tabs else [], False


def _free(rows: Sequence[ControlRow], width: float) -> float:
    """The width that the lowest row leaves free."""
    return width - (_row_wide(rows[-1]) + STAFF_GAP_MM if rows else 0.0)


def _row_wide(row: Sequence[tuple[object, float]]) -> float:
    return sum(wide for _, wide in row) + STAFF_GAP_MM * (len(row) - 1)


def _placed_tabs(scene: Scene, rows: Sequence[TabRow], body: Box,
                 highest: int) -> tuple[tuple[Option, Box], ...]:
    """The tabs from the leading edge on, their first row so many rows above the foot."""
    placed = []
    for number, row in enumerate(rows):
        bottom = body.bottom + (highest - number) * ROW_MM
        x = body.left if scene.leading < 0 else body.right
        for option, wide in row:
            placed.append((option, Box(x if scene.leading < 0 else x - wide, bottom, wide, STAFF_MM)))
            x -= scene.leading * (wide + STAFF_GAP_MM)
    return tuple(placed)


def _control_rows(scene: Scene, controls: Sequence[Control], width: float) -> list[ControlRow]:
    """Controls in reading order, the main one last, on as few rows as fit; the last row is the lowest.

    Where they take more than one row, long words stand on two lines.
    """
    ordered = sorted(controls, key=lambda control: ("quiet", "second", "main").index(control.weight))
    for most in (_CONTROL_SHARE * width, TWO_LINES_MM):
        rows = _filled(scene, ordered, width, most)
        if len(rows) <= 1:
            break
    return rows


def _filled(scene: Scene, ordered: Sequence[Control], width: float, most: float) -> list[ControlRow]:
    rows: list[ControlRow] = [[]] if ordered else []
    used = 0.0
    for control in reversed(ordered):
        wide = button_width_mm(scene, control.words, FACES[control.weight], most)
        if rows[0] and used + wide > width + 1e-6:
            rows.insert(0, [])
            used = 0.0
        rows[0].insert(0, (control, wide))
        used += wide + STAFF_GAP_MM
    return rows


def _placed(scene: Scene, row: Sequence[tuple[Control, float]], bottom: float) -> list[tuple[Control, Box]]:
    """A row of controls that ends at the trailing edge."""
    window, margin = scene.panel.box, scene.panel.margin
    x = -scene.leading * (window.width / 2 - margin)
    placed = []
    for control, wide in reversed(row):
        left = x - wide if scene.leading < 0 else x
        placed.append((control, Box(left, bottom, wide, STAFF_MM)))
        x += scene.leading * (wide + STAFF_GAP_MM)
    return placed[::-1]


def _note_high(scene: Scene, note: str, width: float) -> float:
    lines = scene.painter.letters.lines(note, READ_STRONG, width - HATCHED_MM - STAFF_GAP_MM)
    return READ.pitch_mm * len(lines)
