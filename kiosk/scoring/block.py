"""From the trials of a visit to its block scores.

A block score is the mean of its valid trials on the score's scale, shown back in the unit: log gives the
geometric mean, logit p = ((N + 1) expit(mean) - 0.5) / N. Its standard error is on the scale: from the spread
of the trials, or with a single trial from within it. A valid repeat stands for an invalid first attempt.

Reasons where there is no score: block_not_run, too_few_valid_trials (or the trials' own reason where enough
are valid), not_on_its_scale, lag_needs_both, prediction_needs_both.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from kiosk.pursuit.battery import Battery, Block
from kiosk.pursuit.trial import TrialPlan
from kiosk.scoring.catalogue import WHOLE_PERCENT, ScoreKind, kind_of, looks, trial_scores
from kiosk.scoring.trial_scores import BlockScore, Scored, TrialScores
from norms import VisitInterval
from norms.table.distributions import t_point
from norms.table.scale import from_scale, to_scale

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
            scores |= {f"{block.name}.{name}": _block_score(name, block, own)
                       for name in trial_scores(block.path == "circle")}
    scores[CIRCLES_LAG] = _circles_lag(scores[STEADY_LAG], scores[BRISK_LAG])
    scores[PREDICTION] = _prediction(scores[DELAY], scores[CIRCLES_LAG])
    return scores


def valid_trials(trials: Sequence[Trial]) -> list[Trial]:
    """The first valid attempt at each trial, in the order of their numbers."""
    first: dict[int, Trial] = {}
    for plan, scores in sorted(trials, key=lambda trial: trial[0].attempt):
        if scores.validity.valid:
            first.setdefault(plan.number, (plan, scores))
    return [first[number] for number in sorted(first)]


def _block_score(name: str, block: Block, trials: Sequence[Trial]) -> BlockScore:
    measure = f"{block.name}.{name}"
    figures = [scores.values[name] for _, scores in valid_trials(trials) if name in scores.values]
    known = [one for one in figures if one.value is not None]
    if not trials:
        return _none(measure, 0, "block_not_run")
    if len(known) < block.needs_valid:
        own = [one.reason for one in figures if one.reason is not None]
        enough = len(figures) >= block.needs_valid
        return _none(measure, len(known), own[0] if own and enough else "too_few_valid_trials")
    return _mean(measure, kind_of(name), known, looks(block.window_s, name))


def _mean(measure: str, kind: ScoreKind, trials: list[Scored], n_looks: float) -> BlockScore:
    values = [one.value for one in trials if one.value is not None]
    scaled = to_scale(values, kind.scale, n_looks, WHOLE_PERCENT)
    if not np.isfinite(scaled).all():
        return _none(measure, len(trials), "not_on_its_scale")
    mean, variance = float(scaled.mean()), float(scaled.var(ddof=1)) if scaled.size > 1 else None
    se = scaled_se(trials[0], kind, n_looks) if variance is None else float(np.sqrt(variance / scaled.size))
    return BlockScore(
        measure=measure, value=float(from_scale(mean, kind.scale, n_looks, WHOLE_PERCENT)), scaled=mean,
        se=se, n_trials=scaled.size, unit=kind.unit, trial_variance=variance)


def scaled_se(trial: Scored, kind: ScoreKind, n_looks: float) -> float | None:
    """SE of one trial's figure on the scale: half of what one SE up and down span there.

    >>> round(scaled_se(Scored(5.0, 0.5), kind_of("scatter"), 32.0), 4)  # ln(5.5 / 4.5) / 2
    0.1003
    """
    if trial.value is None or trial.se is None:
        return None
    ends = np.array([trial.value - trial.se, trial.value + trial.se])
    if kind.scale == "logit":
        ends = np.clip(ends, 0.0, WHOLE_PERCENT)
    low, high = to_scale(ends, kind.scale, n_looks, WHOLE_PERCENT).tolist()
    return float(high - low) / 2 if np.isfinite(high - low) else None


def visit_interval(score: BlockScore) -> VisitInterval | None:
    """The 95 % interval of a score by its visit's trials, Student's t; None by a single trial or of a share.

    It says how sure this visit's score is, nothing of other days.
    """
    kind, df = kind_of(score.measure), score.n_trials - (2 if score.measure == CIRCLES_LAG else 1)
    if score.scaled is None or score.se is None or df < 1 or kind.scale == "logit":
        return None
    reach = score.se * float(t_point(0.975, df))
    low, high = from_scale([score.scaled - reach, score.scaled + reach], kind.scale).tolist()
    return VisitInterval(low, high, df)


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
