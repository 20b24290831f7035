"""Every screen laid out in one language, and what does not fit: a catalogue checked on the real screens.

Nothing is drawn; a window must be open. What counts as a fault: a part that leaves the glass, words that
leave their part, a part over another that may not lie there, and Stop's word where it is wider than 23 mm.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from kiosk.glass.calibration import Panel, nominal
from kiosk.language import Language
from kiosk.screens.layout import Glass
from kiosk.screens.parts import Part, Scene
from kiosk.screens.pen import pen_for
from kiosk.screens.person import BUILDERS, HINT_AFTER_S, locked
from kiosk.screens.pictures import StillClock, all_steps
from kiosk.screens.screen import Screen
from kiosk.screens.staff_screens import staff_screen
from kiosk.screens.stage import IN_FIELD, Stage
from kiosk.screens.theme import DARK, READ_STRONG
from kiosk.wording.instructions import stop_word
from kiosk.wording.staff_parts import StaffView

STOP_WORD_MM: Final = 23.0
_LIE_IN_FIELD: Final = {"field", "path", "target", "waiting words", "hand", "chevrons"}
_ON_THE_SHEET: Final = {"table", "scale"}
_OVER_ALL: Final = {"anywhere", "touch place"}
_HANG_MM: Final = {"message": 2.6}  # a last line's descenders, in the gap below
Views = Callable[[Language], Sequence[tuple[str, StaffView]]]


@dataclass(frozen=True)
class LayoutFault:
    """One fault: the screen, the rule that does not hold, and what breaks it."""

    screen: str
    rule: str
    value: str


def layout_faults(
    language: Language, views: Views, panels: Sequence[Panel] = ("A", "B")
) -> list[LayoutFault]:
    """All faults of a language on these panels, each once; opens a window that nobody sees."""
    clock = StillClock()
    stage = Stage(nominal("A"), clock, offscreen=True)
    try:
        found = [fault for panel in panels for fault in _faults(language, panel, clock, views)]
    finally:
        stage.close()
    return list(dict.fromkeys(found))


def _faults(language: Language, panel: Panel, clock: StillClock, views: Views) -> Iterator[LayoutFault]:
    pen = pen_for(Glass(nominal(panel)), DARK, language.script, language.direction)
    scene = Scene(pen, language, clock, lambda action: None)
    word = stop_word(language)
    width_mm = pen.letters.width_mm(word, READ_STRONG)
    if width_mm > STOP_WORD_MM:
        yield LayoutFault("stop", "must_fit_its_button", f"{word} ({width_mm:.1f} mm)")
    for name, screen in _screens(scene, clock, views):
        yield from _faults_on(name, screen, scene)


def _screens(scene: Scene, clock: StillClock, views: Views) -> Iterator[tuple[str, Screen]]:
    for name, step in all_steps():
        screen = (IN_FIELD.get(step.screen) or BUILDERS[step.screen])(scene, step)
        yield name, screen
        screen.tick(clock.now_s + HINT_AFTER_S)
        yield name, screen
        while screen.reported("ready") or screen.reported("begin"):
            yield name, screen
        screen.reported("staff")
        yield name, screen
    yield "locked", locked(scene)
    for name, view in views(scene.language):
        sheets = staff_screen(scene, view)
        seen: set[int] = set()
        while sheets.sheet not in seen:
            seen.add(sheets.sheet)
            yield name, sheets
            sheets.reported("more sheets")


def _faults_on(name: str, screen: Screen, scene: Scene) -> Iterator[LayoutFault]:
    for part in screen.parts:
        if not scene.glass.box.holds(part.box, 0.2):
            yield LayoutFault(name, "must_stay_on_the_glass", part.name)
        hang = _HANG_MM.get(part.name, 0.8)
        if not all(part.box.holds(words, hang) for words in part.words):
            yield LayoutFault(name, "must_fit_its_place", part.name)
    for one, other in combinations(screen.parts, 2):
        if one.box.overlaps(other.box) and not _may_overlap(one, other):
            yield LayoutFault(name, "must_lie_clear", f"{one.name}, {other.name}")


def _may_overlap(one: Part, other: Part) -> bool:
    names = {one.name, other.name}
    return bool(names & _OVER_ALL) or names <= _LIE_IN_FIELD or names == _ON_THE_SHEET
