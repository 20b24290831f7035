"""Every screen, hand, language and panel: inside the glass, nothing over anything else, large enough."""

from itertools import combinations, product

import pytest

from kiosk.figures.marks import around
from kiosk.screens import theme
from kiosk.screens.painter import TouchPanel
from kiosk.screens.screen import OwnAction, ShowView
from kiosk.touch.calibration import PANEL_A, PANEL_B
from kiosk.visits.actions import CourseAction, ScreenAction
from tests.screens.sample_languages import arabic, lengthened, say_in
from tests.screens.sample_page import controls, page, trials
from tests.screens.sample_views import views

# What may lie over what: things in the field, by design.
IN_FIELD = {"field", "path", "target", "waiting words", "hand", "chevrons"}
ON_SHEET = {("table", "scale")}
PANELS = ("A", "B")
WHOLE_GLASS = {"anywhere", "touch place"}
LANGUAGES = {"English": None, "40 % longer": lengthened, "right to left": arabic}
# The narrow panel in long words; the other pairs by --long, as test_real_layout.py walks the real screens.
ALWAYS = {("40 % longer", "A")}
WALKS = [pytest.param(*pair, marks=() if pair in ALWAYS else pytest.mark.long)
         for pair in product(LANGUAGES, PANELS)]


def scenes(language, english):
    """A scene on each panel; no window of that size is needed to lay out."""
    from kiosk.screens.painter import painter_for
    from kiosk.screens.parts import Scene

    spoken = LANGUAGES[language]() if LANGUAGES[language] else english
    for calibration in (PANEL_A, PANEL_B):
        painter = painter_for(TouchPanel(calibration), theme.DARK, spoken.script, spoken.direction)
        yield Scene(painter, spoken, lambda: 0.0, lambda action: None)


def screens(scene, steps):
    """Every screen, and every page of those that have several."""
    from kiosk.screens.person import BUILDERS, locked
    from kiosk.screens.stage import IN_FIELD as FIELDS

    for hand in ("right", "left"):
        for name, step in steps[hand].items():
            screen = (FIELDS.get(step.screen) or BUILDERS[step.screen])(scene, step)
            yield f"{name} {hand}", screen
            for later_s in (8.0, 10.0):
                screen.tick(later_s)
                yield f"{name} {hand} after {later_s}", screen
            while screen.reported(CourseAction.READY) or screen.reported(CourseAction.BEGIN):
                yield f"{name} {hand} next page", screen
            screen.reported(ScreenAction.STAFF)
            yield f"{name} {hand} with staff", screen
    yield "locked", locked(scene)
    yield from staff_screens(scene)


def staff_screens(scene):
    """Every kind of view, every view of the results, each on all its sheets."""
    from kiosk.screens.results import Results
    from kiosk.screens.staff_screens import staff_screen

    say = say_in(scene.language)
    for name, view in views(say).items():
        yield from sheets(name, staff_screen(scene, view))
    for compared in (True, False):
        results = Results(scene, page(say, compared=compared), controls(say), trials(say))
        actions = [getattr(part, "action", None) for part in results.parts]
        for view in [action for action in actions if isinstance(action, ShowView)]:
            results.reported(view)
            yield from sheets(f"results {view}", results)
        results.reported(ShowView(0))
        results.reported(OwnAction.ASK_WHY)
        yield from sheets("results why", results)


def sheets(name, screen):
    yield name, screen
    seen = {screen.sheet}
    while screen.reported(OwnAction.MORE_SHEETS) and screen.sheet not in seen:
        seen.add(screen.sheet)
        yield f"{name} sheet {screen.sheet}", screen


def may_overlap(one, other):
    names = {one.name, other.name}
    return bool(names & WHOLE_GLASS) or names <= IN_FIELD or tuple(sorted(names, reverse=True)) in ON_SHEET


@pytest.mark.parametrize(("language", "panel"), WALKS)
def test_nothing_is_cut_or_lies_over_anything_else_and_every_control_is_large_enough(
    room, steps, english, language, panel
):
    """A person's controls: 20 mm and 5 apart; staff's 15 and 3."""
    seen = 0
    scene = list(scenes(language, english))[PANELS.index(panel)]
    for name, screen in screens(scene, steps):
        inside(scene.panel.box, screen.parts, name)
        for one, other in combinations(screen.parts, 2):
            assert may_overlap(one, other) or not one.box.overlaps(other.box), (
                f"{one.name} {one.box} lies over {other.name} {other.box} on {name}"
            )
        large_enough(screen.parts, name)
        seen += 1
    assert seen > 150


def inside(glass, parts, name):
    for part in parts:
        assert glass.holds(part.box, 0.2), f"{part.name} leaves the glass on {name}"
        hangs = 2.6 if part.name == "message" else 0.8  # a last line's descenders, in the gap below
        for words in part.words:
            assert part.box.holds(words, hangs), f"words leave {part.name} on {name}: {words} {part.box}"


