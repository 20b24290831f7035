"""One trial from its record to its scores. Units as in the catalogue; None with a reason where not scored.

Ids: scatter, along_sd, across_sd, lag (circles) or delay and follow (wander), the same with the device's
latency left in (lag_as_recorded, delay_as_recorded), error_rms, time_on_target; and the facts offset_x,
offset_y, contact, lifts, lift_share, gain, stalls, stall_share. Figures are given for invalid trials too,
wherever there is a recording of the window. SEs: uncertainty.py and timing.py.
Reasons: window_cut_short (nothing is scored), no_contact (offset), contact_below_80 (all that needs the
hand's timing), hand_did_not_move (lag, delay).
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import isfinite

import numpy as np

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan, TrialRecord
from kiosk.scoring.accuracy import error_rms_mm, offset_mm, scatter_mm, time_on_target_percent
from kiosk.scoring.movement import Fit, Movement, Timed, measure
from kiosk.scoring.stalls import begins
from kiosk.scoring.timing import CircleFit
from kiosk.scoring.tremor import error_spectrum
from kiosk.scoring.trial_scores import ErrorSpectrum, Scored, TrialScores
from kiosk.scoring.uncertainty import standard_errors
from kiosk.scoring.validity import SHAKE_CONTACT, SHAKE_STRETCHES, contact_percent, judge, no_shake_size

TIMED_BOTH = ("scatter", "along_sd", "across_sd", "gain", "stalls", "stall_share")


def score_trial(record: TrialRecord, observations: Sequence[Observation] = ()) -> TrialScores:
    """The scores of a trial and whether it is fit to be scored.

    The device's latency is taken off first where the record carries it; where it is None nothing is taken
    off. `observations` are those that belong to this trial.
    """
    movement = measure(record)
    fit = None if movement.timed is None else movement.timed.fit
    values = _scores(movement) if movement.covered else _nothing(record.plan)
    validity = judge(record, movement.window, fit, observations)
    return TrialScores(dict(values), validity, spectrum_of(movement, record))


def spectrum_of(movement: Movement, record: TrialRecord) -> ErrorSpectrum | None:
    """The spectrum of a trial's error; None where there is not contact enough."""
    if movement.timed is None:
        return None
    return error_spectrum(movement.timed.left, movement.window.contact, SHAKE_CONTACT, SHAKE_STRETCHES,
                          no_shake_size(movement.window, record.facts))


def _scores(movement: Movement) -> Mapping[str, Scored]:
    window, plan, percent = movement.window, movement.plan, contact_percent(movement.window)
    figures = _none(_timed_ids(plan), "contact_below_80")
    if movement.timed is not None:
        figures = _timed_scores(movement, movement.timed)
    figures |= {
        "error_rms": Scored(error_rms_mm(window.hand, movement.disc)),
        "time_on_target": Scored(
            time_on_target_percent(window.hand, movement.disc, window.contact, plan.disc_radius_mm)),
        **_offset(movement),
        "contact": Scored(percent),
        "lifts": Scored(float(window.lifts)),
        "lift_share": Scored(100.0 - percent),
    }
    return _with_errors(figures, standard_errors(movement))


def _with_errors(figures: Mapping[str, Scored], errors: Mapping[str, float]) -> dict[str, Scored]:
    """Each figure with its SE where it has a value and none of its own."""
    return {
        name: replace(one, se=errors[name])
        if one.value is not None and one.se is None and isfinite(errors.get(name, np.nan)) else one
        for name, one in figures.items()
    }


def _timed_scores(movement: Movement, timed: Timed) -> dict[str, Scored]:
    window, fit, parts = movement.window, timed.fit, timed.parts[movement.window.contact]
    hand, followed = window.hand[window.contact], timed.followed[window.contact]
    figures = {
        "scatter": Scored(scatter_mm(hand, followed)),
        "along_sd": Scored(float(np.sqrt(np.mean(parts.real**2)))),
        "across_sd": Scored(float(np.sqrt(np.mean(parts.imag**2)))),
        **_behind(fit, movement.latency_ms or 0.0),
        "gain": Scored(fit.gain, None if isinstance(fit, CircleFit) else fit.gain_se),
        "stalls": Scored(float(begins(timed.stalled).sum())),
        "stall_share": Scored(float(100.0 * timed.stalled.mean())),
    }
    return figures if isinstance(fit, CircleFit) else figures | {"follow": Scored(100.0 * fit.follow)}


def _behind(fit: Fit, latency_ms: float) -> dict[str, Scored]:
    """Lag or delay with the device's latency taken off, and as recorded."""
    name = "lag" if isinstance(fit, CircleFit) else "delay"
    behind_s, se_s = (fit.lag_s, None) if isinstance(fit, CircleFit) else (fit.delay_s, fit.se_s)
    if behind_s is None:
        return _none((name, f"{name}_as_recorded"), "hand_did_not_move")
    se_ms = None if se_s is None else 1000.0 * se_s
    return {name: Scored(1000.0 * behind_s, se_ms),
            f"{name}_as_recorded": Scored(1000.0 * behind_s + latency_ms, se_ms)}


def _offset(movement: Movement) -> dict[str, Scored]:
    window = movement.window
    if not window.contact.any():
        return _none(("offset_x", "offset_y"), "no_contact")
    offset = offset_mm(window.hand[window.contact], movement.disc[window.contact])
    return {"offset_x": Scored(offset.real), "offset_y": Scored(offset.imag)}


def _nothing(plan: TrialPlan) -> dict[str, Scored]:
    whole = ("error_rms", "time_on_target", "offset_x", "offset_y", "contact", "lifts", "lift_share")
    return _none((*_timed_ids(plan), *whole), "window_cut_short")


def _none(names: Sequence[str], why: str) -> dict[str, Scored]:
    return {name: Scored(None, reason=why) for name in names}


def _timed_ids(plan: TrialPlan) -> tuple[str, ...]:
    """The ids that need the hand's own timing, in their order."""
    circle = isinstance(plan.path, Circle)
    behind = "lag" if circle else "delay"
    scatter, along, across, *rest = TIMED_BOTH
    follow = () if circle else ("follow",)
    return (scatter, along, across, behind, f"{behind}_as_recorded", *rest, *follow)
