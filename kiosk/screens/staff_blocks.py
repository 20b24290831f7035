"""What staff's screens are stacked from: blocks of a known height that draw themselves into their box. mm.

A screen fills itself with as many blocks as fit and goes on to a further sheet; nothing is ever made smaller.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.figures.marks import Box
from kiosk.screens.parts import Scene
from kiosk.screens.screen import Screen
from kiosk.screens.staff_buttons import STAFF_MM, Choice, RowButton
from kiosk.screens.staff_text import Column, Table, Text, places
from kiosk.screens.theme import READ, READ_STRONG, STAFF_GAP_MM, TypeStyle
from kiosk.wording.staff_parts import Choices, Figure, ListRow, Option

LABEL_MM: Final = 42.0
LABEL_GAP_MM: Final = 3.0
LIST_ROW_MM: Final = 18.0
FIGURE_MM: Final = 10.0
HINT_GAP_MM: Final = 2.0
BLOCK_GAP_MM: Final = 5.0
_CELL_INSET_MM: Final = 5.0


@dataclass(frozen=True)
class Block:
    """A block's height, what draws it, and the gap it wants below."""

    height: float
    put: Callable[[Screen, Box], None]
    after: float = BLOCK_GAP_MM


def words_block(scene: Scene, width: float, text: str, style: TypeStyle, role: str = "text",
                after: float = STAFF_GAP_MM) -> Block:
    lines = scene.painter.letters.lines(text, style, width)

    def put(screen: Screen, box: Box) -> None:
        part = Text(scene, "words", box)
        part.paragraph(text, style, role, after=0.0)
        screen.put(part)

    return Block(len(lines) * style.pitch_mm, put, after)


def flow_block(scene: Scene, width: float, options: Sequence[Option]) -> Block:
    """Choices side by side in reading order, on as many rows as they need."""
    rows = flowed(scene, width, options)

    def put(screen: Screen, box: Box) -> None:
        _put_flow(screen, box, rows)

    return Block(_rows_high(len(rows)), put)


def choices_blocks(scene: Scene, body: Box, row: Choices) -> list[Block]:
    """A label in its column and its choices, which wrap; a hint below. Too high a row is parted in two."""
    block = _choices_block(scene, body.width, row)
    half = (len(row.options) + 1) // 2
    if block.height <= body.height or half == len(row.options):
        return [block]
    first = Choices(row.label, row.options[:half], row.hint)
    return [part for one in (first, Choices(row.label, row.options[half:], row.hint))
            for part in choices_blocks(scene, body, one)]


def _choices_block(scene: Scene, width: float, row: Choices) -> Block:
    letters = scene.painter.letters
    wide = max(LABEL_MM, letters.widest_mm(tuple(row.label.split()), READ_STRONG) + 0.1)
    column = wide + LABEL_GAP_MM if row.label else 0.0
    rows = flowed(scene, width - column, row.options)
    label = letters.lines(row.label, READ_STRONG, wide)
    hint = letters.lines(row.hint, READ, width - column) if row.hint else ()
    choices_high = _rows_high(len(rows)) + (HINT_GAP_MM if hint else 0.0)
    high = max(choices_high + len(hint) * READ.pitch_mm, len(label) * READ.pitch_mm)

    def put(screen: Screen, box: Box) -> None:
        leading = scene.leading < 0
        body = Box(box.left + (column if leading else 0.0), box.bottom, width - column, high)
        _put_flow(screen, body, rows)
        if row.label:
            left = box.left if leading else box.right - wide
            _put_label(screen, Box(left, box.bottom, wide, high), row.label, len(label))
        if row.hint:
            text = Text(scene, "hint", Box(body.left, body.bottom, body.width, high - choices_high))
            text.paragraph(row.hint, READ, "quiet", after=0.0)
            screen.put(text)

    return Block(high, put, STAFF_GAP_MM)


def list_blocks(scene: Scene, width: float, columns: Sequence[str], rows: Sequence[ListRow]) -> list[Block]:
    """Rows to open, one below the other; 18 mm from one to the next with the gap between them."""
    count = max([len(columns), *(len(row.cells) for row in rows)], default=1)
    shares = _shares(scene, columns, rows, count)

    def block(row: ListRow) -> Block:
        def put(screen: Screen, box: Box) -> None:
            screen.put(RowButton(scene, row.action, row.cells, _in_row(scene, box, shares), box))

        return Block(LIST_ROW_MM - STAFF_GAP_MM, put, STAFF_GAP_MM)

    def heads(screen: Screen, box: Box) -> None:
        for text, (left, wide) in zip(columns, _in_row(scene, box, shares), strict=False):
            part = Text(scene, "column head", Box(left, box.bottom, wide, box.height))
            part.paragraph(text, READ, "quiet", after=0.0)
            screen.put(part)

    head = [Block(READ.pitch_mm, heads, 0.5)] if any(columns) and rows else []
    return head + [block(row) for row in rows]


