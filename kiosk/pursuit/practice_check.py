"""The practice check: whether the familiarise trial was done as shown. Accuracy plays no part."""

from dataclasses import dataclass

import numpy as np

from kiosk.pursuit.battery import Battery
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan


@dataclass(frozen=True)
class PracticeCheck:
    """Seconds in contact and turns with the disc in the trial's window, and whether both are enough."""

    contact_s: float
    turns: float
    passed: bool


def check_practice(samples: Samples, plan: TrialPlan, battery: Battery) -> PracticeCheck:
    """Measure contact and turning in the trial's window against the battery's two thresholds.

    contact_s adds up the intervals that begin with a sample in contact. turns adds up the changes of the
    hand's angle about the field's centre between samples in contact, counted in the disc's direction.
    """
    if not isinstance(plan.path, Circle):
        raise ValueError(f"path of the practice trial must be a circle, got {plan.path!r}")
    start_s, end_s = plan.run_in_s, plan.run_in_s + plan.window_s
    cut_s = np.clip(samples.t_s, start_s, end_s)
    contact_s = float(np.sum(np.diff(cut_s)[samples.contact[:-1]]))
    inside = samples.contact & (samples.t_s >= start_s) & (samples.t_s <= end_s)
    hand = samples.x_mm + 1j * samples.y_mm
    steps = hand[1:] * np.conj(hand[:-1])
    turns = plan.path.direction * float(np.sum(np.angle(steps[inside[1:] & inside[:-1]]))) / (2 * np.pi)
    enough = contact_s >= battery.understood_contact_s and turns >= battery.understood_turns
    return PracticeCheck(contact_s, turns, enough)