def large_enough(parts, name):
    from kiosk.screens.buttons import Button
    from kiosk.screens.staff_buttons import RowButton, StaffButton

    staffs = (StaffButton, RowButton)
    buttons = [part for part in parts if isinstance(part, Button) and part.name not in WHOLE_GLASS]
    for one in buttons:
        least = 15.0 if isinstance(one, staffs) else 20.0
        assert min(one.box.width, one.box.height) >= least - 1e-6, f"{one.name} on {name}"
    for one, other in combinations(buttons, 2):
        gap = 3.0 if isinstance(one, staffs) else 5.0
        wider = around(one.box.x, one.box.y, one.box.width + 2 * gap - 0.1, one.box.height + 2 * gap - 0.1)
        assert not wider.overlaps(other.box), f"{one.name} and {other.name} on {name}"


@pytest.mark.parametrize("language", LANGUAGES)
def test_waiting_words_stand_inside_the_circle_clear_of_the_ring(room, steps, english, language):
    for scene in scenes(language, english):
        from kiosk.screens.in_field import Trial

        step = steps["right"]["trial"]
        words = [
            box for part in Trial(scene, step).parts if part.name == "waiting words" for box in part.words
        ]
        assert 2 <= len(words) <= 4
        for box in words:
            for x, y in (
                (box.left, box.bottom),
                (box.right, box.bottom),
                (box.left, box.top),
                (box.right, box.top),
            ):
                assert (x**2 + y**2) ** 0.5 <= 39.4
                assert (x**2 + (y - 40.0) ** 2) ** 0.5 >= 18.0


def test_stop_is_in_the_upper_corner_away_from_the_moving_hand_in_every_language(room, steps, english):
    from kiosk.screens.in_field import Trial

    for language in LANGUAGES:
        for scene in scenes(language, english):
            for hand, side in (("right", -1), ("left", 1)):
                stop = Trial(scene, steps[hand]["trial"]).button(CourseAction.STOP).box
                assert stop.x * side > 75.0
                assert stop.y > 0.0
                assert (stop.width, stop.height) == (28.0, 26.0)


def test_stops_word_is_at_most_23_mm_wide(room, steps, english):
    from kiosk.wording.instructions import stop_word

    for language in LANGUAGES:
        for scene in scenes(language, english):
            assert scene.painter.letters.width_mm(stop_word(scene.language), theme.READ_STRONG) <= 23.0


def test_right_to_left_mirrors_button_and_dots_but_not_field_or_stop(room, steps, english):
    from kiosk.screens.person import BUILDERS

    step = steps["right"]["instruction"]
    left_to_right, right_to_left = (
        BUILDERS["instruction"](next(scenes(language, english)), step)
        for language in ("English", "right to left")
    )
    for screen, sign in ((left_to_right, 1), (right_to_left, -1)):
        again, ready = screen.button(CourseAction.SHOW_AGAIN).box, screen.button(CourseAction.READY).box
        assert (ready.x - again.x) * sign > 0
        assert screen.button(CourseAction.STOP).box.x < -75


def test_a_longer_language_steps_its_headline_down_until_the_block_fits(room, steps, english):
    from kiosk.screens.parts import fit
    from kiosk.screens.person import zone

    scene = next(scenes("English", english))
    place = zone(scene)
    assert (place.top, place.bottom) == pytest.approx((scene.panel.box.top - 31, scene.panel.box.bottom + 42))
    short = fit(scene, "Rest your hand.", "Take your time.", place)
    long = fit(
        scene, "Please let your hand lie down and rest now.", "Shake it out and take your time. " * 4, place
    )
    assert short.style.cap_mm == 9.0
    assert long.style.cap_mm < 9.0
    assert long.height <= place.height


def test_sentences_that_do_not_fit_one_screen_take_another_page(room, english):
    from kiosk.screens.parts import pages
    from kiosk.screens.person import zone

    scene = next(scenes("English", english))
    sentences = ["This is one of many sentences that fill a screen."] * 6
    turned = pages(scene, "Hello.", sentences, zone(scene))
    assert len(turned) >= 2
    assert " ".join(sentence for _, sentence in turned) == " ".join(sentences)


def test_every_message_of_the_person_is_at_most_63_characters_and_two_lines(room, steps, english):
    from kiosk.wording.instructions import finger_hint, screen_words, use_this_hand

    scene = next(scenes("English", english))
    words = [screen_words(step, english) for step in steps["right"].values()] + [use_this_hand(english)]
    said = {text for one in words for text in (one.headline, *one.sentences)} | {finger_hint(english)}
    assert len(said) > 20
    for text in said:
        assert len(text) <= 63
        assert len(scene.painter.letters.lines(text, theme.TELL, 152.0)) <= 2
