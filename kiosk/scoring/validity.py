"""Whether a trial is fit to be scored: the only thresholds; every other room reads the codes made here.

A fact that the recording does not carry (None, no flips) is not known and never a reason. Codes and values:

invalid   window_cut_short (first_s, last_s, from_s, to_s, outcome) · little_contact (contact_percent,
          least_percent) · low_touch_rate (rate_hz, least_hz) · frame_gap (gap_ms, most_ms) · pictures_late
          (late_ms, late_percent, age, most: milliseconds older on average) · not_calibrated · finger_lost ·
          finger_jumped (jump_mm, most_mm) · second_contact (percent, most_percent) · wrong_hand ·
          helped_by_touch
caution   contact_below_95 (contact_percent) · uneven_sampling (p95_ms, median_ms) ·
          touches_lost (lost_ms: together, in the window) · did_not_follow (gain, or follow_percent) ·
          delay_may_be_longer (delay_ms, se_ms, limit_ms: half the period of the path's fastest line)
Below 80 % contact scatter, its parts, lag, delay, follow, gain, stalls and shake are not scored, with
contact_below_80 as their reason. What counts as a stall and as a regular shake is decided here too.

Decision scoring-4.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.pictures_shown import added_age_s, late_s, standstill_s
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.grid import Window
from kiosk.scoring.timing import CircleFit, WanderFit
from kiosk.scoring.trial_scores import Reason, Validity

COVERED_WITHIN_S: Final = 0.100
LEAST_CONTACT_PERCENT: Final = 50.0
TIMED_CONTACT_PERCENT: Final = 80.0    # below: scatter, lag, delay are not scored
FULL_CONTACT_PERCENT: Final = 95.0
LEAST_RATE_HZ: Final = 50.0
# Either moves a simulated hand's score by .1 SD of the reference group at most: see
# tests/benchmarks/picture_consequences.py.
MOST_STANDSTILL_MS: Final = 250.0
MOST_ADDED_AGE_MS: Final = 2.5         # of the picture, on average
PICTURES_MATTER_BEFORE_S: Final = 1.0    # the last of the run-in
MOST_JUMP_MM: Final = 30.0
MOST_SECOND_CONTACT_PERCENT: Final = 10.0
UNEVEN_TIMES_MEDIAN: Final = 2.0
LEAST_GAIN: Final = 0.5
LEAST_FOLLOW_PERCENT: Final = 30.0
SPOILING_OBSERVATIONS: Final = ("wrong_hand", "helped_by_touch")
WRAP_STANDARD_ERRORS: Final = 3.0      # a delay this near the limit may be a longer one
STALL_SHARE_OF_SPEED: Final = 0.2      # a stall: slower than this share of the disc's speed
STALL_AT_LEAST_S: Final = 0.2
SHAKE_CONTACT: Final = 0.95            # of a stretch of 4 s
SHAKE_STRETCHES: Final = 3
SHAKE_EXCESS_NAT: Final = 1.2          # a peak this much above the line is a regular shake
SHAKE_RMS_MM: Final = 0.1             # a smaller one is not told from the steps and the noise of a panel
SHAKE_SMOOTHING_MS: Final = 6.4        # a first-order filter then leaves 90 % of a shake of 12 Hz
SHAKE_SIZE_RATE_HZ: Final = 100.0      # its size is told from this touch rate on
_ROUNDING: Final = 1e-9                # a figure on its threshold is not beyond it


def is_covered(window: Window, plan: TrialPlan) -> bool:
    """Whether the recording reaches over the window, to within 100 ms at both ends."""
    if window.first_s is None or window.last_s is None:
        return False
    late_s, early_s = window.first_s - plan.run_in_s, plan.run_in_s + plan.window_s - window.last_s
    return max(late_s, early_s) <= COVERED_WITHIN_S + _ROUNDING


def contact_percent(window: Window) -> float:
    """Share of the window on the glass."""
    return float(100.0 * window.contact.mean())


def is_timed(window: Window) -> bool:
    """Whether there is contact enough for scatter, lag and delay."""
    return contact_percent(window) >= TIMED_CONTACT_PERCENT


def judge(record: TrialRecord, window: Window, fit: CircleFit | WanderFit | None,
          observations: Sequence[Observation]) -> Validity:
    """The validity of one trial; `fit` is None where lag or delay are not scored."""
    reasons = [*_of_recording(record, window), *_of_facts(record.facts, record.plan),
               *_of_staff(observations)]
    cautions = [*_of_contact(window), *_of_sampling(window), *_of_losses(record), *_of_following(fit),
                *_of_wrapping(fit)]
    covered = is_covered(window, record.plan)
    return Validity(not reasons, tuple(reasons), tuple(cautions) if covered else ())


def _of_recording(record: TrialRecord, window: Window) -> Iterator[Reason]:
    plan = record.plan
    if not is_covered(window, plan) or record.facts.outcome != "complete":
        yield _cut_short(record, window)
    elif contact_percent(window) < LEAST_CONTACT_PERCENT:
        yield Reason("little_contact", {"contact_percent": contact_percent(window),
                                        "least_percent": LEAST_CONTACT_PERCENT})
    if window.nominal_s is not None and 1.0 / window.nominal_s < LEAST_RATE_HZ - _ROUNDING:
        yield Reason("low_touch_rate", {"rate_hz": 1.0 / window.nominal_s, "least_hz": LEAST_RATE_HZ})
    if window.jump_mm > MOST_JUMP_MM:
        yield Reason("finger_jumped", {"jump_mm": window.jump_mm, "most_mm": MOST_JUMP_MM})


def _cut_short(record: TrialRecord, window: Window) -> Reason:
    known = {name: value for name, value in (("first_s", window.first_s), ("last_s", window.last_s))
             if value is not None}
    plan = record.plan
    return Reason("window_cut_short", {"from_s": plan.run_in_s, "to_s": plan.run_in_s + plan.window_s,
                                       "outcome": record.facts.outcome, **known})


def _of_facts(facts: TrialFacts, plan: TrialPlan) -> Iterator[Reason]:
    yield from _of_pictures(facts, plan)
    if facts.calibrated is False:
        yield Reason("not_calibrated")
    if facts.identity_lost:
        yield Reason("finger_lost")
    second = 100.0 * (facts.other_contact_s or 0.0) / plan.window_s
    if second > MOST_SECOND_CONTACT_PERCENT + _ROUNDING:
        yield Reason("second_contact", {"percent": second, "most_percent": MOST_SECOND_CONTACT_PERCENT})


def _of_pictures(facts: TrialFacts, plan: TrialPlan) -> Iterator[Reason]:
    """What the person saw in the window and the last second before it."""
    begin_s, end_s = plan.run_in_s - PICTURES_MATTER_BEFORE_S, plan.run_in_s + plan.window_s
    standstill_ms = 1000.0 * standstill_s(facts.flip_t_s, begin_s, end_s)
    if standstill_ms > MOST_STANDSTILL_MS + _ROUNDING * 1000:
        yield Reason("frame_gap", {"gap_ms": standstill_ms, "most_ms": MOST_STANDSTILL_MS})
    if facts.refresh_hz is None:
        return
    age_ms = 1000.0 * added_age_s(facts.flip_t_s, facts.refresh_hz, begin_s, end_s)
    if age_ms > MOST_ADDED_AGE_MS + _ROUNDING:
        without_s = late_s(facts.flip_t_s, facts.refresh_hz, begin_s, end_s)
        yield Reason("pictures_late", {
            "late_ms": 1000.0 * without_s, "late_percent": 100.0 * without_s / (end_s - begin_s),
            "age": age_ms, "most": MOST_ADDED_AGE_MS})


def _of_staff(observations: Sequence[Observation]) -> Iterator[Reason]:
    seen = {observation.code for observation in observations}
    return (Reason(code) for code in SPOILING_OBSERVATIONS if code in seen)


def _of_contact(window: Window) -> Iterator[Reason]:
    percent = contact_percent(window)
    if percent < FULL_CONTACT_PERCENT:
        yield Reason("contact_below_95", {"contact_percent": percent})


def _of_sampling(window: Window) -> Iterator[Reason]:
    if window.nominal_s is None or window.p95_s is None:
        return
    if window.p95_s > UNEVEN_TIMES_MEDIAN * window.nominal_s + _ROUNDING:
        yield Reason("uneven_sampling", {"p95_ms": 1000 * window.p95_s, "median_ms": 1000 * window.nominal_s})


def _of_losses(record: TrialRecord) -> Iterator[Reason]:
    """Touches of the window that were lost on their way here: where the hand was is not known."""
    begin_s, end_s = record.plan.run_in_s, record.plan.run_in_s + record.plan.window_s
    lost_s = sum(max(min(to_s, end_s) - max(from_s, begin_s), 0.0)
                 for from_s, to_s in record.facts.lost_spans_s or ())
    if lost_s > 0.0:
        yield Reason("touches_lost", {"lost_ms": 1000 * lost_s})


def _of_following(fit: CircleFit | WanderFit | None) -> Iterator[Reason]:
    if isinstance(fit, CircleFit) and fit.gain < LEAST_GAIN:
        yield Reason("did_not_follow", {"gain": fit.gain})
    if isinstance(fit, WanderFit) and 100.0 * fit.follow < LEAST_FOLLOW_PERCENT:
        yield Reason("did_not_follow", {"follow_percent": 100.0 * fit.follow})


def _of_wrapping(fit: CircleFit | WanderFit | None) -> Iterator[Reason]:
    """A delay whose range reaches the point where the path's fastest line turns once more unseen."""
    if not isinstance(fit, WanderFit) or fit.delay_s is None or fit.se_s is None:
        return
    if abs(fit.delay_s) + WRAP_STANDARD_ERRORS * fit.se_s > fit.half_turn_s:
        yield Reason("delay_may_be_longer", {"delay_ms": 1000 * fit.delay_s, "se_ms": 1000 * fit.se_s,
                                             "limit_ms": 1000 * fit.half_turn_s})


def no_shake_size(window: Window, facts: TrialFacts) -> str | None:
    """Why the size of a shake cannot be told from this recording; None where it can."""
    if window.nominal_s is None or 1.0 / window.nominal_s < SHAKE_SIZE_RATE_HZ - _ROUNDING:
        return "shake_needs_rate"
    if facts.input_fuzz is None or facts.smoothing_ms is None:
        return "shake_needs_filter"
    return "shake_smoothed" if facts.smoothing_ms > SHAKE_SMOOTHING_MS + _ROUNDING else None
