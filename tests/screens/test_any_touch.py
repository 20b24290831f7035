"""Touches anywhere, in any order, on every screen: the app stays up and tells a person no staff data."""

import numpy as np
import pytest

from tests.screens.sample_page import controls, page, trials
from tests.screens.sample_views import WHO, views

SEED = 20260112
WIDTH, HEIGHT = 1280, 800


@pytest.fixture
def said_on_glass(monkeypatch):
    """Every text drawn, in order."""
    from kiosk.screens.text import Lettering

    drawn, picture = [], Lettering.picture

    def recording(self, text, style):
        drawn.append(text)
        return picture(self, text, style)

    monkeypatch.setattr(Lettering, "picture", recording)
    return drawn


def shows(room, steps, english):
    """What puts each screen on the glass: the person's by step, the staff's by view, the results."""
    stage = room.stage
    for hand in ("right", "left"):
        for name, step in steps[hand].items():
            yield f"{name} {hand}", True, lambda step=step: stage.show(step, english)
    yield "locked", True, lambda: stage.show_locked(english)
    for name, view in views(lambda text: text).items():
        yield name, False, lambda view=view: stage.show_staff(view, english)
    yield "results", False, lambda: stage.show_results(page(), english, controls(), trials())


def touch_about(room, random, touches):
    """Down somewhere, perhaps along, up; time passes or does not."""
    stage = room.stage
    for _ in range(touches):
        stage.finger_down(random.uniform(0, WIDTH - 1), random.uniform(0, HEIGHT - 1))
        if random.random() < 0.3:
            stage.finger_move(random.uniform(0, WIDTH - 1), random.uniform(0, HEIGHT - 1))
        room.clock.pass_time(random.choice((0.01, 0.1, 0.7, 2.1)))
        stage.finger_up()


def touch_every_screen(room, steps, english, said_on_glass, touches):
    random = np.random.default_rng(SEED)
    everything = list(shows(room, steps, english))
    for name, persons, show in everything:
        said_on_glass.clear()
        show()
        touch_about(room, random, max(touches // len(everything), 1))
        room.stage.draw()
        assert room.stage.screen is not None, name
        if persons:
            staffs = [text for text in said_on_glass if WHO[:8] in text or "1954" in text]
            assert not staffs, f"{name} shows {staffs}"


def test_two_thousand_touches_over_all_screens_leave_the_app_up(room, steps, english, said_on_glass):
    touch_every_screen(room, steps, english, said_on_glass, 2_000)
    assert room.said


@pytest.mark.long
def test_ten_thousand_touches_over_all_screens_leave_the_app_up(room, steps, english, said_on_glass):
    touch_every_screen(room, steps, english, said_on_glass, 10_000)


def test_the_watch_over_texts_would_catch_a_code_on_the_glass(room, english, said_on_glass):
    room.stage.show_staff(views(lambda text: text)["intake"], english)
    assert any(WHO[:8] in text for text in said_on_glass)


def test_a_trial_cannot_be_ended_by_touches_shorter_than_stop_is_held(room, steps, english):
    random = np.random.default_rng(SEED)
    room.stage.show(steps["right"]["trial"], english)
    for _ in range(300):
        room.stage.finger_down(random.uniform(0, WIDTH - 1), random.uniform(0, HEIGHT - 1))
        room.clock.pass_time(0.55)
        room.stage.finger_up()
    assert room.said == []
