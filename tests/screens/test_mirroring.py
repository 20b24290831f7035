"""Right to left: what the look sheet mirrors is mirrored, and what it forbids to mirror is not.

Geometry and pixels of the real screens in English and in Arabic, side by side.
"""

from itertools import pairwise

import numpy as np
import pytest

from kiosk.figures.marks import around
from kiosk.i18n.language import load_language
from kiosk.pursuit.running import Picture
from kiosk.screens.screen import ShowView
from kiosk.screens.theme import DARK, LIGHT, rgb
from kiosk.staff.actions import Answer, Key, StaffAction
from kiosk.visits.actions import CourseAction
from tests.screens.sample_views import views

PX = 5.88
FIELD = (slice(33, 767), slice(199, 1081))  # rows and columns of the field, 150 x 125 mm, on panel A


@pytest.fixture(scope="module")
def languages():
    return load_language("en"), load_language("ar")


def both(room, day, name):
    """The same screen of the day on the stage in English, then in Arabic: (mirrored, screen, pixels)."""
    for tag, mirrored in (("en", False), ("ar", True)):
        shot = next(one for one in day[tag] if one.name == name)
        shot.put(room.stage)
        room.stage.draw()
        yield mirrored, room.stage.screen, room.shot()


def centre_of(shot, role, box=None, theme=LIGHT):
    """Middle of the pixels of a role within a box of the screen, mm from the window's centre."""
    near = np.abs(shot - np.array([round(part * 255) for part in rgb(getattr(theme, role))])).sum(axis=2) <= 6
    rows, columns = np.nonzero(near)
    x, y = (columns + 0.5 - 640) / PX, (rows + 0.5 - 400) / PX
    if box is not None:
        inside = (x > box.left) & (x < box.right) & (y > box.bottom) & (y < box.top)
        x, y = x[inside], y[inside]
    assert len(x), f"nothing of {role}"
    return x.mean(), y.mean()


def xs_of(screen, actions):
    """Where the buttons of these actions stand, in this order, mm from the left."""
    return [screen.button(action).box.x for action in actions]


# Mirrored


def test_the_header_s_mark_leads(room, day):
    for mirrored, _, shot in both(room, day, "today_nobody"):
        x, y = centre_of(shot, "target")
        assert (x > 80.0) == mirrored and (x < -80.0) != mirrored and y > 40.0


def test_choices_run_from_the_leading_edge_and_the_main_control_stands_at_the_trailing_one(room, day):
    for mirrored, screen, _ in both(room, day, "intake_tool_hand"):
        way = -1 if mirrored else 1
        answers = xs_of(screen, [Answer("tool_hand", hand) for hand in ("right", "left", "either")])
        assert all(way * (after - before) > 0 for before, after in pairwise(answers))
        back, onward = xs_of(screen, [StaffAction.BACK, StaffAction.NEXT])
        assert way * (onward - back) > 0 and way * onward > 60.0


def test_the_columns_of_a_list_and_the_first_visit_of_a_replay_lead(room, day):
    for mirrored, screen, _ in both(room, day, "compare"):
        heads = [part.box.x for part in screen.parts if part.name == "column head"]
        assert heads == sorted(heads, reverse=mirrored) and len(heads) >= 2
    for mirrored, screen, _ in both(room, day, "replay"):
        first, latest = [part.box.x for part in screen.parts if part.name == "replay"]
        assert (first > latest) == mirrored


def test_the_disc_of_the_main_button_and_the_dots_on_a_line_lead(room, steps, languages):
    found = []
    for language in languages:
        room.stage.show(steps["right"]["rest"], language)
        room.clock.pass_time(9.0)
        room.stage.draw()
        button, dots = room.stage.screen.button(CourseAction.READY), part(room, "progress_dots")
        room.clock.pass_time(1.0)
        room.stage.draw()
        shot = room.shot()
        disc_x, _ = centre_of(shot, "target", button.box, DARK)
        bright_x, _ = centre_of(shot, "quiet", dots.box, DARK)
        found.append((disc_x - button.box.left, button.box.right - disc_x, bright_x - dots.box.x))
    (from_left, _, done), (_, from_right, done_in_arabic) = found
    assert from_left == pytest.approx(14.0, abs=0.3) == from_right
    assert done < -5.0 and done_in_arabic == pytest.approx(-done, abs=0.3)


