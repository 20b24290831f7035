"""What staff see after a visit, in the order of the page: the two sentences first, then profile and cautions.

All words come from the page's content. Several views of one screen, chosen below; light theme. Millimetres.
"""

from collections.abc import Callable, Sequence
from typing import Final

from kiosk.screens.buttons import Choice
from kiosk.screens.layout import Box
from kiosk.screens.parts import Header, Part, Scene
from kiosk.screens.scale import HEAD_MM, Hatched, Scale
from kiosk.screens.screen import Screen
from kiosk.screens.theme import READ, READ_STRONG, RULE_MM, STAFF_GAP_MM, TypeStyle
from kiosk.wording.page_parts import Headline, MeasureRow, PageContent, Profile, ValueTable
from kiosk.wording.results_words import cautions_word, results_title, summary_word

ROW_MM: Final = 11.2
TWO_LINES_MM: Final = 5.6
CHOICE_MM: Final = 15.0
# name, value, scale, percentile, standing: shares of the width on a 10.1-inch glass
COLUMNS_MM: Final = (46.0, 34.0, 60.0, 26.0, 35.0)


class Results(Screen):
    """Header, one view, and the choice of views."""

    def __init__(self, scene: Scene, content: PageContent) -> None:
        super().__init__(scene, None, stop=False)
        self._content = content
        window, margin = scene.glass.box, scene.glass.margin
        self._body = Box(window.left + margin, window.bottom + margin + CHOICE_MM + STAFF_GAP_MM,
                         window.width - 2 * margin, window.height - margin - CHOICE_MM - STAFF_GAP_MM - 24.0)
        self._views = self._all_views()
        self._choose(0)

    def reported(self, action: str) -> bool:
        """A choice of another view stays on this screen."""
        if action.startswith("view "):
            self._choose(int(action.removeprefix("view ")))
            return True
        return False

    def _all_views(self) -> list[tuple[str, Callable[[], None]]]:
        content, language = self._content, self.scene.language
        views: list[tuple[str, Callable[[], None]]] = [(summary_word(language), self._summary)]
        if content.profile is not None:
            views.append((content.profile.words.title, self._profile))
        if content.values is not None:
            views.append((content.values.title, self._values))
        for part, cautions in enumerate(self._caution_parts(), start=1):
            views.append((cautions_word(language, part), lambda shown=cautions: self._cautions(shown)))
        return views

    def _choose(self, number: int) -> None:
        self.clear()
        scene, content = self.scene, self._content
        who = " \N{MIDDLE DOT} ".join([content.identity[0].value, content.visit_line] if content.identity
                                      else [content.visit_line])
        self.put(Header(scene, results_title(scene.language), _shortened(scene, who)))
        self._views[number][1]()
        x = scene.leading * -1 * -self._body.width / 2
        for place, (words, _) in enumerate(self._views):
            width = Choice.width_mm(scene, words)
            left = x if scene.leading < 0 else x - width
            box = Box(left, scene.glass.box.bottom + scene.glass.margin, width, CHOICE_MM)
            self.put(Choice(scene, f"view {place}", words, box, chosen=place == number))
            x -= scene.leading * (width + STAFF_GAP_MM)

    def _summary(self) -> None:
        text = Column(self.scene, "sentences", self._body)
        for headline in self._content.headlines:
            text.paragraph(_said(headline), READ_STRONG, "text")
            text.paragraph(headline.chance, READ, "quiet", after=5.0)
        text.paragraph(self._content.fit.answer, READ, "text")
        if self._content.profile is not None:
            text.paragraph(self._content.profile.reference, READ, "quiet")
        self.put(text)

    def _profile(self) -> None:
        profile = self._content.profile
        if profile is not None:
            self.put(Table(self.scene, self._body, profile))
            left, width = self._columns()[2]
            height = HEAD_MM + ROW_MM * len(profile.rows)
            box = Box(left, self._body.top - height, width, height)
            self.put(Scale(self.scene, box, profile, ROW_MM))

    def _values(self) -> None:
        values = self._content.values
        if values is not None:
            text = Column(self.scene, "values", self._body)
            text.paragraph(values.explanation, READ, "text", after=4.0)
            for line in _value_lines(values):
                text.paragraph(line, READ, "text")
            self.put(text)

    def _cautions(self, cautions: Sequence[str]) -> None:
        lead = self.scene.leading
        inner = Box(self._body.left + (6.0 if lead < 0 else 0.0), self._body.bottom, self._body.width - 6.0,
                    self._body.height)
        text = Column(self.scene, "cautions", inner)
        for caution in cautions:
            text.paragraph(caution, READ, "text", after=2.0)
        self.put(text)
        edge = self._body.left if lead < 0 else self._body.right - 2.4
        self.put(Hatched(self.scene, Box(edge, text.bottom, 2.4, inner.top - text.bottom)))

    def _caution_parts(self) -> list[list[str]]:
        """The cautions, as many to a view as fit."""
        parts: list[list[str]] = [[]]
        room = self._body.height
        for caution in self._content.cautions:
            lines = self.scene.pen.letters.lines(caution, READ, self._body.width - 6.0)
            needed = len(lines) * READ.pitch_mm + 2.0
            if needed > room and parts[-1]:
                parts.append([])
                room = self._body.height
            parts[-1].append(caution)
            room -= needed
        return parts

    def _columns(self) -> list[tuple[float, float]]:
        return columns(self.scene, self._body)


