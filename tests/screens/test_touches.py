"""What the person does, by real touches through the toolkit's event loop and an input provider."""

import numpy as np
import pytest

from kiosk.pursuit.battery import load_battery
from kiosk.screens.screen import ShowView
from kiosk.staff.actions import StaffAction
from kiosk.visits.actions import CourseAction, ScreenAction
from kiosk.visits.course import Course
from tests.screens.sample_languages import arabic


def show(room, step, english):
    room.stage.show(step, english)
    room.stage.draw()


@pytest.mark.parametrize(
    ("screen", "action"),
    [
        ("welcome", CourseAction.BEGIN),
        ("welcome", CourseAction.STOP),
        ("finger_check", CourseAction.FINGER_FELT),
        ("demonstration", CourseAction.STOP),
        ("instruction", CourseAction.SHOW_AGAIN),
        ("instruction", CourseAction.READY),
        ("trial", CourseAction.STOP),
        ("not_understood_once", CourseAction.SHOW_AGAIN),
        ("not_understood", ScreenAction.STAFF),
        ("new_path_right", CourseAction.READY),
        ("change_hand_left", CourseAction.READY),
        ("rest", CourseAction.STOP),
        ("stop_menu", CourseAction.REST),
        ("stop_menu", CourseAction.GO_ON),
        ("stop_menu", CourseAction.END),
        ("stopped", CourseAction.GO_ON),
        ("thanks", ScreenAction.STAFF),
    ],
)
def test_every_control_reports_its_action_once(room, steps, english, screen, action):
    show(room, steps["right"][screen], english)
    room.stage.press(action, room.clock.pass_time)
    for _ in range(3):
        room.clock.pass_time(5.0)
        if screen != "demonstration":
            room.stage.draw()
    assert room.said == [action]


def test_touches_go_through_the_event_loop_and_the_window(room, steps, english):
    from kivy.core.window import Window

    show(room, steps["right"]["welcome"], english)
    seen = []

    def heard(_window, touch):
        seen.append(touch.pos)

    Window.bind(on_touch_down=heard)
    room.stage.press(CourseAction.BEGIN)
    Window.unbind(on_touch_down=heard)
    assert seen[0] == pytest.approx(room.stage.button_centre(CourseAction.BEGIN), abs=1.0)


@pytest.mark.parametrize("action", [CourseAction.RETRY, StaffAction.TODAY])
def test_an_action_the_screen_does_not_offer_is_named_as_a_fault(room, steps, english, action):
    show(room, steps["right"]["welcome"], english)
    with pytest.raises(ValueError, match=f"action must be one of .*welcome.*{action.name}"):
        room.stage.press(action)


def test_after_staff_have_come_they_choose_how_to_go_on(room, steps, english):
    for choice in (CourseAction.RETRY, CourseAction.GO_ON_MARKED, CourseAction.END):
        show(room, steps["right"]["not_understood"], english)
        assert choice not in room.stage.actions()
        room.stage.press(ScreenAction.STAFF, room.clock.pass_time)
        room.stage.press(choice)
    staff = ScreenAction.STAFF
    assert room.said == [staff, CourseAction.RETRY, staff, CourseAction.GO_ON_MARKED, staff, CourseAction.END]


def test_stop_acts_after_0_6_seconds_not_before(room, steps, english):
    show(room, steps["right"]["trial"], english)
    place = room.stage.button_centre(CourseAction.STOP)
    room.stage.finger_down(*place)
    room.clock.pass_time(0.59)
    room.stage.finger_up()
    room.clock.pass_time(1.0)
    room.stage.draw()
    assert room.said == []
    room.stage.finger_down(*place)
    room.clock.pass_time(0.6)
    room.stage.draw()
    assert room.said == [CourseAction.STOP]
    room.stage.finger_up()
    assert room.said == [CourseAction.STOP]