def part(room, name):
    return next(one for one in room.stage.screen.parts if one.name == name)


# Never mirrored


def test_the_field_its_path_and_the_hand_are_the_same_to_the_pixel(room, steps, languages):
    """A trial on the way, and the demonstration with its life-size hand, for either hand."""
    for hand in ("right", "left"):
        step, shots = steps[hand]["trial"], []
        for language in languages:
            room.stage.show(step, language)
            x, y = (float(place) for place in step.plan.position(4.2))
            for _ in range(2):
                room.stage.frame(Picture("window", x, y, True, 1.0), room.clock())
                room.clock.pass_time(1.0)
            room.stage.draw()
            moving = room.shot()[FIELD]
            room.stage.show(steps[hand]["demonstration"], language)
            room.clock.pass_time(6.0)
            room.stage.draw()
            shots.append((moving, room.shot()[FIELD]))
        for in_english, in_arabic in zip(*shots, strict=True):
            assert (in_english == in_arabic).all()
            assert in_english.std() > 5.0  # there is something to see


def test_stop_stays_in_the_corner_away_from_the_hand(room, steps, languages):
    for hand, side in (("right", -1), ("left", 1)):
        places = set()
        for language in languages:
            room.stage.show(steps[hand]["trial"], language)
            box = room.stage.screen.button(CourseAction.STOP).box
            places.add((round(box.x, 6), round(box.y, 6)))
        ((x, _),) = places
        assert x * side > 75.0


def test_digits_of_a_pad_stand_in_one_order(room, day):
    for _, screen, _ in both(room, day, "unlock"):
        one, two, three = xs_of(screen, [Key("1"), Key("2"), Key("3")])
        assert one < two < three


def dot_on_the_scale(room, day):
    """Where the first measure's mark stands on the scale, 0 its left to 1 its right edge.

    The first row alone: how many rows a sheet holds differs from script to script.
    """
    for _, _, _ in both(room, day, "results"):
        room.stage.choose(ShowView(1))
        room.stage.draw()
        scale, table = part(room, "scale"), part(room, "table")
        row = around(scale.box.x, table.row_y(0), scale.box.width, table.row_mm)
        x, _ = centre_of(room.shot(), "accent", row)
        yield (x - scale.box.left) / scale.box.width


def test_poorer_is_left_on_the_scale_in_both(room, day):
    english, arabic = dot_on_the_scale(room, day)
    assert arabic == pytest.approx(english, abs=0.01)
    assert abs(english - 0.5) > 0.02  # mirrored it would show


def test_time_runs_to_the_right_in_the_chart_of_visits(room, day):
    for _, _, _ in both(room, day, "results"):
        named = [one for one in room.stage.actions() if isinstance(one, ShowView)]
        for view in named:
            room.stage.choose(view)
            if any(one.name == "visits chart" for one in room.stage.screen.parts):
                break
        room.stage.draw()
        chart = part(room, "visits chart")
        latest_x, _ = centre_of(room.shot(), "accent", chart.box)
        assert latest_x > chart.box.x + 0.2 * chart.box.width


def test_the_disc_of_a_replay_goes_the_same_way_in_both(room, languages):
    """A quarter of the way round the disc stands on the same side of its own field."""
    sides = []
    for language in languages:
        room.stage.show_staff(views(lambda text: text)["replay"], language)
        room.clock.pass_time(1.0)
        room.stage.draw()
        boxes = [one.box for one in room.stage.screen.parts if one.name == "replay"]
        sides.append(sorted(centre_of(room.shot(), "target", box)[0] - box.x for box in boxes))
    assert sides[0] == pytest.approx(sides[1], abs=0.5) and min(sides[0]) > 3.0
