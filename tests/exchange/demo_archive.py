"""An archive with two whole simulated visits of one person, half a year apart, each with staff's notes."""

import numpy as np

from kiosk.app.context import Context, demo_table
from kiosk.demo.simulated_visits import (
    FRAME_S,
    PANEL,
    RANGES,
    NoWindow,
    SimulatedPerson,
    VirtualClock,
    demo_person,
    simulated_device,
    sit_through,
)
from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.observation import Observation
from kiosk.storage.engine import open_memory
from kiosk.storage.ids import IdSource
from kiosk.storage.store import Store
from kiosk.touch.capture import Playback

NOTE = "Wilhelmina wore a crimson glove"


def demo_archive() -> Store:
    """The store in memory, concluded: scores, standings, and the change at the second visit."""
    clock, english = VirtualClock(), load_language("en")
    new_id = IdSource(clock.now_utc, np.random.default_rng(5))
    device, record, calibration = simulated_device(new_id)
    store = Store(open_memory(), now=clock.now_utc, new_id=new_id, kiosk_id="kiosk 01")
    context = Context(load_battery(), store, demo_table(), device, calibration, record, english, new_id,
                clock.now_utc)
    person = demo_person(new_id)
    context.furnish(person)
    simulated = SimulatedPerson(7, 71.7, calibration)
    for number in (1, 2):
        clock.begin_visit(number)
        begun = context.begin(person, "demo")
        capture, stage = Playback(clock.now_ns, RANGES, PANEL), NoWindow()
        runner = context.runner(begun, capture, stage, clock.now_ns, 1 / FRAME_S)
        simulated.comes(number, number == 2)
        sit_through(runner, stage, clock, capture, simulated)
        third = store.trials_of(begun.id)[2]
        store.add_observation(begun.id, Observation("talked", third.id, NOTE))
        store.add_observation(begun.id, Observation("interrupted", None, NOTE))
        context.finish(begun, runner.course, english)
    return store
