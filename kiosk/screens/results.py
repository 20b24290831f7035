"""What staff see after a visit, in the order of the page: the two sentences, then profile, change, paths.

All words come from the page's content. Views of one screen, chosen at its foot; on a wide panel profile and
change stand side by side above a strip of paths. Millimetres.
"""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from kiosk.figures.marks import Box
from kiosk.figures.profile_scale import SCREEN, ProfileScale, low_mark
from kiosk.screens.figures import ReadingLettering, VisitsChart, draw
from kiosk.screens.parts import HATCHED_MM, Hatched, Part, Scene
from kiosk.screens.screen import OwnAction, Screen, ShowView
from kiosk.screens.staff_blocks import Block, choices_blocks, flow_block, words_block
from kiosk.screens.staff_frame import DOT, StaffScreen
from kiosk.screens.staff_text import (
    HEAD_MM,
    ROW_MM,
    Column,
    Table,
    Text,
    fitted_widths,
    narrowed,
    row_needs_mm,
)
from kiosk.screens.theme import ACT, READ, READ_STRONG, STAFF_GAP_MM
from kiosk.screens.trial_tiles import (
    KINDS,
    LABEL_MM,
    CurveTile,
    ErrorTile,
    MovementKind,
    PathTile,
    mirrored,
    most_tiles,
    tiles,
)
from kiosk.visits.actions import Action, AskWhy
from kiosk.wording.page_parts import (
    ChangeSection,
    Headline,
    MeasureRow,
    PageContent,
    PathSection,
    Profile,
    ValueTable,
)
from kiosk.wording.results_words import (
    change_word,
    error_explanation,
    error_word,
    movement_explanation,
    paths_word,
    results_title,
    summary_word,
    why_word,
)
from kiosk.wording.staff_parts import Choices, Control, Head, Option, ReplayPath
from kiosk.wording.trial_curves import TrialCurves

TICKS_MM: Final = 7.5         # below the rows, for the scale's numbers
SCALE_MM: Final = (60.0, 46.0)   # the scale's least width, and where a language needs the room
SCALE_COLUMN: Final = 2
APART_MM: Final = 4.0       # from the percentiles, so that the words above do not read on
CHART_SHARE: Final = 0.58
COLUMN_GAP_MM: Final = 8.0
STRIP_MM: Final = 34.0
OVERVIEW_SHARE: Final = 0.66
OVERVIEW_ROW_MM: Final = 13.0
LEAST_TILE_MM: Final = 30.0
LEAST_CURVE_MM: Final = LABEL_MM + 12.0
LEAST_STRIP_MM: Final = LABEL_MM + 10.0
WIDE_MM: Final = 280.0
Blocks = Callable[[Box], Sequence[Block]]


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
        letters = ReadingLettering(scene.painter.letters)
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
            if row.low:
                _mark(table, number, row)
        left, width = table.places[SCALE_COLUMN]
        apart = 0.0 if screen.scene.leading < 0 else APART_MM
        place = Box(left + apart, box.bottom, width - APART_MM, box.height)
        screen.put(Scale(screen.scene, place, self._profile, self.row_mm, rows, head_lines=self._head_lines))


class Scale(Part):
    """Head words above, band and edges behind, one row for each of the measures given."""

    def __init__(self, scene: Scene, box: Box, profile: Profile, row_mm: float,
                 rows: Sequence[MeasureRow], *, head_lines: int) -> None:
        super().__init__(scene, "scale", box)
        scale = ProfileScale(box.left + SCREEN.side, box.right - SCREEN.side, SCREEN)
        letters, bottom = ReadingLettering(scene.painter.letters), box.bottom + TICKS_MM
        top = bottom + len(rows) * row_mm
        draw(self, scale.heads(profile.words, top + HEAD_MM - 5.0, box.top - 5.0, head_lines))
        draw(self, scale.ground(top, bottom))
        draw(self, scale.ticks(profile.ticks, bottom, letters))
        for number, row in enumerate(rows):
            draw(self, scale.row(row, top - (number + 0.5) * row_mm, letters))


