"""The finger check: a finger in the ring for half a second, felt by the source that records the trials."""

import pytest

from kiosk.screens.painter import TouchPanel
from kiosk.touch.calibration import PANEL_A
from kiosk.visits.actions import CourseAction


@pytest.fixture
def ring(room, steps, english):
    room.stage.show(steps["right"]["finger_check"], english)
    room.stage.draw()
    box = next(part.box for part in room.stage.screen.parts if part.name == "finger ring")
    return box.x, box.y


def feel(room, *places, seconds=0.0):
    room.stage.fingers(list(places))
    room.clock.pass_time(seconds)
    room.stage.draw()


def test_a_finger_that_rests_in_the_ring_for_half_a_second_is_felt_once(room, ring):
    feel(room, ring, seconds=0.4)
    assert room.said == []
    feel(room, ring, seconds=0.2)
    feel(room, ring, seconds=1.0)
    assert room.said == [CourseAction.FINGER_FELT]


def test_a_finger_beside_the_ring_or_lifted_too_soon_is_not_felt(room, ring):
    feel(room, (ring[0] + 25.0, ring[1]), seconds=2.0)
    feel(room, ring, seconds=0.3)
    feel(room, seconds=0.3)
    feel(room, ring, seconds=0.3)
    assert room.said == []


def test_once_a_source_of_its_own_speaks_the_window_s_touches_do_not_fill_the_ring(room, ring):
    feel(room)
    room.stage.finger_down(*TouchPanel(PANEL_A).px(*ring))
    feel(room, seconds=2.0)
    room.stage.finger_up()
    assert room.said == []


def test_the_ring_closes_while_the_finger_is_in_it(room, ring):
    x_px, y_px = (round(one) for one in TouchPanel(PANEL_A).px(ring[0], ring[1] + 16.0))
    for places, shown in (((), False), ((ring,), True), ((), False)):
        feel(room, *places)
        feel(room, *places, seconds=0.4)
        assert (room.shot()[y_px, x_px].min() > 200) == shown, "the open ring has a gap at its top"
