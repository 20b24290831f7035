"""The toolkit's touches as a Capture: every position, in window pixels, at the time of its arrival."""

import pytest

from kiosk.touch.calibration import PANEL_A


class MouseTouch:
    """The touch the toolkit makes of a mouse, a frame later than the mouse's own events."""

    device = "mouse"
    uid = 7
    sx = sy = 0.5


@pytest.fixture
def stream(room):
    from kiosk.screens.input import TouchStream

    stream = TouchStream(room.stage._window, lambda: round(room.clock() * 1e9))
    stream.start()
    yield stream
    stream.stop()


def test_a_finger_is_recorded_from_touch_to_lift_where_and_when_it_was(room, stream):
    room.stage.finger_down(640.0, 400.0)
    room.clock.pass_time(0.01)
    room.stage.finger_move(700.25, 410.5)
    room.clock.pass_time(0.01)
    room.stage.finger_up()
    touches = stream.drain()
    assert [(round(t.x_raw, 6), round(t.y_raw, 6), t.contact) for t in touches] == [
        (640.0, 400.0, True),
        (700.25, 410.5, True),
        (700.25, 410.5, False),
    ]
    assert [t.t_ns for t in touches] == [100_000_000_000, 100_010_000_000, 100_020_000_000]
    assert len({t.identity for t in touches}) == 1
    assert stream.drain() == []


def test_its_millimetres_are_those_of_the_calibration(room, stream):
    room.stage.finger_down(*room.stage._panel.px(30.0, -20.0))
    room.stage.finger_up()
    first = stream.drain()[0]
    x_mm, y_mm = PANEL_A.point_mm(first.x_raw, first.y_raw, stream.ranges, stream.window)
    assert (float(x_mm), float(y_mm)) == pytest.approx((30.0, -20.0), abs=1e-6)


def test_a_new_contact_has_a_new_identity(room, stream):
    for _ in range(2):
        room.stage.finger_down(100.0, 100.0)
        room.stage.finger_up()
    assert len({touch.identity for touch in stream.drain()}) == 2


def test_of_a_mouse_every_move_counts_while_it_is_down_and_none_before(room, stream):
    window = room.stage._window
    window.dispatch("on_mouse_move", 5, 5, [])
    window.dispatch("on_mouse_down", 10, 10, "left", [])
    window.dispatch("on_touch_down", MouseTouch())
    for x in range(11, 15):
        window.dispatch("on_mouse_move", x, 10, [])
    window.dispatch("on_touch_move", MouseTouch())
    window.dispatch("on_mouse_up", 14, 10, "left", [])
    window.dispatch("on_touch_up", MouseTouch())
    window.dispatch("on_mouse_move", 99, 99, [])
    window.dispatch("on_mouse_down", 9, 9, "scrollup", [])
    touches = stream.drain()
    assert [touch.x_raw for touch in touches] == [10.5, 11.5, 12.5, 13.5, 14.5, 14.5]
    assert {touch.y_raw for touch in touches} == {789.5}
    assert [touch.contact for touch in touches] == [True] * 5 + [False]


def test_it_names_its_source_and_its_clock_and_stops(room, stream):
    assert (stream.source, stream.clock_name) == ("toolkit", "frame_monotonic")
    stream.stop()
    room.stage.finger_down(640.0, 400.0)
    room.stage.finger_up()
    assert stream.drain() == []


def test_starting_again_forgets_what_came_before(room, stream):
    room.stage.finger_down(640.0, 400.0)
    stream.stop()
    stream.start()
    room.stage.finger_up()
    assert [touch.contact for touch in stream.drain()] == [False]
