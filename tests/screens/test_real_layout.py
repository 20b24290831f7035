"""Every screen as the real kiosk shows it, in its own words: inside the glass, nothing cut, controls large.

The person's screens from the course, the staff's from the simulated day with its results, page and replay;
en, ar and the lengthened English; both themes and panels. Each language, theme and panel is walked once; all
twelve pairings by --long.
"""

from dataclasses import replace
from itertools import combinations, product

import pytest

from kiosk.i18n.language import load_language
from kiosk.screens.painter import TouchPanel
from kiosk.screens.screen import OwnAction, ShowView
from kiosk.staff.features import SCREENS
from kiosk.staff.sign_in import Step
from kiosk.touch.calibration import nominal
from kiosk.visits.actions import CourseAction, ScreenAction
from tests.screens.test_layout import inside, large_enough, may_overlap, sheets

ALWAYS = {("en", "B", "light"), ("ar", "A", "dark"), ("en-x-long", "A", "light")}
WALKS = [pytest.param(*walk, marks=() if walk in ALWAYS else pytest.mark.long)
         for walk in product(("en", "ar", "en-x-long"), ("A", "B"), ("dark", "light"))]


def scene_of(tag, panel, theme):
    from kiosk.screens.painter import painter_for
    from kiosk.screens.parts import Scene
    from kiosk.screens.pictures import THEMES

    language = load_language(tag)
    painter = painter_for(TouchPanel(nominal(panel)), THEMES[theme], language.script, language.direction)
    return Scene(painter, language, lambda: 0.0, lambda action: None)


def persons(scene, steps):
    """The person's screens for either hand: at once, later, every page, and with staff there."""
    from kiosk.screens.person import BUILDERS, locked
    from kiosk.screens.stage import IN_FIELD

    for hand, shown in steps.items():
        for name, step in shown.items():
            screen = (IN_FIELD.get(step.screen) or BUILDERS[step.screen])(scene, step)
            yield f"{name} {hand}", screen
            screen.tick(10.0)
            yield f"{name} {hand} later", screen
            while screen.reported(CourseAction.READY) or screen.reported(CourseAction.BEGIN):
                yield f"{name} {hand} next page", screen
            screen.reported(ScreenAction.STAFF)
            yield f"{name} {hand} with staff", screen
    yield "locked", locked(scene)


def staffs(scene, shots):
    """The staff's screens with all their sheets; the results in every view, and asked why."""
    from kiosk.screens.results import Results
    from kiosk.screens.staff_screens import staff_screen

    for shot in shots:
        if shot.view is not None:
            yield from sheets(shot.name, staff_screen(scene, shot.view))
            continue
        results = Results(scene, *shot.results)
        actions = [getattr(part, "action", None) for part in results.parts]
        for view in [action for action in actions if isinstance(action, ShowView)]:
            results.reported(view)
            yield from sheets(f"{shot.name} view {view.place}", results)
        results.reported(ShowView(0))
        results.reported(OwnAction.ASK_WHY)
        yield from sheets(f"{shot.name} why", results)


def test_the_day_holds_every_screen_of_the_staff_s_part_and_of_the_door(day):
    seen = {shot.screen for shot in day["en"]}
    assert {one.name for one in SCREENS} - seen == {"person"}
    assert {f"door_{step.value}" for step in Step} <= seen
    assert all([one.name for one in day[tag]] == [one.name for one in day["en"]] for tag in day)


@pytest.mark.parametrize(("tag", "panel", "theme"), WALKS)
def test_nothing_is_cut_or_covered_and_every_control_is_large_enough(room, steps, day, tag, panel, theme):
    """A person's controls: 20 mm and 5 apart; staff's 15 and 3."""
    scene, seen, faults = scene_of(tag, panel, theme), 0, []
    for kind in (persons(scene, steps), staffs(scene, day[tag])):
        for name, screen in kind:
            seen += 1
            for check in (whole, clear, apart, large):
                faults += check(scene, screen.parts, name)
    assert not faults, "\n".join(faults)
    assert seen > 200


def whole(scene, parts, name):
    return _told(lambda: inside(scene.panel.box, parts, name))


def clear(scene, parts, name):
    return [f"{one.name} {one.box} lies over {other.name} {other.box} on {name}"
            for one, other in combinations(parts, 2)
            if one.box.overlaps(other.box) and not may_overlap(one, other)]


def apart(scene, parts, name):
    """Words of one part, such as the cells of a row, do not lie over each other; descenders may."""
    return [f"words of {part.name} lie over each other on {name}: {one} {other}"
            for part in parts for one, other in combinations(dict.fromkeys(part.words), 2)
            if lower(one).overlaps(lower(other))]


def lower(words):
    """A line's box without its descenders and without what the widest letters hang over."""
    return replace(words, left=words.left + 0.3, width=max(words.width - 0.6, 0.1),
                   bottom=words.bottom + 1.4, height=max(words.height - 2.0, 0.1))


def large(scene, parts, name):
    return _told(lambda: large_enough(parts, name))


def _told(check):
    try:
        check()
    except AssertionError as fault:
        return [str(fault).splitlines()[0]]
    return []
