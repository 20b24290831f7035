"""Facts of a block, beside its scores: told and plotted, never set beside a reference table.

offset_x, offset_y (mm), lifts, lift_share (%), gain, stalls, stall_share (%): means of the valid trials.
practice               how many % a trial's scatter is greater than that of the trial before (below 0: less)
direction_difference   how many % greater scatter is against the clock (of a right hand; mirrored for a left)
                       than with it; circles only
hand_difference        steady.both: how many % greater scatter is with the other hand
tremor_hz, tremor_mm, tremor_excess   a regular shake: frequency, size as RMS, height above the line (nat)
lag_as_recorded, delay_as_recorded   with the device's latency left in
SEs are in the unit. Reasons: block_not_run, too_few_valid_trials, no_regular_shake, shake_not_judged (too few
stretches on the glass), shake_needs_rate, shake_needs_filter, shake_smoothed (its size), or the trials' own.

The SE of a percentage is that of the log ratio times the ratio; that of practice and of the differences comes
from within the trials, since two or three trials have next to no spread of their own to judge by.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from kiosk.pursuit.battery import Battery, Block
from kiosk.pursuit.target import Circle
from kiosk.pursuit.trial import TrialPlan
from kiosk.scoring.block import Trial, valid_trials
from kiosk.scoring.catalogue import unit_of
from kiosk.scoring.tremor import Shake, find_shake, shake_errors
from kiosk.scoring.trial_scores import BlockScore, ErrorSpectrum
from kiosk.scoring.validity import SHAKE_EXCESS_NAT, SHAKE_RMS_MM

MEANS: Final = ("offset_x", "offset_y", "lifts", "lift_share", "gain", "stalls", "stall_share")
HANDS: Final = ("steady.preferred", "steady.other")
HAND_DIFFERENCE: Final = "steady.both.hand_difference"


def block_facts(trials: Sequence[Trial], battery: Battery) -> dict[str, BlockScore]:
    """Every fact of a visit by measure id, in the battery's order; what is not known with its reason."""
    facts: dict[str, BlockScore] = {}
    for block in battery.blocks:
        if block.scored:
            own = [one for one in trials if one[0].block_name == block.name]
            facts |= _facts(block, own)
    facts[HAND_DIFFERENCE] = _hand_difference(trials)
    return facts


def _facts(block: Block, trials: Sequence[Trial]) -> dict[str, BlockScore]:
    valid, circle = valid_trials(trials), block.path == "circle"
    why = "too_few_valid_trials" if trials else "block_not_run"
    behind = "lag_as_recorded" if circle else "delay_as_recorded"
    facts = {name: _mean(f"{block.name}.{name}", valid, why) for name in (*MEANS, behind)}
    facts["practice"] = _contrast(f"{block.name}.practice", valid, _slope_weights(valid), why)
    if circle:
        weights = _direction_weights(valid)
        facts["direction_difference"] = _contrast(f"{block.name}.direction_difference", valid, weights, why)
    return {one.measure: one for one in (*facts.values(), *shake_facts(block.name, valid, why))}


def _mean(measure: str, trials: Sequence[Trial], why: str) -> BlockScore:
    """Mean over trials; its SE from their spread, or from within a single one."""
    figures = [one.values[name] for _, one in trials if (name := measure.rpartition(".")[2]) in one.values]
    values = [one.value for one in figures if one.value is not None]
    if not values:
        return _none(measure, next((one.reason for one in figures if one.reason), why))
    se = float(np.std(values, ddof=1) / np.sqrt(len(values))) if len(values) > 1 else figures[0].se
    return _fact(measure, float(np.mean(values)), se, len(values))


def _slope_weights(trials: Sequence[Trial]) -> list[float]:
    """The weighted sum of the trials' values is their slope over trial number; no weights for one trial."""
    number = np.array([plan.number for plan, _ in trials], dtype=float)
    away = number - number.mean() if number.size else number
    return (away / (away @ away)).tolist() if number.size > 1 else []


def _direction_weights(trials: Sequence[Trial]) -> list[float]:
    """Mean of the + trials less mean of the - trials; none unless there are both."""
    signs = [_direction(plan) for plan, _ in trials]
    return [sign / signs.count(sign) for sign in signs] if set(signs) == {1, -1} else []


