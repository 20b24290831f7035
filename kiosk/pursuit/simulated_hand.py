"""A simulated hand: follows the disc as people do, well enough to try every part of the kiosk on it.

Invented, not fitted to anyone: its numbers say nothing about real people. Millimetres and seconds; t_s counts
from the moment the disc sets off. Every draw comes from the generator passed in. The movement does not depend
on the times at which it is sampled: the same generator state gives the same movement at any rate.

The hand is where the disc was delay_s ago (on circles, which can be foreseen, delay_s - lead_s ago), plus
smooth noise that grows with speed, a touch offset and a tremor. Stalls and lapses make it fall behind and
catch up; lifts take it off the glass.
"""

from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np
from numpy.random import Generator

from kiosk.pursuit.samples import Samples
from kiosk.pursuit.target import Circle, Floats
from kiosk.pursuit.trial import TrialPlan

NOISE_RATE_HZ: Final = 240.0
NOISE_TOP_HZ: Final = 24.0
CATCH_UP_S: Final = 0.4
STAY_S: Final = 0.2  # the finger lifts this long after the disc has stopped


@dataclass(frozen=True)
class Hand:
    """One hand on one day. All zero: a finger that is always where the disc is.

    noise_mm and noise_s are root mean squares of the distance: what remains at low speed, and what is added
    (as squares) per mm/s of speed. unforeseen and other_hand multiply both, on wander paths and in blocks of
    the other hand. Rates are per minute, lengths are means. trial_spread is the SD of log noise from trial to
    trial, trial_delay_s that of the delay. practice_* are shares of noise lost per trial and for the second
    visit; each further visit brings half as much as the one before.
    """

    delay_s: float = 0.0
    lead_s: float = 0.0
    noise_mm: float = 0.0
    noise_s: float = 0.0
    noise_time_s: float = 0.15
    unforeseen: float = 1.0
    other_hand: float = 1.0
    offset_x_mm: float = 0.0
    offset_y_mm: float = 0.0
    tremor_hz: float = 0.0
    tremor_mm: float = 0.0
    lifts_per_min: float = 0.0
    lift_s: float = 0.15
    stalls_per_min: float = 0.0
    stall_s: float = 0.3
    lapses_per_min: float = 0.0
    lapse_s: float = 1.5
    lapse_lag_s: float = 0.3
    trial_spread: float = 0.0
    trial_delay_s: float = 0.0
    practice_per_trial: float = 0.0
    practice_per_visit: float = 0.0

    def __post_init__(self) -> None:
        signed = {"delay_s", "lead_s", "offset_x_mm", "offset_y_mm", "practice_per_trial",
                  "practice_per_visit"}
        for name in (field.name for field in fields(self)):
            value = getattr(self, name)
            if not np.isfinite(value) or (value < 0 and name not in signed):
                raise ValueError(f"{name} must be finite and not below 0, got {value!r}")


def move(hand: Hand, plan: TrialPlan, rng: Generator, rate_hz: float = 120.0, trial_index: int = 0,
         rest_s: float = 0.8) -> Samples:
    """One trial of this hand, sampled evenly.

    The first sample lies rest_s (the battery's rest on the disc) before the disc sets off, so that a running
    trial fed from it sets off when the hand expects it. The finger stays with the disc to its stop and lifts.
    trial_index counts the trials of the visit from 0.
    """
    count = int((rest_s + plan.end_s + STAY_S) * rate_hz) + 1
    return move_at(hand, plan, rng, np.arange(count) / rate_hz - rest_s, trial_index)


def move_at(hand: Hand, plan: TrialPlan, rng: Generator, t_s: Floats, trial_index: int = 0) -> Samples:
    """One trial of this hand, sampled at these times (increasing); the last sample is the final lift."""
    effort = _effort(hand, plan, rng, trial_index)
    behind_s = _behind_s(hand, plan, rng, t_s)
    x_mm, y_mm = plan.position(t_s - behind_s)
    started = np.clip(t_s / plan.run_in_s, 0.0, 1.0)
    speed = np.hypot(np.gradient(x_mm, t_s), np.gradient(y_mm, t_s))
    size_mm = effort * np.hypot(hand.noise_mm * started, hand.noise_s * speed) / np.sqrt(2)
    noise_x, noise_y = _smooth_noise(hand.noise_time_s, t_s, plan.end_s, rng)
    shake = rng.uniform(0, 2 * np.pi, 2) + 2 * np.pi * hand.tremor_hz * t_s[:, None]
    shake_mm = hand.tremor_mm * np.sin(shake)
    return _with_lifts(hand, plan, rng, t_s, x_mm + size_mm * noise_x + shake_mm[:, 0] + hand.offset_x_mm,
                       y_mm + size_mm * noise_y + shake_mm[:, 1] + hand.offset_y_mm)