def figure_blocks(scene: Scene, figures: Sequence[Figure]) -> list[Block]:
    """Lines of a check: name, value, verdict in words; anything but a pass stands out by weight."""
    judged = any(one.verdict_words for one in figures)

    def block(figure: Figure) -> Block:
        def put(screen: Screen, box: Box) -> None:
            value, verdict = (25.0, 30.0) if judged else (45.0, 10.0)
            columns = (Column(45.0), Column(value, end=True), Column(verdict, end=True))
            style = READ_STRONG if figure.verdict in ("warn", "refuse") else READ
            cells = ((figure.name, READ), (figure.value, READ_STRONG), (figure.verdict_words, style))
            screen.put(FigureLine(scene, box, columns, cells))

        return Block(FIGURE_MM, put, 0.0)

    return [block(figure) for figure in figures]


class FigureLine(Table):
    """One line of a check with a rule below."""

    def __init__(self, scene: Scene, box: Box, columns: Sequence[Column],
                 cells: Sequence[tuple[str, TypeStyle]]) -> None:
        super().__init__(scene, box, columns, (), ())
        self.name = "figure"
        for column, (text, style) in enumerate(cells):
            self.cell(column, text, box.y, style, "text")
        scene.painter.box(self.canvas, Box(box.left, box.bottom, box.width, 0.25), "line")


def flowed(scene: Scene, width: float, options: Sequence[Option],
           tighter: float = 0.0) -> list[list[tuple[Option, float]]]:
    """The options and their widths, in rows no wider than the width; each narrower by `tighter`."""
    rows: list[list[tuple[Option, float]]] = [[]]
    used = 0.0
    for option in options:
        wide = min(max(Choice.width_mm(scene, option.words) - tighter, STAFF_MM), width)
        if rows[-1] and used + wide > width + 1e-6:
            rows.append([])
            used = 0.0
        rows[-1].append((option, wide))
        used += wide + STAFF_GAP_MM
    return rows


def _put_flow(screen: Screen, box: Box, rows: Sequence[Sequence[tuple[Option, float]]]) -> None:
    scene, top = screen.scene, box.top
    for row in rows:
        x = box.left if scene.leading < 0 else box.right
        for option, wide in row:
            left = x if scene.leading < 0 else x - wide
            place = Box(left, top - STAFF_MM, wide, STAFF_MM)
            screen.put(Choice(scene, option.action, option.words, place, option.chosen, option.available))
            x -= scene.leading * (wide + STAFF_GAP_MM)
        top -= STAFF_MM + STAFF_GAP_MM


def _put_label(screen: Screen, box: Box, label: str, lines: int) -> None:
    """The label's first row stands level with the first row of choices."""
    high = lines * READ.pitch_mm
    top = box.top - max((STAFF_MM - high) / 2, 0.0)
    text = Text(screen.scene, "label", Box(box.left, top - high, box.width, high))
    text.paragraph(label, READ_STRONG, "text", after=0.0)
    screen.put(text)


def _rows_high(rows: int) -> float:
    return rows * STAFF_MM + (rows - 1) * STAFF_GAP_MM


def _shares(scene: Scene, columns: Sequence[str], rows: Sequence[ListRow], count: int) -> list[Column]:
    """Columns as wide as their widest cell, in shares of the row."""
    letters = scene.painter.letters
    widest = []
    for column in range(count):
        cells = [row.cells[column] for row in rows if column < len(row.cells)]
        cells += [columns[column]] if column < len(columns) else []
        widest.append(max([letters.width_mm(cell, READ_STRONG) for cell in cells], default=1.0) + 5.0)
    return [Column(width) for width in widest]


def _in_row(scene: Scene, box: Box, shares: Sequence[Column]) -> list[tuple[float, float]]:
    """Where each cell stands; where there is too little room the first gives way, on two lines."""
    inner = Box(box.left + _CELL_INSET_MM, box.bottom, box.width - 2 * _CELL_INSET_MM, box.height)
    first, *others = shares
    room = inner.width - sum(one.width for one in others)
    on_two_lines = first.width / 2 <= room < first.width
    return places(scene, inner, [Column(room), *others] if on_two_lines else shares)
