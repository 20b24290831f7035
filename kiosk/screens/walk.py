"""Every screen laid out in one language, and what does not fit: a catalogue checked on the real screens.

No screen is drawn; a window must be open. What counts as a fault: a part that leaves the panel, words that
leave their part, a part over another that may not lie there, and Stop's word where it is wider than 23 mm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, combinations
from typing import Final

from kiosk.i18n.language import Language
from kiosk.screens.painter import TouchPanel, painter_for
from kiosk.screens.parts import Part, Scene
from kiosk.screens.person import BUILDERS, HINT_AFTER_S, locked
from kiosk.screens.pictures import StaffShot, StillClock, all_steps
from kiosk.screens.results import Results
from kiosk.screens.screen import OwnAction, Screen, ShowView
from kiosk.screens.staff_frame import StaffScreen
from kiosk.screens.staff_screens import staff_screen
from kiosk.screens.stage import IN_FIELD, Stage
from kiosk.screens.theme import DARK, READ_STRONG
from kiosk.touch.calibration import Panel, nominal
from kiosk.visits.actions import CourseAction, ScreenAction
from kiosk.wording.instructions import stop_word

STOP_WORD_MM: Final = 23.0
_LIE_IN_FIELD: Final = {"field", "path", "target", "waiting words", "hand", "chevrons"}
_ON_THE_SHEET: Final = {"table", "scale"}
_OVER_ALL: Final = {"anywhere", "touch place"}
_HANG_MM: Final = {"message": 2.6, "page facts": 1.2, "figure": 1.2}  # tails and marks, in the gap around


@dataclass(frozen=True)
class LayoutFault:
    """One fault: the screen, the rule that does not hold, and what breaks it."""

    screen: str
    rule: str
    value: str


def layout_faults(
    language: Language, shots: Sequence[StaffShot], panels: Sequence[Panel] = ("A", "B")
) -> list[LayoutFault]:
    """All faults of a language on these panels, each once; opens a window that nobody sees."""
    clock = StillClock()
    stage = Stage(nominal("A"), clock, offscreen=True)
    try:
        found = [fault for panel in panels for fault in _faults(language, panel, stage, clock, shots)]
    finally:
        stage.close()
    return list(dict.fromkeys(found))


def _faults(
    language: Language, panel: Panel, stage: Stage, clock: StillClock, shots: Sequence[StaffShot]
) -> Iterator[LayoutFault]:
    painter = painter_for(TouchPanel(nominal(panel)), DARK, language.script, language.direction)
    scene = Scene(painter, language, clock, lambda action: None)
    word = stop_word(language)
    width_mm = painter.letters.width_mm(word, READ_STRONG)
    if width_mm > STOP_WORD_MM:
        yield LayoutFault("stop", "must_fit_its_button", f"{word} ({width_mm:.1f} mm)")
    for name, screen in chain(_persons(scene, clock), _staffs(scene, shots)):
        yield from _faults_on(name, screen, scene)
        stage.draw()  # its own empty screen: pictures of screens gone by are given back with a frame only


def _persons(scene: Scene, clock: StillClock) -> Iterator[tuple[str, Screen]]:
    for name, step in all_steps():
        screen = (IN_FIELD.get(step.screen) or BUILDERS[step.screen])(scene, step)
        yield name, screen
        screen.tick(clock.now_s + HINT_AFTER_S)
        yield name, screen
        while screen.reported(CourseAction.READY) or screen.reported(CourseAction.BEGIN):
            yield name, screen
        screen.reported(ScreenAction.STAFF)
        yield name, screen
    yield "locked", locked(scene)


def _staffs(scene: Scene, shots: Sequence[StaffShot]) -> Iterator[tuple[str, Screen]]:
    for shot in shots:
        if shot.view is not None:
            yield from _sheets(shot.name, staff_screen(scene, shot.view))
        elif shot.results is not None:
            results = Results(scene, *shot.results)
            for action in [getattr(part, "action", None) for part in results.parts]:
                if isinstance(action, ShowView):
                    results.reported(action)
                    yield from _sheets(f"{shot.name} view {action.place}", results)


def _sheets(name: str, screen: StaffScreen) -> Iterator[tuple[str, Screen]]:
    seen: set[int] = set()
    while screen.sheet not in seen:
        seen.add(screen.sheet)
        yield name, screen
        screen.reported(OwnAction.MORE_SHEETS)


def _faults_on(name: str, screen: Screen, scene: Scene) -> Iterator[LayoutFault]:
    for part in screen.parts:
        if not scene.panel.box.holds(part.box, 0.2):
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
