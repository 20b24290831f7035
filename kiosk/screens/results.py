"""What staff see after a visit, in the order of the page: the two sentences first, then profile and cautions.

All words come from the page's content. Several views of one screen, chosen below; light theme. Millimetres.
"""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from kiosk.screens.hatched import Hatched
from kiosk.screens.layout import Box
from kiosk.screens.parts import Header, Scene
from kiosk.screens.scale import TICKS_MM, Scale
from kiosk.screens.screen import Screen
from kiosk.screens.staff_buttons import Choice
from kiosk.screens.staff_text import HEAD_MM, ROW_MM, Column, Table, Text
from kiosk.screens.theme import READ, READ_STRONG, STAFF_GAP_MM
from kiosk.wording.page_parts import Headline, MeasureRow, PageContent, ValueTable
from kiosk.wording.results_words import cautions_word, results_title, summary_word

CHOICE_MM: Final = 15.0
DOT: Final = " \N{MIDDLE DOT} "
# shares of the width: name, value, scale, percentile, standing
PROFILE_COLUMNS: Final = (Column(51.0), Column(26.0, end=True), Column(61.0), Column(32.0),
                          Column(31.0, end=True))
CHANGE_COLUMNS: Final = (Column(54.0), Column(34.0, end=True), Column(34.0, end=True), Column(79.0, end=True))


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
        if content.change is not None:
            views.append((content.change.title, self._change))
        for part, cautions in enumerate(self._caution_parts(), start=1):
            views.append((cautions_word(language, part), partial(self._cautions, cautions)))
        return views

    def _choose(self, number: int) -> None:
        self.clear()
        scene, content = self.scene, self._content
        who = DOT.join([*(one.value for one in content.identity[:1]), content.visit_line])
        self.put(Header(scene, results_title(scene.language), _shortened(scene, who)))
        self._views[number][1]()
        x = scene.leading * self._body.width / 2
        for place, (words, _) in enumerate(self._views):
            width = Choice.width_mm(scene, words)
            left = x if scene.leading < 0 else x - width
            box = Box(left, scene.glass.box.bottom + scene.glass.margin, width, CHOICE_MM)
            self.put(Choice(scene, f"view {place}", words, box, chosen=place == number))
            x -= scene.leading * (width + STAFF_GAP_MM)

    def _summary(self) -> None:
        text = Text(self.scene, "sentences", self._body)
        for headline in self._content.headlines:
            text.paragraph(_said(headline), READ_STRONG, "text")
            text.paragraph(headline.chance, READ, "quiet", after=4.0)
        text.paragraph(f"{self._content.fit.title} {self._content.fit.answer}", READ, "text")
        if self._content.profile is not None:
            text.paragraph(self._content.profile.reference, READ, "quiet")
        self.put(text)

    def _profile(self) -> None:
        profile = self._content.profile
        if profile is None:
            return
        rows = tuple((row.name, row.value, "", _percentile(row), row.label or row.short_reason)
                     for row in profile.rows)
        heads = ("", "", "", profile.words.percentile, "")
        table = self.put(Table(self.scene, self._body, PROFILE_COLUMNS, heads, rows))
        left, width = table.places[2]
        height = HEAD_MM + ROW_MM * len(rows) + TICKS_MM
        box = Box(left, self._body.top - height, width, height)
        self.put(Scale(self.scene, box, profile, ROW_MM))

    def _values(self) -> None:
        values = self._content.values
        if values is None:
            return
        text = Text(self.scene, "values", self._body)
        text.paragraph(values.explanation, READ, "text", after=4.0)
        for line in _value_lines(values):
            text.paragraph(line, READ, "text", after=0.0)
        self.put(text)

    def _change(self) -> None:
        change = self._content.change
        if change is None:
            return
        rows = tuple((row.name, row.before, row.today, row.reading) for row in change.rows)
        if rows:
            heads = ("", change.heads[1], change.heads[2], change.heads[-1])
            self.put(Table(self.scene, self._body, CHANGE_COLUMNS, heads, rows))
            return
        text = Text(self.scene, "change", self._body)
        for note in change.notes:
            text.paragraph(note, READ, "text")
        self.put(text)

    def _cautions(self, cautions: Sequence[str]) -> None:
        lead = self.scene.leading
        inner = Box(self._body.left + (6.0 if lead < 0 else 0.0), self._body.bottom, self._body.width - 6.0,
                    self._body.height)
        text = Text(self.scene, "cautions", inner)
        for caution in cautions:
            text.paragraph(caution, READ, "text", after=2.0)
        self.put(text)
        edge = self._body.left if lead < 0 else self._body.right - 2.4
        self.put(Hatched(self.scene, Box(edge, text.bottom + 2.0, 2.4, inner.top - text.bottom - 4.0)))

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


def _percentile(row: MeasureRow) -> str:
    return f"{row.percentile} ({row.interval})" if row.interval else row.percentile


def _said(headline: Headline) -> str:
    return f"{headline.word}: {headline.sentence}" if headline.word else headline.sentence


def _value_lines(values: ValueTable) -> list[str]:
    rows = zip(values.names, values.cells, strict=True)
    return [f"{name}: " + DOT.join(cell for cell in cells if cell) for name, cells in rows]


def _shortened(scene: Scene, text: str) -> str:
    """As many of the parts of a line as fit beside the title."""
    room = scene.glass.box.width - 2 * scene.glass.margin - 70.0
    parts = text.split(DOT)
    while len(parts) > 1 and scene.pen.letters.width_mm(DOT.join(parts), READ) > room:
        parts.pop()
    return DOT.join(parts)
