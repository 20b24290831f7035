"""One trial from its record to its scores. Units as in the catalogue; None with a reason where not scored.

Ids: scatter, lag (circles) or delay (wander), error_rms, time_on_target, offset_x, offset_y, contact, lifts,
lift_share. Figures are given for invalid trials too, wherever there is a recording of the window.
Reasons: window_cut_short (nothing is scored), no_contact (offset), contact_below_80 (scatter, lag, delay),
hand_did_not_move (lag, delay).
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan, TrialRecord
from kiosk.scoring.accuracy import error_rms_mm, offset_mm, scatter_mm, time_on_target_percent
from kiosk.scoring.grid import Points, Window, instants, on_grid
from kiosk.scoring.timing import CircleFit, WanderFit, fit_circle, fit_wander
from kiosk.scoring.trial_scores import Scored, TrialScores
from kiosk.scoring.validity import contact_percent, is_covered, is_timed, judge

Fit = CircleFit | WanderFit


def score_trial(record: TrialRecord, observations: Sequence[Observation] = ()) -> TrialScores:
    """The scores of a trial and whether it is fit to be scored.

    The device's latency is taken off first where the record carries it; where it is None nothing is taken
    off. `observations` are those that belong to this trial.
    """
    plan = record.plan
    window = on_grid(record.samples, plan, (record.facts.latency_ms or 0.0) / 1000.0)
    fit = _fit(window, plan) if is_covered(window, plan) and is_timed(window) else None
    values = _scores(window, fit, plan) if is_covered(window, plan) else _nothing(plan)
    return TrialScores(dict(values), judge(record, window, fit, observations))


def _scores(window: Window, fit: Fit | None, plan: TrialPlan) -> Mapping[str, Scored]:
    disc, percent = _disc(plan), contact_percent(window)
    return {
        **_timed_scores(window, fit, plan),
        "error_rms": Scored(error_rms_mm(window.hand, disc)),
        "time_on_target": Scored(
            time_on_target_percent(window.hand, disc, window.contact, plan.disc_radius_mm)),
        **_offset(window, disc),
        "contact": Scored(percent),
        "lifts": Scored(float(window.lifts)),
        "lift_share": Scored(100.0 - percent),
    }


def _timed_scores(window: Window, fit: Fit | None, plan: TrialPlan) -> dict[str, Scored]:
    if fit is None:
        return {name: Scored(None, reason="contact_below_80") for name in ("scatter", _timing(plan))}
    scatter = Scored(scatter_mm(window.hand[window.contact], _as_followed(window, fit, plan)))
    return {"scatter": scatter, _timing(plan): _behind(fit)}


def _behind(fit: Fit) -> Scored:
    behind_s, se_s = (fit.lag_s, None) if isinstance(fit, CircleFit) else (fit.delay_s, fit.se_s)
    if behind_s is None:
        return Scored(None, reason="hand_did_not_move")
    return Scored(1000.0 * behind_s, None if se_s is None else 1000.0 * se_s)


def _fit(window: Window, plan: TrialPlan) -> Fit:
    hand = window.hand[window.contact]
    if isinstance(plan.path, Circle):
        return fit_circle(hand, _disc(plan)[window.contact], plan.path)
    return fit_wander(hand, window.contact, plan.path, plan.run_in_s, plan.window_s)


def _as_followed(window: Window, fit: Fit, plan: TrialPlan) -> Points:
    """The disc as the hand followed it, at instants on the glass: turned, or earlier by the delay."""
    if isinstance(fit, CircleFit):
        return np.asarray(_disc(plan)[window.contact] * np.exp(1j * fit.turn_rad))
    return _points(plan, window.t_s[window.contact] - (fit.delay_s or 0.0))


def _offset(window: Window, disc: Points) -> dict[str, Scored]:
    if not window.contact.any():
        return {name: Scored(None, reason="no_contact") for name in ("offset_x", "offset_y")}
    offset = offset_mm(window.hand[window.contact], disc[window.contact])
    return {"offset_x": Scored(offset.real), "offset_y": Scored(offset.imag)}


def _nothing(plan: TrialPlan) -> dict[str, Scored]:
    names = ("scatter", _timing(plan), "error_rms", "time_on_target", "offset_x", "offset_y", "contact",
             "lifts", "lift_share")
    return {name: Scored(None, reason="window_cut_short") for name in names}


def _timing(plan: TrialPlan) -> str:
    return "lag" if isinstance(plan.path, Circle) else "delay"


@lru_cache(maxsize=32)
def _disc(plan: TrialPlan) -> Points:
    disc = _points(plan, instants(plan.run_in_s, plan.window_s))
    disc.setflags(write=False)
    return disc


def _points(plan: TrialPlan, t_s: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Points:
    x_mm, y_mm = plan.position(t_s)
    return np.asarray(x_mm + 1j * y_mm)
