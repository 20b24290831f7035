"""The trial screen, pixel by pixel: the disc is at position(t), the ring tells contact, nothing more.

Expected places are computed here from the geometry (circle of 40 mm, 8 s a turn, smoothstep run-in of 2 s),
not with the code under test.
"""

from math import cos, pi, radians, sin
from pathlib import Path

import numpy as np
import pytest

from kiosk.pursuit.running import Picture
from kiosk.screens.theme import DARK, rgb
from kiosk.touch.calibration import PANEL_A

PX = 5.88


def colour(role):
    return np.array([round(255 * part) for part in rgb(getattr(DARK, role))])


def near(shot, role, within=40):
    return np.abs(shot - colour(role)).sum(axis=2) <= within


def at(shot, x_mm, y_mm):
    return shot[int(400 + y_mm * PX), int(640 + x_mm * PX)]


def is_role(pixel, role):
    return np.abs(pixel - colour(role)).sum() <= 12


def show(room, picture, settle=True):
    room.stage.frame(picture, room.clock())
    if settle:
        room.clock.pass_time(0.5)
        room.stage.frame(picture, room.clock())
    room.stage.draw()
    return room.shot()


def moving(x_mm, y_mm, on):
    return Picture("window", x_mm, y_mm, on, 1.0)


def centre_mm(mask):
    rows, columns = np.nonzero(mask)
    return (columns.mean() + 0.5 - 640) / PX, (rows.mean() + 0.5 - 400) / PX


def cover_mm2(shot, x_mm, y_mm, inner_mm, outer_mm):
    """How much target colour lies in a ring about a place, edges by their share."""
    rows, columns = np.mgrid[0:800, 0:1280]
    away = np.hypot((columns + 0.5 - 640) / PX - x_mm, (rows + 0.5 - 400) / PX - y_mm)
    ring = shot[(away > inner_mm) & (away < outer_mm)] - colour("field")
    whole = colour("target") - colour("field")
    return (ring @ whole / (whole @ whole)).sum() / PX**2


@pytest.fixture
def trial(room, steps, english):
    room.stage.show(steps["right"]["trial"], english)
    room.stage.draw()
    return room


def test_the_disc_is_drawn_where_the_trial_has_it(trial, steps):
    plan = steps["right"]["trial"].plan
    for t_s, turned in ((0.0, 0.0), (2.0, 1 / 8), (4.0, 3 / 8), (6.5, 5.5 / 8)):
        angle = pi / 2 + 2 * pi * turned  # counter-clockwise from 12 o'clock; the run-in covers 1 s of path
        x_mm, y_mm = (float(place) for place in plan.position(t_s))
        shot = show(trial, moving(x_mm, y_mm, True))
        disc = near(shot, "target")
        assert centre_mm(disc) == pytest.approx((40 * cos(angle), 40 * sin(angle)), abs=0.1)
        assert disc.sum() / PX**2 == pytest.approx(pi * (12**2 - 2**2), rel=0.03)
        assert is_role(at(shot, 40 * cos(angle), 40 * sin(angle)), "pip")


def test_on_the_disc_one_closed_ring_of_402_square_millimetres_in_the_contact_colour(trial):
    shot = show(trial, moving(0.0, 0.0, True))
    ring = near(shot, "contact", 12)[:, 300:]  # without Stop, whose words are nearly white
    assert ring.sum() / PX**2 == pytest.approx(pi * (18**2 - 14**2), rel=0.05)
    for turn in range(0, 360, 7):
        assert is_role(at(shot, 16 * sin(radians(turn)), 16 * cos(radians(turn))), "contact")
        assert is_role(at(shot, 13 * sin(radians(turn)), 13 * cos(radians(turn))), "field")
        assert is_role(at(shot, 18.8 * sin(radians(turn)), 18.8 * cos(radians(turn))), "field")


def test_off_the_disc_six_open_arcs_in_the_target_colour_with_a_gap_at_the_top(trial):
    shot = show(trial, moving(0.0, 0.0, False))
    for turn in range(360):
        pixel = at(shot, 16 * sin(radians(turn)), 16 * cos(radians(turn)))
        from_gap = min(turn % 60, 60 - turn % 60)
        if from_gap <= 8:
            assert is_role(pixel, "field")
        elif from_gap >= 13:
            assert is_role(pixel, "target")
    assert not near(shot, "contact", 6)[:, 300:].any()


def test_the_disc_itself_never_changes_with_contact(trial):
    on, off = (show(trial, moving(10.0, -5.0, touching)) for touching in (True, False))
    rows, columns = np.mgrid[0:800, 0:1280]
    inside = np.hypot((columns + 0.5 - 640) / PX - 10, (rows + 0.5 - 400) / PX + 5) < 13.5
    assert (on[inside] == off[inside]).all()


def test_the_ring_fades_in_120_milliseconds_and_out_in_240(trial):
    show(trial, moving(0.0, 0.0, False))
    seen = []
    for wait_s, on in ((0.0, True), (0.06, True), (0.06, True), (0.0, False), (0.12, False), (0.12, False)):
        trial.clock.pass_time(wait_s)
        shot = show(trial, moving(0.0, 0.0, on), settle=False)
        seen.append(at(shot, 17.4 * sin(radians(0)), 17.4)[2])  # outside the arcs, inside the closed ring
    field = colour("field")[2]
    assert seen == pytest.approx([field, (field + 255) / 2, 255, 255, (field + 255) / 2, field], abs=3)


