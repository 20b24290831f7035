"""Plans and recordings for the tests of scoring: millimetres, seconds, hands as complex x + iy."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.target import Circle, Line, Wander
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord

RATE_HZ = 240


def plan_of(block: str, hand: str = "preferred", number: int = 1, **which: str) -> TrialPlan:
    return load_battery().plan(block, hand, number, **which)


def times(plan: TrialPlan, rate_hz: float = RATE_HZ) -> np.ndarray:
    return np.arange(0, round(plan.end_s * rate_hz) + 1) / rate_hz


def disc_of(plan: TrialPlan, t_s: np.ndarray) -> np.ndarray:
    x_mm, y_mm = plan.position(t_s)
    return x_mm + 1j * y_mm


def record_of(plan: TrialPlan, t_s: np.ndarray, hand: np.ndarray, contact: np.ndarray | None = None,
              **facts: object) -> TrialRecord:
    down = np.ones(len(t_s), bool) if contact is None else contact
    samples = Samples(np.asarray(t_s), np.real(hand), np.imag(hand), down)
    return TrialRecord(plan, samples, TrialFacts(**facts))


def wobbling(plan: TrialPlan, seed: int, wobble_mm: float = 3.0, behind_s: float = 0.12) -> np.ndarray:
    """A hand at `times(plan)`: late, beside the disc, with smooth noise up to 2 Hz."""
    rng = np.random.default_rng(seed)
    t_s = times(plan)
    way = np.exp(2j * np.pi * rng.uniform(size=20)) * wobble_mm * np.sqrt(2 / 20)
    waves = np.cos(2 * np.pi * (np.outer(t_s, rng.uniform(0.2, 2, 20)) + rng.uniform(size=20)))
    return disc_of(plan, t_s - behind_s) + (1.5 - 1j) + waves @ way


def turned(plan: TrialPlan, angle_rad: float) -> TrialPlan:
    assert isinstance(plan.path, Circle)
    return replace(plan, path=replace(plan.path, start_rad=plan.path.start_rad + angle_rad))


def stretched(plan: TrialPlan, by: float) -> TrialPlan:
    path = plan.path
    if isinstance(path, Circle):
        larger = replace(path, radius_mm=by * path.radius_mm)
    else:
        larger = _relined(path, lambda line: replace(line, amplitude_mm=by * line.amplitude_mm))
    return replace(plan, path=larger, disc_radius_mm=by * plan.disc_radius_mm)


def negated(plan: TrialPlan) -> TrialPlan:
    """The wander path turned by half a turn."""
    assert isinstance(plan.path, Wander)
    turned_lines = _relined(plan.path, lambda line: replace(line, phase_rad=line.phase_rad + np.pi))
    return replace(plan, path=turned_lines)


def _relined(path: Wander, changed: Callable[[Line], Line]) -> Wander:
    return replace(path, x=tuple(map(changed, path.x)), y=tuple(map(changed, path.y)))
