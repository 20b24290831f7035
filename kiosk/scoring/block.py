"""From the trials of a visit to its block scores.

A block score is the mean of its valid trials on the score's scale, shown back in the unit: log gives the
geometric mean, logit p = ((N + 1) expit(mean) - 0.5) / N. Its standard error is on the scale. A valid repeat
stands for an invalid first attempt.

Reasons where there is no score: block_not_run, too_few_valid_trials (or the trials' own reason where enough
are valid), not_on_its_scale, lag_needs_both, prediction_needs_both.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from kiosk.pursuit.battery import Battery, Block
from kiosk.pursuit.trial import TrialPlan
from kiosk.scoring.catalogue import WHOLE_PERCENT, ScoreKind, kind_of, looks
from kiosk.scoring.trial_scores import BlockScore, TrialScores
from norms.scale import from_scale, to_scale

STEADY_LAG: Final = "steady.preferred.lag"
BRISK_LAG: Final = "brisk.preferred.lag"
CIRCLES_LAG: Final = "circles.preferred.lag"
DELAY: Final = "wander.preferred.delay"
PREDICTION: Final = "wander.preferred.prediction"

Trial = tuple[TrialPlan, TrialScores]


def score_blocks(trials: Sequence[Trial], battery: Battery) -> dict[str, BlockScore]:
    """Every block score of a visit by measure id, in the battery's order; the unscored with their reason."""
    scores: dict[str, BlockScore] = {}
    for block in battery.blocks:
        if block.scored:
            own = [one for one in trials if one[0].block_name == block.name]
            scores |= {f"{block.name}.{name}": _block_score(name, block, own) for name in _names(block)}
    scores[CIRCLES_LAG] = _circles_lag(scores[STEADY_LAG], scores[BRISK_LAG])
    scores[PREDICTION] = _prediction(scores[DELAY], scores[CIRCLES_LAG])
    return scores


def _names(block: Block) -> tuple[str, ...]:
    return ("scatter", "lag" if block.path == "circle" else "delay", "error_rms", "time_on_target")


def _valid(trials: Sequence[Trial]) -> list[TrialScores]:
    """The first valid attempt at each trial."""
    first: dict[int, TrialScores] = {}
    for plan, scores in sorted(trials, key=lambda trial: trial[0].attempt):
        if scores.validity.valid:
            first.setdefault(plan.number, scores)
    return [first[number] for number in sorted(first)]


def _block_score(name: str, block: Block, trials: Sequence[Trial]) -> BlockScore:
    measure, valid = f"{block.name}.{name}", _valid(trials)
    known = [value for scores in valid if (value := scores.values[name].value) is not None]
    if not trials:
        return _none(measure, 0, "block_not_run")
    if len(known) < block.needs_valid:
        own = [reason for scores in valid if (reason := scores.values[name].reason) is not None]
        enough = len(valid) >= block.needs_valid
        return _none(measure, len(known), own[0] if own and enough else "too_few_valid_trials")
    return _mean(measure, kind_of(name), known, looks(block.window_s))


def _mean(measure: str, kind: ScoreKind, values: list[float], n_looks: float) -> BlockScore:
    scaled = to_scale(values, kind.scale, n_looks, WHOLE_PERCENT)
    if not np.isfinite(scaled).all():
        return _none(measure, len(values), "not_on_its_scale")
    mean, variance = float(scaled.mean()), float(scaled.var(ddof=1)) if scaled.size > 1 else None
    return BlockScore(
        measure=measure, value=float(from_scale(mean, kind.scale, n_looks, WHOLE_PERCENT)), scaled=mean,
        se=None if variance is None else float(np.sqrt(variance / scaled.size)), n_trials=scaled.size,
        unit=kind.unit, trial_variance=variance)


def _circles_lag(steady: BlockScore, brisk: BlockScore) -> BlockScore:
    """Plain mean of the two block lags; SE sqrt(se1^2 + se2^2) / 2."""
    n_trials = steady.n_trials + brisk.n_trials
    if steady.value is None or brisk.value is None:
        return _none(CIRCLES_LAG, n_trials, _both_or("lag_needs_both", steady, brisk))
    se = _root_of_squares(steady, brisk)
    return _combined(CIRCLES_LAG, (steady.value + brisk.value) / 2, None if se is None else se / 2, n_trials)


def _prediction(delay: BlockScore, lag: BlockScore) -> BlockScore:
    """How much of the delay on an unknown path is saved on a known one: delay - lag."""
    n_trials = delay.n_trials + lag.n_trials
    if delay.value is None or lag.value is None:
        return _none(PREDICTION, n_trials, _both_or("prediction_needs_both", delay, lag))
    return _combined(PREDICTION, delay.value - lag.value, _root_of_squares(delay, lag), n_trials)


def _both_or(reason: str, first: BlockScore, second: BlockScore) -> str:
    never_run = first.n_trials + second.n_trials == 0 and first.reason == second.reason == "block_not_run"
    return "block_not_run" if never_run else reason


def _root_of_squares(first: BlockScore, second: BlockScore) -> float | None:
    return None if first.se is None or second.se is None else float(np.hypot(first.se, second.se))


def _combined(measure: str, value: float, se: float | None, n_trials: int) -> BlockScore:
    return BlockScore(measure=measure, value=value, scaled=value, se=se, n_trials=n_trials,
                      unit=kind_of(measure).unit)


def _none(measure: str, n_trials: int, reason: str) -> BlockScore:
    return BlockScore(measure=measure, value=None, scaled=None, se=None, n_trials=n_trials,
                      unit=kind_of(measure).unit, reason=reason)