def test_the_path_is_40_from_the_centre_and_stops_19_5_from_the_disc(trial):
    shot = show(trial, moving(0.0, 40.0, True))
    for sign in (-1, 1):
        turns = np.radians(np.arange(0.0, 180.0, 0.1))
        drawn = [is_role(at(shot, sign * 40 * sin(turn), 40 * cos(turn)), "line") for turn in turns]
        begins = int(np.argmax(drawn))
        assert 80 * sin(turns[begins] / 2) == pytest.approx(19.5, abs=0.3)  # chord from the disc's centre
        assert all(drawn[begins + 1 :])


def test_the_arcs_grow_while_the_finger_rests_and_meet(trial):
    x_mm, y_mm = 0.0, 40.0
    grown = []
    for closing in (0.0, 0.05, 0.3, 0.6, 0.95):
        shot = show(trial, Picture("resting", x_mm, y_mm, True, closing))
        grown.append(cover_mm2(shot, x_mm, y_mm, 14.0, 18.0))
    assert grown == sorted(grown)
    assert grown[0] == pytest.approx(134 - 5, rel=0.02)
    assert grown[-1] == pytest.approx(pi * (17**2 - 15**2), rel=0.02)


def test_lifting_while_resting_opens_the_arcs_at_once(trial):
    waiting = show(trial, Picture("waiting", 0.0, 40.0, False, 0.0))
    show(trial, Picture("resting", 0.0, 40.0, True, 0.9), settle=False)
    assert (show(trial, Picture("waiting", 0.0, 40.0, False, 0.0), settle=False) == waiting).all()


def test_nothing_is_drawn_at_the_touch_point(trial):
    before = show(trial, moving(0.0, 40.0, False))
    for x_mm, y_mm in ((0.0, 0.0), (30.0, -30.0), (0.0, 40.0)):
        trial.stage.finger_down(*(float(px) for px in PANEL_A.to_px(x_mm, y_mm)))
        assert (trial.shot() == before).all()
        trial.stage.finger_up()
    assert (trial.shot() == before).all()


def test_words_stand_in_the_circle_while_waiting_and_are_gone_once_it_moves(trial):
    resting = show(trial, Picture("waiting", 0.0, 40.0, False, 0.0))
    running = show(trial, moving(0.0, 40.0, False))
    words = near(resting, "text")[:, 210:1070]
    assert words.sum() > 2000
    assert not near(running, "text")[:, 210:1070].any()


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_rail_on_the_side_of_the_moving_hand_stays_empty(room, steps, english, hand):
    room.stage.show(steps[hand]["trial"], english)
    shot = show(room, moving(-40.0, 0.0, True))
    field_px = round(75 * PX)
    rails = {"right": shot[:, 640 + field_px + 2 :], "left": shot[:, : 640 - field_px - 2]}
    other = {"right": "left", "left": "right"}[hand]
    assert (rails[hand] == colour("ground")).all()
    assert near(rails[other], "text").sum() > 1000  # Stop and progress dots


def test_the_trial_is_dark_in_the_light_theme_too(room, steps, english):
    from kiosk.screens.stage import Stage
    from kiosk.screens.theme import LIGHT

    light = Stage(PANEL_A, room.clock, offscreen=True, theme=LIGHT)
    light.show(steps["right"]["trial"], english)
    light.draw()
    pixels = np.frombuffer(light.pixels(), dtype=np.uint8).reshape(800, 1280, 4)[..., :3].astype(int)
    light.close()
    assert is_role(at(pixels, 0.0, -55.0), "field")
    assert is_role(pixels[5, 1270], "ground")


def test_one_draw_is_one_frame(trial):
    from kivy.core.window import Window

    flips = []
    count = flips.append
    Window.bind(on_flip=count)
    for step in range(10):
        trial.stage.frame(moving(step * 1.0, 0.0, True), trial.clock())
        trial.stage.draw()
    Window.unbind(on_flip=count)
    assert len(flips) == 10


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_frames_leave_nothing_behind_in_memory(trial):
    def frames(count):
        for number in range(count):
            trial.clock.pass_time(0.05)
            place = (40 * cos(number / 20), 40 * sin(number / 20))
            trial.stage.frame(moving(*place, number % 40 < 30), trial.clock())
            trial.stage.draw()
        return int(Path("/proc/self/statm").read_text().split()[1]) * 4096 / 2**20

    before_mib = frames(200)
    assert frames(600) - before_mib < 8.0  # a frame that is never finished costs a third of a MiB


def test_no_speck_of_path_stands_between_the_demonstration_s_ring_and_first_chevron(room, steps, english):
    """Ahead of the disc the path gives way to the chevrons: nothing but field from the ring to the first."""
    for hand in ("right", "left"):
        step = steps[hand]["demonstration"]
        room.stage.show(step, english)
        for _ in range(12):
            room.clock.pass_time(0.75)
            room.stage.draw()
            disc, shot = room.stage.screen._picture(room.clock() - room.stage.screen.since_s), room.shot()
            for turn in np.linspace(0.468, 0.51, 40):  # 18.6 to 20.2 mm from the disc's centre
                angle = np.arctan2(disc.y_mm, disc.x_mm) + step.plan.path.direction * turn
                seen = at(shot, 40.0 * cos(angle), 40.0 * sin(angle))
                bluish, bright = seen[2] - seen[0] >= 13, seen.sum() - colour("field").sum() > 60
                # the hand is warm, a line is not
                assert not (bluish and bright), f"{turn:.3f} rad ahead: {seen}"
