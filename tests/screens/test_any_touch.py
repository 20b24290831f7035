"""Touches anywhere, in any order, on every screen: the app stays up, shows no staff data, loses no trial.

Each touch goes through the toolkit's event loop to the window, as a finger's would; a frame is drawn after
every hundredth only. 2,000 on every screen; --long: 10,000.
"""

from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np
import pytest

from kiosk.staff.actions import StaffAction
from kiosk.staff.observations import ObservationAction
from kiosk.visits.actions import CourseAction, ScreenAction
from tests.app.fake_kiosk import ANSWERS, PIN, FakeKiosk, hand_over, intake, new_person

SEED = 20260112
FEW, MANY = 2_000, 10_000
FRAME_EVERY = 100
STAFFS = ("K-0101", "1954", "May 1954")  # who the person is: the staff's part may say it, the person's never


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


@dataclass
class Monkey:
    """A finger that touches anywhere: down, perhaps along, up after a while."""

    seed: int
    holds_s: tuple[float, ...] = (0.01, 0.1, 0.7, 2.1)
    count: int = 0
    random: np.random.Generator = field(init=False)

    def __post_init__(self):
        self.random = np.random.default_rng(self.seed)

    def touch(self, wait):
        from kivy.base import EventLoop

        from kiosk.screens.input import FingertipTouch

        self.count += 1
        finger = FingertipTouch("monkey", self.count, tuple(self.random.random(2)))
        EventLoop.post_dispatch_input("begin", finger)
        if self.random.random() < 0.3:
            finger.move(tuple(self.random.random(2)))
            EventLoop.post_dispatch_input("update", finger)
        wait(float(self.random.choice(self.holds_s)))
        EventLoop.post_dispatch_input("end", finger)


# Each screen by itself


def shows(room, steps, english, day):
    """What puts each screen on the glass: the person's by step, the staff's as in the simulated day."""
    stage, seen = room.stage, set()
    for name, step in steps["right"].items():
        yield f"{name}", True, lambda step=step: stage.show(step, english)
    yield "locked", True, lambda: stage.show_locked(english)
    for shot in day["en"]:
        if shot.screen not in seen:
            seen.add(shot.screen)
            yield shot.name, False, lambda shot=shot: shot.put(stage)


def touch_every_screen(room, steps, english, day, touches):
    """How many screens were touched; the app draws in between and afterwards, and reports what is pressed."""
    monkey, screens = Monkey(SEED), 0

    def wait(seconds):
        room.clock.pass_time(seconds)
        room.stage.screen.tick(room.clock())

    for name, _, show in shows(room, steps, english, day):
        show()
        for number in range(touches):
            monkey.touch(wait)
            if number % FRAME_EVERY == 0:
                room.stage.draw()
        room.stage.draw()
        assert room.stage.screen is not None and room.stage.shown, name
        screens += 1
    assert len(set(room.said)) > 40
    return screens


def test_thousands_of_touches_on_every_screen_leave_the_app_up(room, steps, english, day):
    assert touch_every_screen(room, steps, english, day, FEW) > 75


@pytest.mark.long
def test_ten_thousand_touches_on_every_screen_leave_the_app_up(room, steps, english, day):
    touch_every_screen(room, steps, english, day, MANY)


def test_the_person_s_screens_say_nothing_that_the_staff_s_say_of_the_person(
        room, steps, english, day, said_on_glass):
    told = {True: set(), False: set()}
    for _, persons, show in shows(room, steps, english, day):
        said_on_glass.clear()
        show()
        told[persons].update(said_on_glass)
    assert any(staffs(text) for text in told[False])
    assert not any(staffs(text) for text in told[True])


def staffs(text):
    return any(word in text for word in STAFFS)


def test_a_trial_cannot_be_ended_by_touches_shorter_than_stop_is_held(room, steps, english):
    random = np.random.default_rng(SEED)
    room.stage.show(steps["right"]["trial"], english)
    for _ in range(300):
        room.stage.finger_down(random.uniform(0, 1279), random.uniform(0, 799))
        room.clock.pass_time(0.55)
        room.stage.finger_up()
    assert room.said == []


