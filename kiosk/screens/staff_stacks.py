"""Staff's screens that are stacked of blocks: choices, ready strip, observations, lists, figures, text."""

from collections.abc import Sequence
from dataclasses import replace

from kiosk.figures.marks import Box
from kiosk.screens.parts import Scene
from kiosk.screens.results import caution_block
from kiosk.screens.screen import Screen
from kiosk.screens.staff_blocks import (
    Block,
    choices_blocks,
    figure_blocks,
    flow_block,
    list_blocks,
    words_block,
)
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.theme import ACT, READ, READ_STRONG, STAFF_GAP_MM, TypeStyle
from kiosk.wording.staff_parts import (
    Choices,
    ChoiceView,
    FigureView,
    ListView,
    ObservationView,
    TextView,
    TickView,
)


def choice_screen(scene: Scene, view: ChoiceView, sheet: int) -> StaffScreen:
    """One subject, its choices in rows."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, view.progress, sheet)
    screen.stack(lambda body: _choices(scene, body, view.rows))
    return screen


def tick_screen(scene: Scene, view: TickView, sheet: int) -> StaffScreen:
    """The question, then what is to be confirmed."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    screen.stack(lambda body: [words_block(scene, body.width, view.question, ACT, after=8.0),
                               flow_block(scene, body.width, view.ticks)])
    return screen


def observation_screen(scene: Scene, view: ObservationView, sheet: int) -> StaffScreen:
    """Trials, what was seen in the chosen one, and the questions of the whole visit."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)

    def blocks(body: Box) -> list[Block]:
        tiles = [flow_block(scene, body.width, view.tiles)] if view.tiles else []
        of_which = words_block(scene, body.width, view.prompt, READ_STRONG)
        seen = _together(of_which, flow_block(scene, body.width, view.chips))
        return [*tiles, seen, *_choices(scene, body, view.rows)]

    screen.stack(blocks)
    return screen


def list_screen(scene: Scene, view: ListView, sheet: int) -> StaffScreen:
    """Rows to pick from, or the words for none."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    screen.listens = True
    screen.stack(lambda body: list_blocks(scene, body.width, view.columns, view.rows)
                 or _said(scene, body, view.empty))
    return screen


def figure_screen(scene: Scene, view: FigureView, sheet: int) -> StaffScreen:
    """The verdict in a sentence, then its figures, then why it is not better."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)

    def blocks(body: Box) -> list[Block]:
        figures = figure_blocks(scene, [one for one in view.figures if one.name])
        figures[-1:] = [replace(last, after=STAFF_GAP_MM) for last in figures[-1:]]
        reasons = [caution_block(scene, body.width, f"{one.verdict_words} {one.value}")
                   for one in view.figures if not one.name]
        return _said(scene, body, view.sentence, READ_STRONG, "text") + figures + reasons

    screen.stack(blocks)
    return screen


def text_screen(scene: Scene, view: TextView, sheet: int) -> StaffScreen:
    """Paragraphs to read, and what is to be chosen below them."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    screen.stack(lambda body: [words_block(scene, body.width, text, READ) for text in view.paragraphs]
                 + _choices(scene, body, view.fields))
    return screen


def _choices(scene: Scene, body: Box, rows: Sequence[Choices]) -> list[Block]:
    return [block for row in rows for block in choices_blocks(scene, body, row)]


def _together(upper: Block, lower: Block) -> Block:
    """Two blocks that stay on one sheet."""

    def put(screen: Screen, box: Box) -> None:
        upper.put(screen, Box(box.left, box.top - upper.height, box.width, upper.height))
        lower.put(screen, Box(box.left, box.bottom, box.width, lower.height))

    return Block(upper.height + upper.after + lower.height, put, lower.after)


def _said(scene: Scene, body: Box, text: str, style: TypeStyle = READ, role: str = "quiet") -> list[Block]:
    return [words_block(scene, body.width, text, style, role)] if text else []
