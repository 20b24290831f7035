"""Text of staff screens: paragraphs from the top down, and a table whose columns mirror right to left. mm."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.screens.layout import Box
from kiosk.screens.parts import Part, Scene
from kiosk.screens.theme import READ, READ_STRONG, RULE_MM, TypeStyle

HEAD_MM: Final = 9.0
ROW_MM: Final = 11.2
LINES_MM: Final = 5.3   # pitch of two lines within a row


@dataclass(frozen=True)
class Column:
    """A column's share of the width; `end` sets its words at the trailing edge."""

    width: float
    end: bool = False


class Text(Part):
    """Paragraphs from the top down; `bottom` is where the next would begin."""

    def __init__(self, scene: Scene, name: str, box: Box) -> None:
        super().__init__(scene, name, box)
        self.bottom = box.top

    def paragraph(self, text: str, style: TypeStyle, role: str, after: float = 1.5) -> None:
        """One paragraph, its lines balanced."""
        x, align = (self.box.left, "left") if self.scene.leading < 0 else (self.box.right, "right")
        for line in self.scene.pen.letters.lines(text, style, self.box.width):
            self.bottom -= style.pitch_mm
            self.say(line, style, x, self.bottom + 2.4, role, align)
        self.bottom -= after


class Table(Part):
    """Heads and rows; no rule crosses a column that is empty in every row."""

    def __init__(self, scene: Scene, body: Box, columns: Sequence[Column], heads: Sequence[str],
                 rows: Sequence[Sequence[str]]) -> None:
        super().__init__(scene, "table", body)
        self._columns = columns
        self.places = places(scene, body, columns)
        for column, head in enumerate(heads):
            self.cell(column, head, body.top - 3.4, READ, "quiet")
        top = body.top - HEAD_MM
        used = [any(row[column] for row in rows) for column in range(len(columns))]
        for number, row in enumerate(rows):
            for column, text in enumerate(row):
                style = READ if column else READ_STRONG
                self.cell(column, text, top - (number + 0.5) * ROW_MM, style, "text")
            if number:
                self._rules(top - number * ROW_MM, used)

    def _rules(self, y: float, used: Sequence[bool]) -> None:
        for (left, width), shown in zip(self.places, used, strict=True):
            if shown:
                self.scene.pen.box(self.canvas, Box(left, y, width, RULE_MM), "line")

    def cell(self, column: int, text: str, y: float, style: TypeStyle, role: str) -> None:
        """Words in a column, their lines about y."""
        left, width = self.places[column]
        at_right = self._columns[column].end == (self.scene.leading < 0)
        x, align = (left + width, "right") if at_right else (left, "left")
        lines = self.scene.pen.letters.lines(text, style, width - 1.5)
        baseline = y - 1.6 + LINES_MM / 2 * (len(lines) - 1)
        for line in lines:
            self.say(line, style, x, baseline, role, align)
            baseline -= LINES_MM


def places(scene: Scene, body: Box, columns: Sequence[Column]) -> list[tuple[float, float]]:
    """Left edge and width of each column, wider on a wider glass; mirrored right to left."""
    share = body.width / sum(column.width for column in columns)
    places, done = [], 0.0
    for column in columns:
        width = column.width * share
        places.append((body.left + done if scene.leading < 0 else body.right - done - width, width))
        done += width
    return places
