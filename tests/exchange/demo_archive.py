"""An archive with two whole simulated visits of one person, half a year apart, each with staff's notes."""

import numpy as np

from kiosk.app.context import demo_table
from kiosk.demo.simulated_visits import SimulatedPerson, VirtualClock, demo_person
from kiosk.i18n.language import load_language
from kiosk.pursuit.observation import Observation
from kiosk.storage.engine import open_memory
from kiosk.storage.ids import IdSource
from kiosk.storage.store import Store
from tests.simulated_visit import SimulatedVisit, context_on

NOTE = "Wilhelmina wore a crimson glove"


def demo_archive() -> Store:
    """The store in memory, concluded: scores, standings, and the change at the second visit."""
    clock, english = VirtualClock(), load_language("en")
    new_id = IdSource(clock.now_utc, np.random.default_rng(5))
    store = Store(open_memory(), now=clock.now_utc, new_id=new_id, kiosk_id="kiosk 01")
    context = context_on(store, clock, new_id, reference=demo_table())
    person = demo_person(new_id)
    context.furnish(person)
    simulated = SimulatedPerson(7, 71.7, context.calibration)
    for number in (1, 2):
        clock.begin_visit(number)
        begun = context.begin(person, "demo")
        sitting = SimulatedVisit(context, clock, begun)
        simulated.comes(number, number == 2)
        sitting.sit(simulated)
        third = store.trials_of(begun.id)[2]
        store.add_observation(begun.id, Observation("talked", third.id, NOTE))
        store.add_observation(begun.id, Observation("interrupted", None, NOTE))
        context.finish(begun, sitting.runner.course, english)
    return store
