"""A visit of a simulated person in the kiosk's own context, on any store; its clock passes when told to."""

from kiosk.app.context import Context
from kiosk.demo.simulated_visits import (
    FRAME_S,
    PANEL,
    RANGES,
    NoWindow,
    SimulatedPerson,
    VirtualClock,
    simulated_device,
    sit_through,
)
from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.touch.capture import Playback


def context_on(archive, clock: VirtualClock, new_id, journal=None, reference=None) -> Context:
    """The simulated tablet and an archive; no table unless one is given."""
    device, record, calibration = simulated_device(new_id)
    return Context(load_battery(), archive, reference, device, calibration, record, load_language("en"),
                   new_id, clock.now_utc, journal=journal)


def person_arriving(seed: int, context: Context, age_years: float = 71.0) -> SimulatedPerson:
    """A simulated person at the first visit."""
    simulated = SimulatedPerson(seed, age_years, context.calibration)
    simulated.comes(1, False)
    return simulated


class SimulatedVisit:
    """The runner of a visit that was begun, or taken up after the trials in `done`."""

    def __init__(self, context: Context, clock: VirtualClock, visit, stage=None, done=()) -> None:
        self.visit, self.stage, self._clock = visit, stage or NoWindow(), clock
        self._capture = Playback(clock.now_ns, RANGES, PANEL)
        self.runner = context.runner(visit, self._capture, self.stage, clock.now_ns, 1 / FRAME_S, done=done)

    def sit(self, simulated: SimulatedPerson) -> None:
        """From welcome to thanks."""
        sit_through(self.runner, self.stage, self._clock, self._capture, simulated)
