"""Every screen as a PNG, drawn off-screen by the same stage the person sees. Millimetres, seconds.

Steps of the person's part come from the real course of the battery; those of the staff's part are given.
"""

import os
import sys
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path
from subprocess import run
from typing import Final, Protocol

from kiosk.base.interruption import end_quietly
from kiosk.i18n.language import Language, load_language
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.running import Picture
from kiosk.pursuit.trial import TrialPlan
from kiosk.screens.person import HINT_AFTER_S, REST_S
from kiosk.screens.screen import OwnAction, ShowView
from kiosk.screens.stage import Stage
from kiosk.screens.theme import DARK, LIGHT
from kiosk.touch.calibration import Panel, nominal
from kiosk.visits.actions import CourseAction
from kiosk.visits.course import Course, Step
from kiosk.wording.page_parts import PageContent
from kiosk.wording.staff_parts import Control, ReplayPath, StaffView

THEMES = {"dark": DARK, "light": LIGHT}
_REPLAYED_S: Final = 5.0
_LATER_S = {"finger_check": HINT_AFTER_S, "rest": REST_S, "demonstration": 8.4}


class StaffShot(Protocol):
    """A screen of the staff's part in one language, and how a stage shows it."""

    @property
    def name(self) -> str:
        """What it and its picture are called."""

    @property
    def language(self) -> Language:
        """The language of its words."""

    @property
    def view(self) -> StaffView | None:
        """All its words, unless it shows results."""

    @property
    def results(self) -> tuple[PageContent, Sequence[Control], Sequence[ReplayPath]] | None:
        """Content, controls and trials."""

    def put(self, stage: Stage, /) -> None:
        """Show it."""


class StillClock:
    """A clock that stands until it is set on."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s

    def pass_time(self, seconds: float) -> None:
        self.now_s += seconds


def all_steps(preferred_hand: str = "right") -> Iterator[tuple[str, Step]]:
    """A step of every screen the course has, with a name for its picture."""
    course = Course(load_battery(), form="A", preferred_hand=preferred_hand)
    yield "welcome", course.step
    for action in (CourseAction.BEGIN, CourseAction.FINGER_FELT, CourseAction.SHOWN):
        step = course.act(action)
        yield step.screen, step
    yield "trial", course.act(CourseAction.READY)
    yield "not_understood_once", course.trial_ended("complete", None, practice_passed=False)
    for action in (CourseAction.SHOWN, CourseAction.SHOWN, CourseAction.READY):
        course.act(action)
    yield "not_understood", course.trial_ended("complete", None, practice_passed=False)
    yield "rest", course.act(CourseAction.GO_ON_MARKED)
    yield "stop_menu", course.act(CourseAction.STOP)
    course.act(CourseAction.GO_ON)
    yield from _to_the_end(course)


def _to_the_end(course: Course) -> Iterator[tuple[str, Step]]:
    """Through the scored trials, yielding the screens that come only there."""
    step = course.act(CourseAction.READY)
    while not course.done:
        if step.screen in ("change_hand", "new_path"):
            yield f"{step.screen}_{step.hand_side}", step
        if step.screen == "rest" and course.position == 4:
            yield "rest_two_more", step
        plan = step.plan
        if step.screen == "trial" and plan is not None and (plan.block, plan.number) == ("wander", 1):
            yield "trial_wander", step
        ended = step.screen == "trial"
        step = course.trial_ended("complete", True) if ended else course.act(CourseAction.READY)
    yield "thanks", step
    stopped = Course(load_battery(), form="A", preferred_hand="right")
    stopped.act(CourseAction.STOP)
    yield "stopped", stopped.act(CourseAction.END)


def render_all(folder: Path, tags: Sequence[str], themes: Sequence[str],
               panels: Sequence[Panel]) -> tuple[Path, ...]:
    """A PNG of every screen for each language tag, theme and panel; a process for each panel's window."""
    folder.mkdir(parents=True, exist_ok=True)
    for panel in panels:
        run([sys.executable, "-m", "kiosk.screens.pictures", str(folder), panel, ",".join(tags),
             ",".join(themes)], check=True, env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)})
    return tuple(sorted(folder.glob("*.png")))