def _effort(hand: Hand, plan: TrialPlan, rng: Generator, trial_index: int) -> float:
    """What the noise of this trial is multiplied by."""
    path = 1.0 if isinstance(plan.path, Circle) else hand.unforeseen
    side = hand.other_hand if plan.hand == "other" else 1.0
    practised = (1 - hand.practice_per_trial) ** trial_index
    return float(path * side * practised * np.exp(hand.trial_spread * rng.standard_normal()))


def _behind_s(hand: Hand, plan: TrialPlan, rng: Generator, t_s: Floats) -> Floats:
    """How far in time the hand is behind the disc: its delay of this trial, more in stalls and lapses."""
    foreseen_s = hand.lead_s if isinstance(plan.path, Circle) else 0.0
    behind_s = np.full(t_s.shape, hand.delay_s - foreseen_s + hand.trial_delay_s * rng.standard_normal())
    for start_s, length_s in _spells(hand.stalls_per_min, hand.stall_s, plan, rng):
        back = length_s * (1 + (start_s + length_s - t_s) / CATCH_UP_S)
        behind_s += np.maximum(np.minimum(t_s - start_s, back), 0.0)
    for start_s, length_s in _spells(hand.lapses_per_min, hand.lapse_s, plan, rng):
        through = np.clip((t_s - start_s) / length_s, 0.0, 1.0)
        behind_s += hand.lapse_lag_s * np.sin(np.pi * through) ** 2
    return behind_s


def _spells(per_min: float, mean_s: float, plan: TrialPlan, rng: Generator) -> list[tuple[float, float]]:
    """Starts and lengths of a Poisson number of spells after the run-in; lengths 0.5 to 1.5 of their mean."""
    span_s = plan.end_s - plan.run_in_s
    count = int(rng.poisson(per_min * span_s / 60))
    starts_s = plan.run_in_s + span_s * rng.random(count)
    return list(zip(starts_s.tolist(), (mean_s * rng.uniform(0.5, 1.5, count)).tolist(), strict=True))