def _mark(table: Table, number: int, row: MeasureRow) -> None:
    """The mark of a low score, at the leading side of the value."""
    scene, (left, width) = table.scene, table.places[1]
    letters = scene.painter.letters
    taken = letters.widest_mm(letters.lines(row.value, READ, width - 1.5), READ) + 1.0 + SCREEN.change_half
    x = left + width - taken if scene.leading < 0 else left + taken
    draw(table, [low_mark((x, table.row_y(number)), SCREEN)])


def _cells(row: MeasureRow) -> tuple[str, ...]:
    percentile = f"{row.percentile} ({row.interval})" if row.interval else row.percentile
    return row.name, row.value, "", percentile, row.label or row.short_reason


def profile_blocks(scene: Scene, body: Box, profile: Profile) -> list[Block]:
    """As many rows to a sheet as fit."""
    part = ProfilePart(scene, profile, body.width)
    fits = max(int((body.height - part.height(0)) // part.row_mm), 1)
    parts = [profile.rows[at:at + fits] for at in range(0, len(profile.rows), fits)]

    def block(rows: Sequence[MeasureRow]) -> Block:
        return Block(part.height(len(rows)), lambda screen, box: part.put(screen, box, rows))

    notes = [words_block(scene, body.width, note, READ, "quiet") for note in profile.notes]
    return [block(rows) for rows in parts] + notes


def value_blocks(scene: Scene, values: ValueTable, body: Box) -> list[Block]:
    """Why nothing is compared, then the person's own values, one column a visit."""
    rows = [(name, *cells) for name, cells in zip(values.names, values.cells, strict=True)]
    explained = [words_block(scene, body.width, values.explanation, READ)] if values.explanation else []
    room = body.height - sum(block.height + block.after for block in explained)
    below = Box(body.left, body.bottom, body.width, room)
    return explained + table_blocks(scene, below, values.heads, rows)


def table_blocks(scene: Scene, body: Box, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[Block]:
    """A table, its heads again on each further sheet."""
    widths = fitted_widths(scene, body.width, [heads, *rows], {})
    columns = [Column(width, end=place > 0) for place, width in enumerate(widths)]
    row_mm = max(ROW_MM, row_needs_mm(scene, widths, rows))
    fits = max(int((body.height - HEAD_MM) // row_mm), 1)

    def block(some: Sequence[Sequence[str]]) -> Block:
        def put(screen: Screen, box: Box) -> None:
            screen.put(Table(scene, box, columns, heads, some, row_mm))
        return Block(HEAD_MM + row_mm * len(some), put)

    return [block(rows[at:at + fits]) for at in range(0, len(rows), fits)]


def change_blocks(scene: Scene, change: ChangeSection, body: Box) -> list[Block]:
    """The chart beside its key, then every measure then and now, then the notes."""
    notes = [words_block(scene, body.width, note, READ, "quiet") for note in change.notes]
    rows = [(row.name, row.before, row.today, row.reading) for row in change.rows]
    if not rows:
        return notes
    heads = ("", change.heads[1], change.heads[2], change.heads[-1])
    chart = []
    if change.chart is not None and change.chart.points:
        chart = [Block(body.height, lambda screen, box: put_chart(screen, box, change))]
    return chart + table_blocks(scene, body, heads, rows) + notes


def put_chart(screen: Screen, box: Box, change: ChangeSection) -> None:
    """The chart in the leading part, what it shows in words beside it."""
    scene, chart = screen.scene, change.chart
    if chart is None:
        return
    wide = CHART_SHARE * box.width
    left = box.left if scene.leading < 0 else box.right - wide
    screen.put(VisitsChart(scene, chart, Box(left, box.bottom, wide, box.height)))
    room = box.width - wide - COLUMN_GAP_MM
    text = Text(scene, "chart words", Box(box.right - room if scene.leading < 0 else box.left, box.bottom,
                                          room, box.height))
    text.paragraph(change.title, READ, "quiet", after=0.5)
    text.paragraph(chart.title, ACT, "text", after=4.0)
    row = next((one for one in change.rows if one.name and one.name in chart.title), None)
    for line, role in ((row.today, "accent"), (row.reading, "text")) if row else ():
        if text.room_for(line, READ_STRONG):
            text.paragraph(line, READ_STRONG, role)
    screen.put(text)
    rest = text.close()
    if chart.limits_z is not None and chart.limits_key:
        _put_key(screen, rest, chart.limits_key)


def _put_key(screen: Screen, room: Box, words: str) -> None:
    """The hatched sample and what it stands for, where there is room."""
    scene = screen.scene
    lines = scene.painter.letters.lines(words, READ, room.width - 12.0)
    high = len(lines) * READ.pitch_mm
    if high + STAFF_GAP_MM > room.height:
        return
    leading = scene.leading < 0
    top = room.bottom + high
    screen.put(Hatched(scene, Box(room.left if leading else room.right - 7.0, top - 6.4, 7.0, 5.0)))
    text = Text(scene, "chart key", Box(room.left + (12.0 if leading else 0.0), room.bottom,
                                        room.width - 12.0, high))
    text.paragraph(words, READ, "quiet", after=0.0)
    screen.put(text)


def path_blocks(scene: Scene, section: PathSection, body: Box) -> list[Block]:
    """All paths, as large as the body lets them be."""
    makers = [partial(PathTile, scene, figure) for figure in section.figures]
    return _tile_sheets(scene, body, section.explanation, makers)


def error_blocks(scene: Scene, trials: Sequence[ReplayPath], body: Box) -> list[Block]:
    """The distance from the disc over time, one curve a trial; on further sheets what the movement was."""
    makers = [partial(ErrorTile, scene, trial) for trial in trials]
    return _tile_sheets(scene, body, error_explanation(scene.language), makers) + movement_blocks(
        scene, trials, body)


def _tile_sheets(scene: Scene, body: Box, words: str, makers: Sequence[Callable[[Box], Part]]) -> list[Block]:
    """The words above as many tiles as fit on a sheet, on as many sheets as are needed."""
    explained = words_block(scene, body.width, words, READ, "quiet")
    room = body.height - explained.height - explained.after
    fits = most_tiles(body.width, room, LEAST_TILE_MM, LEAST_CURVE_MM)

    def sheet(some: Sequence[Callable[[Box], Part]]) -> Block:
        def put(screen: Screen, box: Box) -> None:
            boxes = tiles(box, len(some), LEAST_TILE_MM, min(LEAST_CURVE_MM, box.height))
            for make, place in zip(some, mirrored(scene, box, boxes), strict=True):
                screen.put(make(place))

        return Block(room, put)

    parts = [makers[at:at + fits] for at in range(0, len(makers), fits)]
    return [block for part in parts for block in (explained, sheet(part))]


def movement_blocks(scene: Scene, trials: Sequence[ReplayPath], body: Box) -> list[Block]:
    """A sheet for each way of looking at the movement: one tile a trial, all on one scale."""
    shown = [(one.label, one.curves) for one in trials if one.curves is not None]
    kinds = KINDS if shown else ()
    return [block for kind in kinds for block in _movement_sheet(scene, kind, shown, body)]


def _movement_sheet(scene: Scene, kind: MovementKind, shown: Sequence[tuple[str, TrialCurves]],
                    body: Box) -> list[Block]:
    scale = kind.scale_of([curves for _, curves in shown])
    words = movement_explanation(kind.name, scale.low, scale.high, scene.language)
    makers = [partial(CurveTile, scene, label, kind.lines_of(curves), scale) for label, curves in shown]
    return _tile_sheets(scene, body, words, makers)


def fits_beside(scene: Scene, body: Box, profile: Profile) -> bool:
    """Whether the profile leaves room for the change beside it and is no higher than the body."""
    part = ProfilePart(scene, profile, OVERVIEW_SHARE * body.width, OVERVIEW_ROW_MM)
    return part.height(len(profile.rows)) <= body.height


def overview_block(scene: Scene, body: Box, content: PageContent) -> Block:
    """On a wide panel: profile and change side by side above a strip of paths."""

    def put(screen: Screen, box: Box) -> None:
        profile, change, figures = content.profile, content.change, content.paths.figures
        if profile is None:
            return
        wide, leading = OVERVIEW_SHARE * box.width, scene.leading < 0
        part = ProfilePart(scene, profile, wide, OVERVIEW_ROW_MM)
        high = part.height(len(profile.rows))
        left = box.left if leading else box.right - wide
        part.put(screen, Box(left, box.top - high, wide, high), profile.rows)
        room = box.width - wide - COLUMN_GAP_MM
        if change is not None and change.chart is not None and change.chart.points:
            beside = Box(box.right - room if leading else box.left, box.top - high, room, high)
            _put_small_chart(screen, beside, change)
        strip = Box(box.left, box.bottom, box.width, min(STRIP_MM, box.height - high - STAFF_GAP_MM))
        if strip.height < LEAST_STRIP_MM:
            return  # long words; the paths have a view of their own
        boxes = tiles(strip, len(figures), 24.0, strip.height)
        for figure, place in zip(figures, mirrored(scene, strip, boxes), strict=True):
            screen.put(PathTile(scene, figure, place))

    return Block(body.height, put)


def _put_small_chart(screen: Screen, box: Box, change: ChangeSection) -> None:
    scene, chart = screen.scene, change.chart
    if chart is None:
        return
    title = words_block(scene, box.width, chart.title, READ_STRONG)
    title.put(screen, Box(box.left, box.top - title.height, box.width, title.height))
    rest = box.height - title.height - STAFF_GAP_MM
    screen.put(VisitsChart(scene, chart, Box(box.left, box.bottom, box.width, rest)))


def caution_block(scene: Scene, width: float, caution: str) -> Block:
    """One caution behind its hatched edge."""
    inner = width - HATCHED_MM - STAFF_GAP_MM
    words = words_block(scene, inner, caution, READ)

    def put(screen: Screen, box: Box) -> None:
        leading = scene.leading < 0
        words.put(screen, Box(box.right - inner if leading else box.left, box.bottom, inner, box.height))
        edge = box.left if leading else box.right - HATCHED_MM
        screen.put(Hatched(scene, Box(edge, box.bottom, HATCHED_MM, box.height)))

    return Block(words.height, put)


def parted(scene: Scene, body: Box, caution: str) -> list[str]:
    """A caution as it is, or in parts where it is higher than a sheet."""
    inner = body.width - HATCHED_MM - STAFF_GAP_MM
    lines, most = scene.painter.letters.lines(caution, READ, inner), max(int(body.height // READ.pitch_mm), 1)
    return [" ".join(lines[at : at + most]) for at in range(0, len(lines), most)]


def why_blocks(scene: Scene, content: PageContent, body: Box) -> list[Block]:
    """Every number that can be asked about, as a choice that asks."""
    sentences = [Option(AskWhy(figure), said) for headline, figures in
                 zip(content.headlines, (("low", "low_chance"), ("changed", "change_chance")), strict=False)
                 for figure, said in zip(figures, (headline.sentence, headline.chance), strict=True) if said]
    blocks = [flow_block(scene, body.width, (sentence,)) for sentence in sentences]
    rows = content.profile.rows if content.profile is not None else ()
    for row in rows:
        asked = (("value", row.value), ("percentile", row.percentile), ("interval", row.interval),
                 ("usual", row.usual), ("label", row.label))
        options = tuple(Option(AskWhy(figure, row.measure), said) for figure, said in asked if said)
        blocks += choices_blocks(scene, body, Choices(row.name, options))
    return blocks


class Results(StaffScreen):
    """Header, one view, the choice of views; the summary also has the controls that are not the main one."""

    def __init__(self, scene: Scene, content: PageContent, controls: Sequence[Control] = (),
                 trials: Sequence[ReplayPath] = (), shown: tuple[int, int] = (0, 0)) -> None:
        who = DOT.join([*(one.value for one in content.identity[:1]), content.visit_line])
        super().__init__(scene, Head(results_title(scene.language), who), ())
        self.content, self._given, self._trials = content, tuple(controls), tuple(trials)
        self._views = self._all_views()
        self._choose(min(shown[0], len(self._views) - 1), shown[1])

    @property
    def shown(self) -> tuple[int, int]:
        """The view and its sheet, for the same results drawn anew."""
        return self._view, self.sheet

    def reported(self, action: Action) -> bool:
        """A choice of another view, and the list of figures to ask about, stay on this screen."""
        if isinstance(action, ShowView):
            self._choose(action.place)
        elif action is OwnAction.ASK_WHY:
            self._show(partial(why_blocks, self.scene, self.content), -1, ())
        else:
            return super().reported(action)
        return True

    def _all_views(self) -> list[tuple[str, Blocks]]:
        scene, content, language = self.scene, self.content, self.scene.language
        views: list[tuple[str, Blocks]] = [(summary_word(language), self._summary)]
        if content.profile is not None:
            views.append((content.profile.words.title, self._profile))
        if content.values is not None:
            views.append((content.values.title, partial(value_blocks, scene, content.values)))
        if content.change is not None:
            views.append((change_word(language), partial(change_blocks, scene, content.change)))
        if content.paths.figures:
            views.append((paths_word(language), partial(path_blocks, scene, content.paths)))
        if self._trials:
            views.append((error_word(language), partial(error_blocks, scene, self._trials)))
        return views

    def _choose(self, number: int, sheet: int = 0) -> None:
        ask = Control(OwnAction.ASK_WHY, why_word(self.scene.language))
        others = (ask, *(one for one in self._given if one.weight != "main")) if number == 0 else ()
        self._show(self._views[number][1], number, others, sheet)

    def _show(self, blocks: Blocks, number: int, others: Sequence[Control], sheet: int = 0) -> None:
        self._view = max(number, 0)
        self._tabs = tuple(Option(ShowView(place), words, chosen=place == number)
                           for place, (words, _) in enumerate(self._views))
        self._controls = (*others, *(one for one in self._given if one.weight == "main"))
        self.sheet, self.body = sheet, self._lay_out(self._controls)
        self.stack(blocks)

    def _summary(self, body: Box) -> list[Block]:
        scene, content = self.scene, self.content
        blocks = []
        for headline in content.headlines:
            blocks.append(words_block(scene, body.width, _said(headline), READ_STRONG, after=0.5))
            if headline.chance:
                blocks.append(words_block(scene, body.width, headline.chance, READ, "quiet"))
        fit = f"{content.fit.title} {content.fit.answer}"
        notes = [(fit, "text"), *((note, "quiet") for note in content.fit.notes)]
        if content.profile is not None:
            notes.append((content.profile.reference, "quiet"))
        blocks += [words_block(scene, body.width, text, READ, role) for text, role in notes if text]
        return blocks + [caution_block(scene, body.width, part) for caution in content.cautions
                         for part in parted(scene, body, caution)]

    def _profile(self, body: Box) -> Sequence[Block]:
        profile = self.content.profile
        if profile is None:
            return []
        if self.scene.panel.box.width >= WIDE_MM and fits_beside(self.scene, body, profile):
            return [overview_block(self.scene, body, self.content)]
        return profile_blocks(self.scene, body, profile)


def _said(headline: Headline) -> str:
    return f"{headline.word}: {headline.sentence}" if headline.word else headline.sentence