def test_stop_lets_go_when_the_finger_slides_off(room, steps, english):
    show(room, steps["right"]["trial"], english)
    room.stage.finger_down(*room.stage.button_centre(CourseAction.STOP))
    room.clock.pass_time(0.3)
    room.stage.finger_move(640.0, 400.0)
    room.clock.pass_time(1.0)
    room.stage.draw()
    assert room.said == []


def test_a_button_acts_on_lift_inside_its_edge_only(room, steps, english):
    show(room, steps["right"]["welcome"], english)
    x, y = room.stage.button_centre(CourseAction.BEGIN)
    room.stage.finger_down(x, y)
    assert room.said == []
    room.stage.finger_move(x, y + 200.0)
    room.stage.finger_up()
    assert room.said == []
    room.stage.finger_down(x, y)
    room.stage.finger_move(x + 20.0, y)
    room.stage.finger_up()
    assert room.said == [CourseAction.BEGIN]


def test_a_finger_that_comes_down_elsewhere_and_slides_on_presses_nothing(room, steps, english):
    show(room, steps["right"]["welcome"], english)
    room.stage.finger_down(640.0, 400.0)
    room.stage.finger_move(*room.stage.button_centre(CourseAction.BEGIN))
    room.stage.finger_up()
    assert room.said == []


def test_on_touch_down_fill_and_words_are_swapped_at_once_and_back_on_lift(room, steps, english):
    for screen, action in (
            ("welcome", CourseAction.BEGIN), ("instruction", CourseAction.SHOW_AGAIN),
            ("trial", CourseAction.STOP)):
        show(room, steps["right"][screen], english)
        x, y = (round(place) for place in room.stage.button_centre(action))
        before = room.shot()
        room.stage.finger_down(x, y)
        pressed = room.shot()
        corner = (slice(y - 60, y - 50), slice(x + 20, x + 40))
        assert np.abs(before[corner].mean() - pressed[corner].mean()) > 120
        room.stage.finger_up()
        if screen == "trial":
            assert (room.shot() == before).all()


def test_the_first_eight_seconds_of_a_rest_cannot_be_cut_short(room, steps, english):
    show(room, steps["right"]["rest"], english)
    place = room.stage.button_centre(CourseAction.READY)
    waiting = room.shot()
    for wait_s in (0.0, 4.0, 3.9):
        room.clock.pass_time(wait_s)
        room.stage.finger_down(*place)
        room.stage.finger_up()
    assert room.said == []
    assert (room.shot() == waiting).all()  # nothing counts down
    room.clock.pass_time(0.1)
    room.stage.draw()
    room.stage.press(CourseAction.READY)
    assert room.said == [CourseAction.READY]


def test_after_eight_seconds_the_button_fills_in_400_milliseconds(room, steps, english):
    show(room, steps["right"]["rest"], english)
    x, y = (round(place) for place in room.stage.button_centre(CourseAction.READY))
    seen = []
    for wait_s in (7.99, 0.02, 0.2, 0.2, 1.0):
        room.clock.pass_time(wait_s)
        room.stage.draw()
        seen.append(room.shot()[y - 55, x][0])
    assert seen[0] == seen[1] == 0x16
    assert seen[2] == pytest.approx((0x16 + 0xF7) / 2, abs=3)
    assert seen[3] == seen[4] == 0xF7


def test_the_demonstration_moves_by_the_clock_given_and_ends_by_itself(room, steps, english):
    show(room, steps["right"]["demonstration"], english)
    first = room.shot()
    room.stage.draw()
    assert (room.shot() == first).all()
    for _ in range(150):
        room.clock.pass_time(0.1)
        room.stage.draw()
    assert room.said == [CourseAction.SHOWN]


def test_the_finger_check_gives_a_hint_after_ten_seconds(room, steps, english):
    show(room, steps["right"]["finger_check"], english)
    room.clock.pass_time(9.9)
    room.stage.draw()
    assert not room.stage.screen.has("hint")
    room.clock.pass_time(0.2)
    room.stage.draw()
    assert room.stage.screen.has("hint")


