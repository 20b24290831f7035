"""What a trial looked like from instant to instant, for exploring it: nothing here is a score.

Arrays over the window's instants, shape (n,): seconds since the disc set off, positions as complex x + iy in
millimetres, speeds in mm/s. along_mm (ahead of the disc as followed) and across_mm (to the left of its way)
have their mean taken off; they are NaN, and shake None, where there is not contact enough.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan, TrialRecord
from kiosk.scoring.accuracy import on_target
from kiosk.scoring.block_facts import is_regular
from kiosk.scoring.grid import GRID_HZ, Bools, Points
from kiosk.scoring.movement import Movement, measure
from kiosk.scoring.score import spectrum_of
from kiosk.scoring.stalls import speed_mm_s
from kiosk.scoring.tremor import Shake, find_shake

WANDER_STRETCH_S: Final = 5.0


@dataclass(frozen=True)
class Traces:
    """One trial from instant to instant; regular: whether its tallest peak stands out."""

    plan: TrialPlan
    latency_ms: float | None
    covered: bool
    t_s: Floats
    hand: Points
    disc: Points
    contact: Bools
    on_target: Bools
    distance_mm: Floats
    along_mm: Floats
    across_mm: Floats
    hand_speed: Floats
    disc_speed: Floats
    shake: Shake | None
    regular: bool

    def stretches(self) -> Iterator[slice]:
        """The instants of each turn of a circle, or of each five seconds of a wandering path."""
        path = self.plan.path
        length = round(GRID_HZ * (path.period_s if isinstance(path, Circle) else WANDER_STRETCH_S))
        return (slice(begin, begin + length) for begin in range(0, self.t_s.size, length))


def traces_of(record: TrialRecord) -> Traces:
    """The traces of a trial; `covered` False where the recording does not reach over the window."""
    movement = measure(record)
    window, disc = movement.window, movement.disc
    spectrum = spectrum_of(movement, record)
    shake = None if spectrum is None else find_shake([spectrum])
    along, across = _parts(movement)
    return Traces(
        plan=record.plan, latency_ms=movement.latency_ms, covered=movement.covered, t_s=window.t_s,
        hand=window.hand, disc=disc, contact=window.contact,
        on_target=on_target(window.hand, disc, window.contact, record.plan.disc_radius_mm),
        distance_mm=np.abs(window.hand - disc), along_mm=along, across_mm=across,
        hand_speed=speed_mm_s(window.hand), disc_speed=speed_mm_s(disc), shake=shake,
        regular=shake is not None and is_regular(shake))


def _parts(movement: Movement) -> tuple[Floats, Floats]:
    if movement.timed is None:
        unknown = np.full(movement.disc.size, np.nan)
        return unknown, unknown
    shown = np.where(movement.window.contact, movement.timed.parts, np.nan)
    return shown.real, shown.imag