def render_panel(folder: Path, languages: Sequence[Language], themes: Sequence[str], panel: Panel,
                 hand: str = "right", staff: Sequence[StaffShot] = ()) -> tuple[Path, ...]:
    """A PNG of every screen on one panel, in this process; the staff's where they are given."""
    folder.mkdir(parents=True, exist_ok=True)
    return tuple(path for theme in themes for language in languages
                 for path in _render(folder, language, theme, panel, hand, staff))


def _render(folder: Path, language: Language, theme: str, panel: Panel, hand: str,
            staff: Sequence[StaffShot]) -> Iterator[Path]:
    clock = StillClock()
    stage = Stage(nominal(panel), clock, offscreen=True, theme=THEMES[theme], staff_theme=THEMES[theme])
    own = [shot for shot in staff if shot.language.tag == language.tag]
    try:
        for name in chain(_draw_each(stage, clock, language, hand), _draw_staff(stage, clock, own)):
            path = folder / f"{name}-{language.tag}-{theme}-{panel}.png"
            stage.screenshot(path)
            yield path
    finally:
        stage.close()


def _draw_each(stage: Stage, clock: StillClock, language: Language, hand: str) -> Iterator[str]:
    for name, step in all_steps(hand):
        stage.show(step, language)
        if name == "rest":
            stage.draw()
            yield "rest_first_8_s"
        clock.pass_time(_LATER_S.get(name, 0.0))
        stage.draw()
        clock.pass_time(1.0)
        stage.draw()
        yield name
        if name == "trial" and step.plan is not None:
            yield from _moving(stage, clock, step.plan)
    stage.show_locked(language)
    stage.draw()
    yield "locked"


def _draw_staff(stage: Stage, clock: StillClock, shots: Sequence[StaffShot]) -> Iterator[str]:
    """Each shot, every view of the results, and every sheet of what does not fit one screen."""
    for shot in shots:
        shot.put(stage)
        clock.pass_time(_REPLAYED_S if shot.name == "replay" else 0.0)
        views = [action for action in stage.actions() if isinstance(action, ShowView)]
        if not views:
            yield from _sheets(stage, f"staff_{shot.name}")
        for view in views:
            stage.choose(view)
            yield from _sheets(stage, f"staff_{shot.name}_view_{view.place}")


def _sheets(stage: Stage, name: str) -> Iterator[str]:
    stage.draw()
    yield name
    seen = {getattr(stage.screen, "sheet", 0)}
    while OwnAction.MORE_SHEETS in stage.actions():
        stage.choose(OwnAction.MORE_SHEETS)
        sheet = getattr(stage.screen, "sheet", 0)
        if sheet in seen:
            return
        seen.add(sheet)
        yield f"{name}_sheet_{sheet + 1}"


def _moving(stage: Stage, clock: StillClock, plan: TrialPlan) -> Iterator[str]:
    """The same trial while resting, and while the finger follows."""
    x, y = (float(place) for place in plan.position(0.0))
    stage.frame(Picture("resting", x, y, True, 0.55), clock())
    stage.draw()
    yield "trial_resting"
    x, y = (float(place) for place in plan.position(4.2))
    for _ in range(2):
        stage.frame(Picture("window", x, y, True, 1.0), clock())
        clock.pass_time(1.0)
    stage.draw()
    yield "trial_moving"


def _main(folder: str, panel: Panel, tags: str, themes: str) -> None:
    render_panel(Path(folder), [load_language(tag) for tag in tags.split(",")], themes.split(","), panel)


if __name__ == "__main__":
    end_quietly()
    _main(*sys.argv[1:])  # type: ignore[arg-type]
