"""The paths of a visit over time, and of the first visit beside it: frozen arrays for the screens."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kiosk.app.conclusion import last_attempts
from kiosk.i18n.language import Language
from kiosk.scoring.grid import GRID_HZ
from kiosk.scoring.traces import Traces, traces_of
from kiosk.staff.concluded import ReplayTrial
from kiosk.visits.archive import Archive, StoredTrial
from kiosk.visits.rebuild import seen_from
from kiosk.visits.visit import Visit
from kiosk.wording.measures import trial_label
from kiosk.wording.staff_parts import ReplayPath
from kiosk.wording.trial_curves import TrialCurves

REPLAY_HZ: Final = 60
Array = NDArray[np.float64]


def replay_of(archive: Archive, visit: Visit, first: Visit | None) -> tuple[ReplayTrial, ...]:
    """Every scored trial of a visit, with the same trial of the first visit where there is one."""
    earlier = {} if first is None else {_place(one): one for one in last_attempts(seen_from(archive, first))}
    latest = last_attempts(seen_from(archive, visit))
    return tuple(ReplayTrial(
        one.record.plan.block_name, one.record.plan.number,
        over_time(earlier[_place(one)]) if _place(one) in earlier else None, over_time(one),
        curves_of(traces_of(one.record))) for one in latest)


def over_time(trial: StoredTrial) -> tuple[Array, Array, Array]:
    """Time in the window, disc and hand at 60 Hz; the hand is NaN where it was off the screen."""
    plan, samples = trial.record.plan, trial.record.samples
    t_s = np.arange(round(plan.window_s * REPLAY_HZ)) / REPLAY_HZ
    at = t_s + plan.run_in_s
    if len(samples.t_s) == 0:
        hand = np.full((len(t_s), 2), np.nan)
    else:
        hand = np.column_stack([np.interp(at, samples.t_s, one) for one in (samples.x_mm, samples.y_mm)])
        before = np.clip(np.searchsorted(samples.t_s, at, side="right") - 1, 0, len(samples.t_s) - 1)
        hand[~samples.contact[before] | (at > samples.t_s[-1])] = np.nan
    disc = np.column_stack(plan.position(at))
    for array in (t_s, disc, hand):
        array.setflags(write=False)
    return t_s, disc, hand


def curves_of(traces: Traces) -> TrialCurves | None:
    """Every fourth instant of the traces, and the whole spectrum; None where the window was cut short."""
    if not traces.covered:
        return None
    over_time = (traces.along_mm, traces.across_mm, traces.hand_speed, traces.disc_speed)
    shake, none = traces.shake, np.empty(0)
    spectrum = (none, none, none) if shake is None else (
        shake.f_hz, np.exp(shake.log_power), np.exp(shake.line_nat))
    curves = [one[::GRID_HZ // REPLAY_HZ].copy() for one in over_time] + [one.copy() for one in spectrum]
    for array in curves:
        array.setflags(write=False)
    return TrialCurves(*curves)


def as_paths(trials: Sequence[ReplayTrial], language: Language) -> tuple[ReplayPath, ...]:
    """The latest visit's trials, named, for the distance over time."""
    return tuple(ReplayPath(trial_label(one.block, one.number, language), *one.latest, one.curves)
                 for one in trials)


def _place(trial: StoredTrial) -> tuple[str, int]:
    return trial.record.plan.block_name, trial.record.plan.number
