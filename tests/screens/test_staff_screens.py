"""The staff's screens by real touches and keys: every control tells its action, held ones only when held."""

from dataclasses import replace

import pytest

from kiosk.screens.screen import OwnAction, ShowView
from kiosk.staff.intake import IntakeAction
from kiosk.staff.ready import ReadyAction
from kiosk.visits.actions import AskWhy, Scan, ScreenAction
from kiosk.wording.staff_parts import Control
from tests.screens.sample_page import controls, page, trials
from tests.screens.sample_views import views

ENTER, ESCAPE, F1 = 13, 27, 282


def as_it_is(text):
    return text


def offered(view):
    """The actions a view offers, but for those that are not available."""
    found = [one for one in view.controls if one.available]
    for name in ("tiles", "chips", "ticks", "trials", "names"):
        found += [one for one in getattr(view, name, ()) if one.available]
    for row in (*getattr(view, "fields", ()),):
        found += row.options
    found += [key for row in getattr(view, "keys", ()) for key in row]
    return {one.action for one in found}


@pytest.mark.parametrize("name", views(as_it_is))
def test_every_control_of_a_view_tells_its_action(room, english, name):
    view = views(as_it_is)[name]
    for action in sorted(offered(view), key=repr):
        room.stage.show_staff(view, english)
        for _ in range(4):
            if action in room.stage.actions():
                break
            room.stage.choose(OwnAction.MORE_SHEETS)
        room.said.clear()
        room.stage.press(action, room.clock.pass_time)
        assert room.said == [action]


def test_what_is_not_available_tells_nothing(room, english):
    room.stage.show_staff(views(as_it_is)["intake"], english)
    room.stage.choose(IntakeAction.SAME)
    assert room.said == []


def test_a_held_control_needs_its_time(room, english):
    held = Control(ReadyAction.HAND_OVER, "Yes", "main", True, 0.6)
    room.stage.show_staff(replace(views(as_it_is)["ready"], controls=(held,)), english)
    x, y = room.stage.button_centre(ReadyAction.HAND_OVER)
    room.stage.finger_down(x, y)
    room.clock.pass_time(0.5)
    room.stage.finger_up()
    assert room.said == []
    room.stage.press(ReadyAction.HAND_OVER, room.clock.pass_time)
    assert room.said == [ReadyAction.HAND_OVER]


def test_a_touch_anywhere_clears_the_hand_over(room, english):
    room.stage.show_staff(views(as_it_is)["hand_over"], english)
    room.stage.finger_down(400.0, 500.0)
    room.stage.finger_up()
    assert room.said == [ScreenAction.TOUCHED]


def test_a_cross_tells_where_it_was_touched_in_mm_from_the_centre(room, english):
    room.stage.show_staff(views(as_it_is)["cross"], english)
    x, y = room.stage._panel.px(58.0, 46.0)
    room.stage.finger_down(x, y)
    room.stage.finger_up()
    (told,) = room.said
    assert (told.x_mm, told.y_mm) == (pytest.approx(58.0, abs=0.01), pytest.approx(46.0, abs=0.01))


def test_the_card_is_drawn_at_the_pixels_given_in_both_axes(room, english):
    for name, wide, high in (("card_width", 503.0, 317.0), ("card_height", 503.0, 317.0)):
        room.stage.show_staff(views(as_it_is)[name], english)
        box = next(part.box for part in room.stage.screen.parts if part.name == "card outline")
        across, up = room.stage._panel.size_px(box.width, box.height)
        assert (across, up) == (pytest.approx(wide, abs=0.01), pytest.approx(high, abs=0.01))


def scan(room, text, end=ENTER):
    window = room.stage._window
    for letter in text:
        window.dispatch("on_textinput", letter)
    window.dispatch("on_key_down", end, 0, "", [])


@pytest.mark.parametrize("name", ["today", "pad_code"])
def test_a_scanner_is_heard_on_lists_and_pads(room, english, name):
    room.stage.show_staff(views(as_it_is)[name], english)
    scan(room, "K-0412-7")
    assert room.said == [Scan("K-0412-7")]


def test_a_scanner_is_not_heard_elsewhere_and_nothing_typed_is_kept(room, english, steps):
    room.stage.show(steps["right"]["rest"], english)
    scan(room, "K-0412-7")
    room.stage.show_staff(views(as_it_is)["intake"], english)
    scan(room, "K-0412-7")
    room.stage.show_staff(views(as_it_is)["today"], english)
    scan(room, "")
    assert room.said == []


def test_escape_and_function_keys_lead_nowhere(room, english):
    room.stage.show_staff(views(as_it_is)["today"], english)
    for key in (ESCAPE, F1):
        assert room.stage._window.dispatch("on_key_down", key, 0, "", [])
    room.stage.draw()
    assert room.said == [] and room.stage.screen is not None


def test_results_keep_their_view_when_drawn_anew_and_ask_why_of_a_number(room, english):
    content = page()
    room.stage.show_results(content, english, controls(), trials())
    room.stage.choose(ShowView(2))
    room.stage.show_results(content, english, controls(), trials())
    assert room.stage.screen.shown == (2, 0)
    room.stage.choose(ShowView(0))
    room.stage.choose(OwnAction.ASK_WHY)
    while AskWhy("percentile", "Scatter, steady circle") not in room.stage.actions():
        room.stage.choose(OwnAction.MORE_SHEETS)
    room.stage.press(AskWhy("percentile", "Scatter, steady circle"))
    assert room.said == [AskWhy("percentile", "Scatter, steady circle")]


def test_replay_moves_the_hand_by_the_clock_and_hides_it_off_the_glass(room, english):
    room.stage.show_staff(views(as_it_is)["replay"], english)
    room.stage.draw()
    before = room.shot()
    room.clock.pass_time(1.0)
    room.stage.draw()
    assert (room.shot() != before).any()