def _direction(plan: TrialPlan) -> int:
    """The same turn for the body: mirrored for a left hand; 0 where the path is no circle."""
    if not isinstance(plan.path, Circle):
        return 0
    return plan.path.direction * (-1 if plan.hand_side == "left" else 1)


def _contrast(measure: str, trials: Sequence[Trial], weights: Sequence[float], why: str) -> BlockScore:
    """A weighted sum of the trials' log scatter, as a percentage."""
    figures = [one.values.get("scatter") for _, one in trials]
    known = [one for one in figures if one is not None and one.value is not None and one.value > 0]
    if not weights or len(known) < len(weights):
        return _none(measure, why if len(trials) < 2 else "too_few_valid_trials")
    logs = np.array([np.log(one.value or 1.0) for one in known])
    relative = [None if one.se is None or not one.value else one.se / one.value for one in known]
    return _percent(measure, float(np.array(weights) @ logs), weights, relative, len(known))


def _percent(measure: str, log_ratio: float, weights: Sequence[float], relative: Sequence[float | None],
             n_trials: int) -> BlockScore:
    known = [one for one in relative if one is not None]
    se = float(np.linalg.norm(np.array(weights) * known)) if len(known) == len(weights) else None
    ratio = float(np.exp(log_ratio))
    return _fact(measure, 100.0 * (ratio - 1.0), None if se is None else 100.0 * ratio * se, n_trials)


def _hand_difference(trials: Sequence[Trial]) -> BlockScore:
    """Mean log scatter of the other hand less that of the preferred one, both on the steady circle."""
    preferred, other = (valid_trials([one for one in trials if one[0].block_name == name]) for name in HANDS)
    if not preferred or not other:
        ran = {plan.block_name for plan, _ in trials} >= set(HANDS)
        return _none(HAND_DIFFERENCE, "too_few_valid_trials" if ran else "block_not_run")
    weights = [-1.0 / len(preferred)] * len(preferred) + [1.0 / len(other)] * len(other)
    return _contrast(HAND_DIFFERENCE, [*preferred, *other], weights, "too_few_valid_trials")


def shake_facts(block: str, trials: Sequence[Trial], why: str) -> tuple[BlockScore, BlockScore, BlockScore]:
    """Frequency, size and height of a regular shake; where none stands out, the height is told alone."""
    hz, mm, excess = (f"{block}.tremor_{name}" for name in ("hz", "mm", "excess"))
    spectra = [one.spectrum for _, one in trials if one.spectrum is not None]
    if not spectra:
        reason = "shake_not_judged" if trials else why
        return _none(hz, reason), _none(mm, reason), _none(excess, reason)
    shake = find_shake(spectra)
    height = _fact(excess, shake.excess_nat, None, len(spectra))
    if not is_regular(shake):
        return _none(hz, "no_regular_shake"), _none(mm, "no_regular_shake"), height
    hz_se, mm_se = shake_errors(spectra, shake)
    return _fact(hz, shake.hz, hz_se, len(spectra)), _size(mm, shake, mm_se, spectra), height


def is_regular(shake: Shake) -> bool:
    """Whether the tallest peak stands out far enough, of a size that a panel can tell from its own noise."""
    return shake.excess_nat >= SHAKE_EXCESS_NAT and shake.rms_mm >= SHAKE_RMS_MM


def _size(measure: str, shake: Shake, se: float | None, spectra: Sequence[ErrorSpectrum]) -> BlockScore:
    reason = next((one.not_sized for one in spectra if one.not_sized is not None), None)
    return _fact(measure, shake.rms_mm, se, len(spectra)) if reason is None else _none(measure, reason)


def _fact(measure: str, value: float, se: float | None, n_trials: int) -> BlockScore:
    return BlockScore(measure=measure, value=value, scaled=value, se=se, n_trials=n_trials,
                      unit=unit_of(measure))


def _none(measure: str, reason: str) -> BlockScore:
    return BlockScore(measure=measure, value=None, scaled=None, se=None, n_trials=0, unit=unit_of(measure),
                      reason=reason)