def columns(scene: Scene, body: Box) -> list[tuple[float, float]]:
    """Left edge and width of each column, wider on a wider glass; mirrored right to left."""
    share = body.width / sum(COLUMNS_MM)
    places, left = [], body.left
    widths = [width * share for width in COLUMNS_MM]
    for width in widths if scene.leading < 0 else reversed(widths):
        places.append((left, width))
        left += width
    return places if scene.leading < 0 else places[::-1]


class Column(Part):
    """Paragraphs from the top down."""

    def __init__(self, scene: Scene, name: str, box: Box) -> None:
        super().__init__(scene, name, box)
        self.bottom = box.top

    def paragraph(self, text: str, style: TypeStyle, role: str, after: float = 1.5) -> None:
        """One paragraph, wrapped (not balanced in its last line)."""
        lead = self.scene.leading
        x, align = (self.box.left, "left") if lead < 0 else (self.box.right, "right")
        for line in self.scene.pen.letters.lines(text, style, self.box.width):
            self.bottom -= style.pitch_mm
            self.say(line, style, x, self.bottom + 2.4, role, align)
        self.bottom -= after


class Table(Part):
    """Name, value, percentile with interval, standing: the columns around the scale."""

    def __init__(self, scene: Scene, body: Box, profile: Profile) -> None:
        super().__init__(scene, "table", body)
        self._places = columns(scene, body)
        top = body.top - HEAD_MM
        self._cell(3, profile.words.percentile, body.top - HEAD_MM / 2, READ, "quiet", end=False)
        for number, row in enumerate(profile.rows):
            self._row(row, top - (number + 0.5) * ROW_MM)
            if number:
                self._rule(top - number * ROW_MM)

    def _row(self, row: MeasureRow, y: float) -> None:
        percentile = f"{row.percentile} ({row.interval})" if row.interval else row.percentile
        self._cell(0, row.name, y, READ_STRONG, "text", end=False)
        self._cell(1, row.value, y, READ, "text", end=True)
        self._cell(3, percentile, y, READ, "text", end=False)
        self._cell(4, row.label or row.reason, y, READ, "text", end=True)

    def _rule(self, y: float) -> None:
        for first, last in ((0, 1), (3, 4)):
            (a, a_width), (b, b_width) = self._places[first], self._places[last]
            left, right = min(a, b), max(a + a_width, b + b_width)
            self.scene.pen.box(self.canvas, Box(left, y, right - left, RULE_MM), "line")

    def _cell(self, column: int, text: str, y: float, style: TypeStyle, role: str, *, end: bool) -> None:
        left, width = self._places[column]
        at_right = end == (self.scene.leading < 0)
        x, align = (left + width - 2.0, "right") if at_right else (left + 2.0 * (column > 0), "left")
        lines = self.scene.pen.letters.lines(text, style, width - 3.0)
        baseline = y - 2.0 + TWO_LINES_MM / 2 * (len(lines) - 1)
        for line in lines:
            self.say(line, style, x, baseline, role, align)
            baseline -= TWO_LINES_MM


def _said(headline: Headline) -> str:
    return f"{headline.word}: {headline.sentence}" if headline.word else headline.sentence


def _value_lines(values: ValueTable) -> list[str]:
    rows = zip(values.names, values.cells, strict=True)
    return [f"{name}: " + " \N{MIDDLE DOT} ".join(cell for cell in cells if cell) for name, cells in rows]


def _shortened(scene: Scene, text: str) -> str:
    """As many of the parts of a line as fit beside the title."""
    room = scene.glass.box.width - 2 * scene.glass.margin - 70.0
    parts = text.split(" \N{MIDDLE DOT} ")
    while len(parts) > 1 and scene.pen.letters.width_mm(" \N{MIDDLE DOT} ".join(parts), READ) > room:
        parts.pop()
    return " \N{MIDDLE DOT} ".join(parts)