def _smooth_noise(time_s: float, t_s: Floats, end_s: float, rng: Generator) -> tuple[Floats, Floats]:
    """Two independent noises of SD 1 at t_s, with autocorrelation (1 + |u|/time_s) exp(-|u|/time_s).

    Made from their spectrum, 1 / (1 + (2 pi f time_s)^2)^2, below NOISE_TOP_HZ.
    """
    size = 1 << int(np.ceil(np.log2((end_s + 4.0) * NOISE_RATE_HZ)))
    top = int(NOISE_TOP_HZ * size / NOISE_RATE_HZ)
    shape = 1 / (1 + (2 * np.pi * np.arange(1, top + 1) * NOISE_RATE_HZ / size * time_s) ** 2)
    shape *= size / (2 * np.sqrt(np.sum(shape**2)))
    parts = rng.standard_normal((2, 2, top))
    spectrum = np.zeros((2, size // 2 + 1), dtype=np.complex128)
    spectrum[:, 1:top + 1] = shape * (parts[0] + 1j * parts[1])
    noise = np.fft.irfft(spectrum, size)
    at = np.arange(size) / NOISE_RATE_HZ - 2.0
    return np.interp(t_s, at, noise[0]), np.interp(t_s, at, noise[1])


def _with_lifts(hand: Hand, plan: TrialPlan, rng: Generator, t_s: Floats, x_mm: Floats,
                y_mm: Floats) -> Samples:
    """As a device gives it: one row where the finger lifts (its last position), none until it is back."""
    away = np.zeros(t_s.shape, dtype=np.bool_)
    for start_s, length_s in _spells(hand.lifts_per_min, hand.lift_s, plan, rng):
        away |= (t_s >= start_s) & (t_s < start_s + length_s)
    away[-1] = True
    lifts = away & ~np.roll(away, 1)
    given = ~away | lifts
    last = np.maximum(np.arange(len(t_s)) - lifts, 0)[given]
    return Samples(t_s[given], x_mm[last], y_mm[last], ~away[given])


AGE_FROM: Final = 30.0
STEADY_MM_S: Final = 31.4         # the disc's speed on the steady circle; brisk is twice as fast
PEOPLE_SPREAD: Final = 0.258      # SD of log scatter between people of 30, days and trials apart
DAY_SPREAD: Final = 0.11          # SD of log noise from day to day
DAY_DELAY_S: Final = 0.007       # SD of delay, and of lead, from day to day
PRACTICE_OF_DELAY: Final = 1 / 3  # how much of the practice gain of noise the delays share


def typical_hand(age_years: float, rng: Generator) -> Hand:
    """A person of this age drawn from an invented population.

    Seven independent normal draws are mixed so that the scatters of one person go together (about .6 to
    .8 between true values), and with lag and delay (about .55). Noise, lag and delay grow with age.
    """
    years = age_years - AGE_FROM
    common, brisk, wander, other, timing, lag, delay = rng.standard_normal(7)
    spread = PEOPLE_SPREAD * (1 + 0.003 * years)
    steady_mm = 2.95 * np.exp(0.0110 * years)
    brisk_share = (np.exp(2 * (0.475 + 0.0015 * years)) - 1) / 3
    slow = 0.55 * common + 0.50 * timing
    delay_s = (138.0 + 1.75 * years + 27.6 * (1 + 0.003 * years) * (slow + 0.67 * delay)) / 1000
    lag_s = (33.0 + 1.04 * years + 22.4 * (1 + 0.003 * years) * (slow + 0.67 * lag)) / 1000
    offset_mm = np.clip(rng.normal([0.0, -2.5], 1.6), -5.0, 5.0)
    slow_level = np.exp(spread * (1.617 * common - 1.295 * brisk))
    fast_level = np.exp(spread * (0.383 * common + 1.295 * brisk))
    unforeseen_level = np.exp(spread * (0.50 * wander - 0.234 * common - 0.335 * brisk) - 0.0048 * years)
    other_level = np.exp(spread * (0.735 * other - 0.38 * common + 0.23 * brisk))
    return Hand(
        delay_s=float(delay_s), lead_s=float(delay_s - lag_s),
        noise_mm=float(steady_mm * np.sqrt(1 - brisk_share) * slow_level),
        noise_s=float(steady_mm * np.sqrt(brisk_share) * fast_level / STEADY_MM_S),
        unforeseen=float(1.63 * unforeseen_level), other_hand=float(1.34 * other_level),
        offset_x_mm=float(offset_mm[0]), offset_y_mm=float(offset_mm[1]),
        tremor_hz=float(rng.uniform(7.0, 10.0)), tremor_mm=0.06, lifts_per_min=float(rng.gamma(1.0, 0.4)),
        stalls_per_min=0.2, lapses_per_min=float(rng.gamma(2.0, 0.7)), lapse_lag_s=0.4,
        trial_spread=0.05, trial_delay_s=0.008, practice_per_trial=0.004, practice_per_visit=0.045)


def day_to_day(hand: Hand, rng: Generator) -> Hand:
    """The same hand on another day: noise, delay, lead and the two factors vary a little."""
    noise, unforeseen, other, delay, lead = rng.standard_normal(5)
    level = float(np.exp(DAY_SPREAD * noise))
    return replace(
        hand, noise_mm=hand.noise_mm * level, noise_s=hand.noise_s * level,
        unforeseen=hand.unforeseen * float(np.exp(-0.4 * DAY_SPREAD * noise + 0.03 * unforeseen)),
        other_hand=hand.other_hand * float(np.exp(0.05 * other)),
        delay_s=hand.delay_s + DAY_DELAY_S * float(delay), lead_s=hand.lead_s + DAY_DELAY_S * float(lead))


def later(hand: Hand, visits: int) -> Hand:
    """The same hand after this many earlier visits: the practice gains 1 + 1/2 + 1/4 ... of one visit."""
    gain = hand.practice_per_visit * 2 * (1 - 0.5**visits)
    level, quicker = 1 - gain, 1 - PRACTICE_OF_DELAY * gain
    return replace(hand, noise_mm=hand.noise_mm * level, noise_s=hand.noise_s * level,
                   delay_s=hand.delay_s * quicker, lead_s=hand.lead_s * quicker)
