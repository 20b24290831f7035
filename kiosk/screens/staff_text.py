"""Text of staff screens: paragraphs from the top down, and a table whose columns mirror right to left. mm."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.figures.marks import Align, Box
from kiosk.i18n.fonts import DEEP_SCRIPTS
from kiosk.screens.parts import Part, Scene
from kiosk.screens.theme import READ, READ_STRONG, RULE_MM, TypeStyle

HEAD_MM: Final = 9.0
ROW_MM: Final = 11.2
ROOM_MM: Final = 1.25      # least space above and below the lines of a row, so that a rule may part it
LINES_MM: Final = 5.0      # pitch of two lines within a row
DEEP_ROOM_MM: Final = 2.4  # both for scripts that reach further down
DEEP_LINES_MM: Final = 6.2
CELL_GAP_MM: Final = 3.0


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
        x, align = self.scene.line_start(self.box.left, self.box.right)
        for line in self.scene.painter.letters.lines(text, style, self.box.width):
            self.bottom -= style.pitch_mm
            self.say(line, style, x, self.bottom + 2.4, role, align)
        self.bottom -= after

    def room_for(self, text: str, style: TypeStyle) -> bool:
        """Whether a paragraph still fits the box."""
        lines = self.scene.painter.letters.lines(text, style, self.box.width)
        return self.bottom - len(lines) * style.pitch_mm >= self.box.bottom - 1e-6

    def close(self) -> Box:
        """End the box where the text ends; return what is left of it below."""
        rest = Box(self.box.left, self.box.bottom, self.box.width, max(self.bottom - self.box.bottom, 0.0))
        self.box = Box(self.box.left, self.bottom, self.box.width, self.box.top - self.bottom)
        return rest


class Table(Part):
    """Heads and rows; no rule crosses a column that is empty in every row."""

    def __init__(self, scene: Scene, body: Box, columns: Sequence[Column], heads: Sequence[str],
                 rows: Sequence[Sequence[str]], row_mm: float = ROW_MM, head_mm: float = HEAD_MM) -> None:
        super().__init__(scene, "table", body)
        self._columns, self.row_mm, self.head_mm = columns, row_mm, head_mm
        self.places = places(scene, body, columns)
        for column, head in enumerate(heads):
            self.cell(column, head, body.top - 3.4, READ, "quiet")
        used = [any(row[column] for row in rows) for column in range(len(columns))]
        for number, row in enumerate(rows):
            for column, text in enumerate(row):
                self.cell(column, text, self.row_y(number), READ if column else READ_STRONG, "text")
            if number:
                self._rules(body.top - head_mm - number * row_mm, used)

    def row_y(self, number: int) -> float:
        return self.box.top - self.head_mm - (number + 0.5) * self.row_mm

    def cell(self, column: int, text: str, y: float, style: TypeStyle, role: str) -> None:
        """Words in a column, their lines about y."""
        left, width = self.places[column]
        at_right = self._columns[column].end == (self.scene.leading < 0)
        x = left + width if at_right else left
        align: Align = "right" if at_right else "left"
        lines = self.scene.painter.letters.lines(text, style, width - 1.5)
        pitch = lines_mm(self.scene)
        baseline = y - 1.6 + pitch / 2 * (len(lines) - 1)
        for line in lines:
            self.say(line, style, x, baseline, role, align)
            baseline -= pitch

    def _rules(self, y: float, used: Sequence[bool]) -> None:
        for (left, width), shown in zip(self.places, used, strict=True):
            if shown:
                self.scene.painter.box(self.canvas, Box(left, y, width, RULE_MM), "line")


def lines_mm(scene: Scene) -> float:
    """From line to line within a row, in the language's script."""
    return DEEP_LINES_MM if scene.language.script in DEEP_SCRIPTS else LINES_MM


def row_needs_mm(scene: Scene, widths: Sequence[float], rows: Sequence[Sequence[str]]) -> float:
    """The height of rows in which every line of every cell stands clear."""
    room = DEEP_ROOM_MM if scene.language.script in DEEP_SCRIPTS else ROOM_MM
    return lines_mm(scene) * _most_lines(scene, widths, rows) + room


def places(scene: Scene, body: Box, columns: Sequence[Column]) -> list[tuple[float, float]]:
    """Left edge and width of each column, wider on a wider panel; mirrored right to left."""
    share = body.width / sum(column.width for column in columns)
    found, done = [], 0.0
    for column in columns:
        width = column.width * share
        found.append((body.left + done if scene.leading < 0 else body.right - done - width, width))
        done += width
    return found


def fitted_widths(scene: Scene, width: float, rows: Sequence[Sequence[str]],
                  fixed: Mapping[int, float]) -> list[float]:
    """Widths of columns: for two lines, for one where there is room; what is left goes to the fixed ones."""
    columns = list(zip(*rows, strict=True))
    needs = [(fixed[place],) * 2 if place in fixed else _needs(scene, cells, READ if place else READ_STRONG)
             for place, cells in enumerate(columns)]
    widths = [two for two, _ in needs]
    for place in sorted(range(len(needs)), key=lambda place: needs[place][1] - needs[place][0]):
        more = needs[place][1] - widths[place]
        if more <= width - sum(widths):
            widths[place] += more
    rest = max(width - sum(widths), 0.0)
    grow = list(fixed) or list(range(len(widths)))
    return [one + rest / len(grow) if place in grow else one for place, one in enumerate(widths)]


def narrowed(scene: Scene, width: float, widths: Sequence[float],
             rows: Sequence[Sequence[str]]) -> list[float]:
    """Columns too wide together: those of words give way, the last first, to their longest word."""
    found = list(widths)
    for place in (len(found) - 1, 0):
        style = READ if place else READ_STRONG
        words = tuple(word for row in rows for word in row[place].split())
        least = scene.painter.letters.widest_mm(words, style) + CELL_GAP_MM
        found[place] = max(min(found[place], found[place] - (sum(found) - width)), min(least, found[place]))
    return found


def _most_lines(scene: Scene, widths: Sequence[float], rows: Sequence[Sequence[str]]) -> int:
    """How many lines the highest cell takes."""
    letters = scene.painter.letters
    return max((len(letters.lines(text, READ if place else READ_STRONG, width - 1.5))
                for row in rows for place, (text, width) in enumerate(zip(row, widths, strict=True)) if text),
               default=1)


def _needs(scene: Scene, cells: Sequence[str], style: TypeStyle) -> tuple[float, float]:
    """The width a column needs on two lines and on one."""
    letters = scene.painter.letters
    two = max(letters.widest_mm((text,) if _is_value(text) else halved(scene, text, style), style)
              for text in cells)
    one = max(letters.width_mm(text, style) for text in cells)
    return two + CELL_GAP_MM, one + CELL_GAP_MM


def _is_value(text: str) -> bool:
    """Whether a text is a number with its unit, which stay together."""
    parts = text.split()
    return len(parts) == 2 and any(character.isdigit() for character in parts[0])


def halved(scene: Scene, words: str, style: TypeStyle) -> tuple[str, ...]:
    """The words on two lines, broken so that the wider line is as narrow as possible."""
    parts, letters = words.split(), scene.painter.letters
    ways = [(" ".join(parts[:cut]), " ".join(parts[cut:])) for cut in range(1, len(parts))]
    return min(ways, key=lambda way: letters.widest_mm(way, style), default=(words,))
