"""Staff's screens that are stacked of blocks: choices, ready strip, observations, lists, figures, text."""

from kiosk.screens.parts import Scene
from kiosk.screens.staff_blocks import (
    Block,
    choices_block,
    figure_blocks,
    flow_block,
    list_blocks,
    words_block,
)
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.theme import ACT, READ, READ_STRONG
from kiosk.wording.staff_parts import (
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
    screen.stack([choices_block(scene, screen.body.width, row) for row in view.rows])
    return screen


def tick_screen(scene: Scene, view: TickView, sheet: int) -> StaffScreen:
    """The question, then what is to be confirmed."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    width = screen.body.width
    screen.stack([words_block(scene, width, view.question, ACT, after=8.0),
                  flow_block(scene, width, view.ticks)])
    return screen


def observation_screen(scene: Scene, view: ObservationView, sheet: int) -> StaffScreen:
    """Trials, what was seen in the chosen one, and the questions of the whole visit."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    width = screen.body.width
    blocks = [words_block(scene, width, view.prompt, READ_STRONG)] if view.prompt else []
    blocks += [flow_block(scene, width, options) for options in (view.tiles, view.chips) if options]
    screen.stack(blocks + [choices_block(scene, width, row) for row in view.rows])
    return screen


def list_screen(scene: Scene, view: ListView, sheet: int) -> StaffScreen:
    """Rows to pick from, or the words for none."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    screen.listens = True
    width = screen.body.width
    rows = list_blocks(scene, width, view.columns, view.rows)
    screen.stack(rows or [words_block(scene, width, view.empty, READ, "quiet")] if view.empty or rows else [])
    return screen


def figure_screen(scene: Scene, view: FigureView, sheet: int) -> StaffScreen:
    """The verdict in a sentence, then its figures."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    blocks: list[Block] = []
    if view.sentence:
        blocks.append(words_block(scene, screen.body.width, view.sentence, READ_STRONG))
    screen.stack(blocks + figure_blocks(scene, view.figures))
    return screen


def text_screen(scene: Scene, view: TextView, sheet: int) -> StaffScreen:
    """Paragraphs to read, and what is to be chosen below them."""
    screen = StaffScreen(scene, view.head, view.controls, view.note, sheet=sheet)
    width = screen.body.width
    blocks = [words_block(scene, width, text, READ) for text in view.paragraphs]
    screen.stack(blocks + [choices_block(scene, width, row) for row in view.fields])
    return screen
