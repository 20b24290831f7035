"""What staff see after a visit, in the order of the page: the two sentences, then profile, change, paths.

All words come from the page's content. Views of one screen, chosen at its foot; on a wide panel profile and
change stand side by side above a strip of paths. Millimetres.
"""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from kiosk.figures.marks import Box
from kiosk.screens.parts import Scene
from kiosk.screens.results_blocks import (
    caution_block,
    change_blocks,
    error_blocks,
    fits_beside,
    overview_block,
    parted,
    path_blocks,
    profile_blocks,
    value_blocks,
    why_blocks,
)
from kiosk.screens.screen import OwnAction, ShowView
from kiosk.screens.staff_blocks import Block, words_block
from kiosk.screens.staff_frame import DOT, StaffScreen
from kiosk.screens.theme import READ, READ_STRONG
from kiosk.visits.actions import Action
from kiosk.wording.page_parts import Headline, PageContent
from kiosk.wording.results_words import (
    change_word,
    error_word,
    paths_word,
    results_title,
    summary_word,
    why_word,
)
from kiosk.wording.staff_parts import Control, Head, Option, ReplayPath

WIDE_MM: Final = 280.0
Blocks = Callable[[Box], Sequence[Block]]


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
        if self.scene.glass.box.width >= WIDE_MM and fits_beside(self.scene, body, profile):
            return [overview_block(self.scene, body, self.content)]
        return profile_blocks(self.scene, body, profile)


def _said(headline: Headline) -> str:
    return f"{headline.word}: {headline.sentence}" if headline.word else headline.sentence