# The whole kiosk, while a person is tested


class GlassKiosk(FakeKiosk):
    """The kiosk at work with the real window."""

    def _stage(self, calibration):
        from kiosk.screens.stage import Stage

        self.stages.append(Stage(calibration, lambda: self.t_ns / 1e9, offscreen=True))
        return self.stages[-1]

    @property
    def view(self):
        return self.stage._staff_view


@pytest.fixture
def finished(monkeypatch):
    """The records that recorders gave: every trial whose disc had set off."""
    from kiosk.touch.recorder import Recorder

    records, finish = [], Recorder.finish

    def counting(self):
        record = finish(self)
        records.extend([record] if record is not None else [])
        return record

    monkeypatch.setattr(Recorder, "finish", counting)
    return records


class AmongTouches:
    """Visits one after the other; in each the person follows every disc while someone touches anywhere."""

    def __init__(self, folder, said):
        self.kiosk, self.said = GlassKiosk(folder), said
        self.monkey, self.told = Monkey(SEED, (0.01, 0.1, 0.3, 0.7, 2.1)), []
        self.kiosk.unlock()

    def wait(self, seconds):
        self.kiosk.frame(max(round(seconds / 0.1), 1), by_s=min(seconds, 0.1))

    def visit(self, touches):
        """One visit, to its end or until there were so many touches in all."""
        kiosk, lifted_ns = self.kiosk, 0
        new_person(kiosk)
        intake(kiosk)
        hand_over(kiosk)
        kiosk.person.comes(1, False)
        self.said.clear()
        while self.monkey.count < touches and kiosk.driver.runner.step.screen not in OVER:
            runner = kiosk.driver.runner
            if kiosk.screen == "person" and runner.waiting_for_finger and kiosk.t_ns > lifted_ns:
                coming = kiosk.person.touches(runner.step.plan, kiosk.t_ns + 100_000_000)
                kiosk.capture.load(coming)
                lifted_ns = coming[-1].t_ns
            if runner.step.screen in ANSWERS and self.monkey.random.random() < 0.3:
                kiosk.do(ANSWERS[runner.step.screen])  # the person does what they are asked to
            self.monkey.touch(self.wait)
            assert kiosk.screen in ("person", "unlock")
            if kiosk.screen == "unlock":
                kiosk.do(StaffAction.BACK)
        self.told += self.said

    def staff_come(self):
        """Everything is put away, and the next person may come."""
        self.kiosk.do(ScreenAction.STAFF)
        self.kiosk.type(PIN)
        if self.kiosk.screen == "staff_choices":
            waits = self.kiosk.driver.runner.step.screen == "not_understood"
            self.kiosk.do(CourseAction.END if waits else CourseAction.STAFF_END)
            self.kiosk.do(ScreenAction.STAFF)
            self.kiosk.type(PIN)
        self.kiosk.do(ObservationAction.NOTHING, StaffAction.TODAY)


OVER = ("thanks", "not_understood")


@pytest.mark.parametrize("touches", [150, pytest.param(FEW, marks=pytest.mark.long)])
def test_touches_anywhere_while_people_are_tested_lose_no_trial_and_show_no_staff_data(
        tmp_path, finished, said_on_glass, touches):
    among = AmongTouches(tmp_path, said_on_glass)
    kiosk, store = among.kiosk, among.kiosk.store
    while among.monkey.count < touches:
        among.visit(touches)
        if among.monkey.count < touches:
            among.staff_come()
    assert among.told and not any(staffs(text) for text in among.told)
    kept = [one.record.set_off_ns for visit in store.visits_since(kiosk.begins - timedelta(days=1))
            for one in store.trials_of(visit.id)]
    assert sorted(kept) == [one.set_off_ns for one in finished] and len(kept) >= 3
    kiosk.stage.close()
