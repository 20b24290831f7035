"""The profile: one row a measure around the scale, a mark beside the values that changed reliably. mm."""

from collections.abc import Sequence
from typing import Final

from kiosk.figures.marks import Box
from kiosk.figures.profile_scale import SCREEN, ProfileScale, change_mark
from kiosk.screens.figures import ReadingLettering, draw
from kiosk.screens.parts import Part, Scene
from kiosk.screens.screen import Screen
from kiosk.screens.staff_text import (
    HEAD_MM,
    ROW_MM,
    Column,
    Table,
    fitted_widths,
    narrowed,
    row_needs_mm,
)
from kiosk.screens.theme import READ
from kiosk.wording.page_parts import MeasureRow, Profile

TICKS_MM: Final = 7.5         # below the rows, for the scale's numbers
SCALE_MM: Final = (60.0, 46.0)   # the scale's least width, and where a language needs the room
SCALE_COLUMN: Final = 2
APART_MM: Final = 4.0       # from the percentiles, so that the words above do not read on


class ProfilePart:
    """Names, values, scale, percentiles, labels for one width; rows drawn as many as wanted."""

    def __init__(self, scene: Scene, profile: Profile, width: float, row_mm: float = ROW_MM) -> None:
        self._scene, self._profile = scene, profile
        cells = [("", "", "", profile.words.percentile, ""), *(_cells(row) for row in profile.rows)]
        for scale_mm in SCALE_MM:
            widths = fitted_widths(scene, width, cells, {SCALE_COLUMN: scale_mm})
            if sum(widths) <= width + 1e-6:
                break
        widths = narrowed(scene, width, widths, cells)
        self._columns = [Column(wide, end=place in (1, 4)) for place, wide in enumerate(widths)]
        self.row_mm = max(row_mm, row_needs_mm(scene, widths, cells[1:]))
        share = min(width / sum(widths), 1.0)
        inner = share * widths[SCALE_COLUMN] - APART_MM - 2 * SCREEN.side
        letters = ReadingLettering(scene.pen.letters)
        self._head_lines = ProfileScale(0.0, inner, SCREEN).head_lines(profile.words, letters)
        self.head_mm = HEAD_MM + SCREEN.line_pitch * (self._head_lines - 1)

    def height(self, rows: int) -> float:
        """The height of so many rows with heads and ticks."""
        return self.head_mm + self.row_mm * rows + TICKS_MM

    def put(self, screen: Screen, box: Box, rows: Sequence[MeasureRow]) -> None:
        """Table and scale on a screen."""
        heads = ("", "", "", self._profile.words.percentile, "")
        table = screen.put(Table(screen.scene, box, self._columns, heads, [_cells(row) for row in rows],
                                 self.row_mm, self.head_mm))
        for number, row in enumerate(rows):
            if row.mark in ("poorer", "better"):
                _mark(table, number, row)
        left, width = table.places[SCALE_COLUMN]
        apart = 0.0 if screen.scene.leading < 0 else APART_MM
        place = Box(left + apart, box.bottom, width - APART_MM, box.height)
        screen.put(Scale(screen.scene, place, self._profile, self.row_mm, rows,
                         head_lines=self._head_lines))


class Scale(Part):
    """Head words above, band and edges behind, one row for each of the measures given."""

    def __init__(self, scene: Scene, box: Box, profile: Profile, row_mm: float,
                 rows: Sequence[MeasureRow], *, head_lines: int) -> None:
        super().__init__(scene, "scale", box)
        scale = ProfileScale(box.left + SCREEN.side, box.right - SCREEN.side, SCREEN)
        letters, bottom = ReadingLettering(scene.pen.letters), box.bottom + TICKS_MM
        top = bottom + len(rows) * row_mm
        draw(self, scale.heads(profile.words, top + HEAD_MM - 5.0, box.top - 5.0, head_lines))
        draw(self, scale.ground(top, bottom))
        draw(self, scale.ticks(profile.ticks, bottom, letters))
        for number, row in enumerate(rows):
            draw(self, scale.row(row, top - (number + 0.5) * row_mm, letters))


def _mark(table: Table, number: int, row: MeasureRow) -> None:
    """The mark of a reliable change, at the leading side of the value."""
    scene, (left, width) = table.scene, table.places[1]
    letters = scene.pen.letters
    taken = letters.widest_mm(letters.lines(row.value, READ, width - 1.5), READ) + 1.0 + SCREEN.change_half
    x = left + width - taken if scene.leading < 0 else left + taken
    draw(table, [change_mark(row.mark, (x, table.row_y(number)), SCREEN)])


def _cells(row: MeasureRow) -> tuple[str, ...]:
    percentile = f"{row.percentile} ({row.interval})" if row.interval else row.percentile
    return row.name, row.value, "", percentile, row.label or row.short_reason
