"""No animation flashes more than three times a second: counted from the window's own pixels."""

import numpy as np
import pytest

from kiosk.pursuit.running import Picture
from kiosk.screens import fade
from kiosk.screens.buttons import FILL_S
from kiosk.screens.person import REST_S
from kiosk.visits.actions import CourseAction
from tests.screens.flashes import LESS_THAN_MM2, Flashes, flashes_of, squares
from tests.screens.sample_page import controls, page, trials
from tests.screens.sample_views import views

SECONDS, FILM_HZ, CUE_HZ = 2, 20, 60  # a film changes no faster than its disc moves, the cue may in any frame


class Watch:
    """Draws frame by frame and counts."""

    def __init__(self, room, frames_a_second):
        self.room, self.step_s, self.flashes = room, 1 / frames_a_second, Flashes(frames_a_second)

    def frame(self):
        self.room.clock.pass_time(self.step_s)
        self.room.stage.draw()
        self.flashes.add(squares(self.room.stage.pixels()))

    def watch(self, seconds):
        for _ in range(round(seconds / self.step_s)):
            self.frame()
        return self.flashes.area_mm2


# The count itself: square waves of known rate, by hand


@pytest.mark.parametrize(("rate_hz", "low", "high", "flashes"), [
    (1, 0.0, 1.0, 1), (3, 0.0, 1.0, 3), (4, 0.0, 1.0, 4), (10, 0.2, 0.31, 10), (10, 0.2, 0.29, 0),
    (10, 0.81, 1.0, 0), (10, 0.79, 1.0, 10)])
def test_a_square_wave_flashes_at_its_rate_unless_it_changes_little_or_is_bright(rate_hz, low, high, flashes):
    course = np.where(np.arange(240) * rate_hz * 2 // 120 % 2, high, low)[:, np.newaxis]
    assert flashes_of(course, 120) == flashes


def test_a_slow_rise_and_fall_is_one_flash_and_a_ripple_on_it_none():
    rise = np.concatenate([np.linspace(0, 1, 60), np.linspace(1, 0, 60)])
    ripple = 0.04 * np.sin(np.arange(120))
    assert flashes_of((rise + ripple)[:, np.newaxis], 120) == 1


def test_the_luminance_of_a_square_is_that_of_wcag():
    """#FF0000 0.2126, #808080 0.2159 (sRGB, IEC 61966-2-1)."""
    frame = np.zeros((800, 1280, 4), dtype=np.uint8)
    frame[:, :640, 0] = 255
    frame[:, 640:, :3] = 128
    light = squares(frame.tobytes())
    assert light.min() == pytest.approx(0.2126, abs=1e-4) and light.max() == pytest.approx(0.2159, abs=1e-4)


# The animations


def test_the_demonstration_does_not_flash(room, steps, english):
    room.stage.show(steps["right"]["demonstration"], english)
    assert Watch(room, FILM_HZ).watch(11.6) < LESS_THAN_MM2
    assert room.said == [CourseAction.SHOWN]


def test_the_main_button_s_fill_after_a_rest_does_not_flash(room, steps, english):
    room.stage.show(steps["right"]["rest"], english)
    room.clock.pass_time(REST_S - 0.5)
    watch = Watch(room, CUE_HZ)
    watch.watch(0.7 + FILL_S)
    assert watch.flashes.most.max() == 1  # it becomes brighter, once


def touches(pattern):
    """Whether the finger is on the disc, frame by frame."""
    frames = np.arange(SECONDS * CUE_HZ)
    random = np.random.default_rng(20260112)
    return {"as fast as the cue lets": (frames / CUE_HZ) % 0.38 < 0.13, "every frame": frames % 2 == 0,
            "ten a second": frames * 20 // CUE_HZ % 2 == 0, "four a second": frames * 8 // CUE_HZ % 2 == 0,
            "trembling": random.random(len(frames)) < 0.5}[pattern]


def cue(room, steps, english, pattern, speed_mm_s):
    """How much flashes while a finger comes and goes, mm2."""
    room.stage.show(steps["right"]["trial"], english)
    watch = Watch(room, CUE_HZ)
    for number, on in enumerate(touches(pattern)):
        picture = Picture("window", speed_mm_s * number / CUE_HZ - 20.0, 10.0, bool(on), 1.0)
        room.stage.frame(picture, room.clock())
        watch.frame()
    return watch.flashes.area_mm2


PATTERNS = ["as fast as the cue lets", "ten a second", "trembling",
            *(pytest.param(pattern, marks=pytest.mark.long) for pattern in ("every frame", "four a second"))]


@pytest.mark.parametrize("pattern", PATTERNS)
def test_the_contact_cue_does_not_flash_however_the_finger_comes_and_goes(room, steps, english, pattern):
    assert cue(room, steps, english, pattern, 0.0) == 0.0


def test_nor_does_it_while_the_disc_moves(room, steps, english):
    assert cue(room, steps, english, "as fast as the cue lets", 31.4) < LESS_THAN_MM2


def test_a_cue_without_its_rule_would_be_caught(room, steps, english, monkeypatch):
    monkeypatch.setattr(fade.ContactFade, "level", lambda self, on, now_s: float(on))
    assert cue(room, steps, english, "ten a second", 0.0) > LESS_THAN_MM2


def test_a_finger_that_taps_on_the_waiting_disc_makes_nothing_flash(room, steps, english):
    room.stage.show(steps["right"]["trial"], english)
    watch = Watch(room, CUE_HZ)
    for number in range(2 * CUE_HZ):
        rest_s = number % 12 / CUE_HZ  # five taps a second
        resting = rest_s < 0.1
        phase, closing = ("resting", rest_s / 0.8) if resting else ("waiting", 0.0)
        picture = Picture(phase, 0.0, 40.0, resting, closing)
        room.stage.frame(picture, room.clock())
        watch.frame()
    assert watch.flashes.area_mm2 == 0.0


def test_a_finger_that_taps_in_the_ring_of_the_finger_check_makes_nothing_flash(room, steps, english):
    room.stage.show(steps["right"]["finger_check"], english)
    watch, place = Watch(room, CUE_HZ), room.stage.screen.button(CourseAction.FINGER_FELT).box
    for number in range(2 * CUE_HZ):
        room.stage.screen.fingers([(place.x, place.y)] if number % 12 < 6 else [])
        watch.frame()
    assert watch.flashes.area_mm2 == 0.0


def test_the_replay_of_two_visits_does_not_flash(room, english):
    room.stage.show_staff(views(lambda text: text)["replay"], english)
    assert Watch(room, FILM_HZ).watch(5.0) < LESS_THAN_MM2


@pytest.mark.long
def test_the_whole_replay_does_not_flash_from_its_end_to_its_begin(room, english):
    room.stage.show_staff(views(lambda text: text)["replay"], english)
    assert Watch(room, CUE_HZ).watch(19.0) < LESS_THAN_MM2


def shows(room, steps, english):
    """Every screen, in the order of a visit."""
    for step in steps["right"].values():
        yield lambda step=step: room.stage.show(step, english)
    yield lambda: room.stage.show_locked(english)
    for view in views(lambda text: text).values():
        yield lambda view=view: room.stage.show_staff(view, english)
    yield lambda: room.stage.show_results(page(), english, controls(), trials())


def test_a_change_of_screen_is_at_most_one_flash(room, steps, english):
    for show in shows(room, steps, english):
        watch = Watch(room, CUE_HZ)
        watch.frame()
        show()
        watch.frame()
        assert watch.flashes.worst <= 1