def test_a_second_finger_does_not_take_a_button_over(room, steps, english):
    from kiosk.screens.input import Fingertip

    show(room, steps["right"]["welcome"], english)
    button = room.stage.screen.button(CourseAction.BEGIN)
    first, second = Fingertip(room.stage._window), Fingertip(room.stage._window)
    touches = []
    for finger in (first, second):
        finger.down(*room.stage.button_centre(CourseAction.BEGIN))
        finger.update(lambda kind, touch: touches.append(touch))
    for touch in touches:
        touch.scale_for_screen(1280, 800)
    assert button.on_touch_down(touches[0])
    assert not button.on_touch_down(touches[1])


def test_a_finger_whose_lift_never_came_does_not_keep_a_button_for_ever(room, steps, english):
    from kivy.base import EventLoop

    from kiosk.screens.input import Fingertip

    show(room, steps["right"]["welcome"], english)
    x, y = room.stage.button_centre(CourseAction.BEGIN)
    room.stage.finger_down(x, y)
    room.clock.pass_time(6.0)
    other = Fingertip(room.stage._window)
    EventLoop.add_input_provider(other)
    other.down(x, y)
    room.stage.draw()
    other.up(x, y)
    room.stage.draw()
    EventLoop.remove_input_provider(other)
    assert room.said == [CourseAction.BEGIN]


def test_a_whole_visit_is_led_through_by_touches_alone(room, english):
    course = Course(load_battery(), form="A", preferred_hand="left")
    shown, answer = set(), {"welcome": CourseAction.BEGIN, "finger_check": CourseAction.FINGER_FELT}
    while not course.done:
        step = course.step
        shown.add(step.screen)
        room.said.clear()
        room.stage.show(step, english)
        room.stage.draw()
        if step.screen == "trial":
            course.trial_ended("complete", True, practice_passed=True)
            continue
        room.clock.pass_time(13.0 if step.screen in ("rest", "demonstration") else 0.0)
        room.stage.draw()
        if step.screen != "demonstration":
            room.stage.press(answer.get(step.screen, CourseAction.READY), room.clock.pass_time)
        course.act(room.said[0])
        assert len(room.said) == 1
    assert shown == {
        "welcome",
        "finger_check",
        "demonstration",
        "instruction",
        "trial",
        "rest",
        "change_hand",
        "new_path",
    }


def test_results_show_one_view_at_a_time_and_tell_nobody(room, english):
    from tests.screens.sample_page import page

    room.stage.show_results(page(), english)
    room.stage.draw()
    views = [action for action in room.stage.actions() if isinstance(action, ShowView)]
    looks = []
    for view in views:
        room.stage.choose(view)
        looks.append(room.shot())
    assert len(views) >= 4
    assert all((one != other).any() for number, one in enumerate(looks) for other in looks[:number])
    assert room.said == []


def test_results_without_a_comparison_show_values_and_no_scale(room, english):
    from tests.screens.sample_page import page

    room.stage.show_results(page(compared=False), english)
    room.stage.choose(ShowView(1))
    assert room.stage.screen.has("table")
    assert not room.stage.screen.has("scale")


def test_a_picture_of_the_window_is_saved_as_it_was_drawn(room, steps, english, tmp_path):
    from PIL import Image

    show(room, steps["right"]["trial"], english)
    room.stage.screenshot(tmp_path / "trial.png")
    saved = np.asarray(Image.open(tmp_path / "trial.png"))[::-1]
    assert (saved == room.shot()).all()


def test_the_main_buttons_disc_is_at_the_leading_edge_of_the_language(room, steps, english):
    for language, sign in ((english, -1), (arabic(), 1)):
        room.stage.show(steps["right"]["welcome"], language)
        room.stage.draw()
        amber = np.abs(room.shot() - (0xF2, 0xB5, 0x44)).sum(axis=2) < 20
        from_centre = np.nonzero(amber)[1].mean() - room.stage.button_centre(CourseAction.BEGIN)[0]
        assert from_centre * sign > 20 * 5.88
