"""Whether a block shows a regular shake, and at what frequency.

The error of each trial from the disc as followed (complex, x + iy, mm; its power in x and y together is that
along and across the way together) is cut into stretches of 4 s, half overlapping, Hann-weighted; their mean
power is the trial's spectrum. The block's is the mean of the logs over its trials. Between 3 and 12 Hz a
straight line is laid through log power over log frequency; a shake stands out above it. How much it must
stand out is decided in validity.py. x and y stay with the glass: seen from a disc that turns, a shake at 5 Hz
would spread to 5 Hz less and more the turn.

References
----------
Welch PD (1967), IEEE Transactions on Audio and Electroacoustics 15:70-73 (averaged spectra).
Tukey JW (1958), Annals of Mathematical Statistics 29:614 (the jackknife).
Sen PK (1968), Journal of the American Statistical Association 63:1379-1389 (median of slopes).

Decision scoring-5.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats
from kiosk.scoring.grid import GRID_HZ, Bools, Points
from kiosk.scoring.trial_scores import ErrorSpectrum

STRETCH: Final = 4 * GRID_HZ  # instants
FROM_HZ, TO_HZ = 3.0, 12.0
KEPT_HZ: Final = (0.5, 20.0)
PEAK_WIDTH_HZ: Final = 1.0  # a tone's power lies within this on either side


@dataclass(frozen=True)
class Shake:
    """The tallest peak: its frequency, its height above the line in nat, and its size as RMS in mm.

    line_nat: the line's log power at f_hz (all frequencies of the spectrum), for drawing.
    """

    hz: float
    excess_nat: float
    rms_mm: float
    f_hz: Floats
    log_power: Floats
    line_nat: Floats


def error_spectrum(error: Points, contact: Bools, least_contact: float, least_stretches: int,
                   not_sized: str | None = None) -> ErrorSpectrum | None:
    """The trial's spectrum; None with too few stretches of enough contact.

    >>> tone = 2.0 * np.cos(2 * np.pi * 5.0 * np.arange(20 * GRID_HZ) / GRID_HZ) + 0j
    >>> found = error_spectrum(tone, np.ones(tone.size, bool), 0.95, 3)
    >>> round(float(found.power.sum() * 0.25), 6), float(found.f_hz[found.power.argmax()])  # 2^2 / 2
    (2.0, 5.0)
    """
    if error.size < STRETCH:
        return None
    begins = range(0, error.size - STRETCH + 1, STRETCH // 2)
    used = [begin for begin in begins if contact[begin:begin + STRETCH].mean() >= least_contact]
    if len(used) < least_stretches:
        return None
    stretches = np.stack([error[begin:begin + STRETCH] for begin in used])
    power = power_of(stretches).mean(axis=0)
    f_hz = np.arange(STRETCH // 2) * GRID_HZ / STRETCH
    kept = (f_hz >= KEPT_HZ[0]) & (f_hz <= KEPT_HZ[1])
    return ErrorSpectrum(f_hz[kept], power[kept], len(used), not_sized)


def power_of(stretches: Points) -> Floats:
    """One-sided power of the real and the imaginary part together, mm^2/Hz, below half the grid's rate.

    A mean is not taken off: with these weights it shows below 0.5 Hz only, which is not kept.
    """
    weights = _hann()
    both = np.abs(np.fft.fft(stretches * weights, axis=1)) ** 2 / (GRID_HZ * (weights @ weights))
    folded = both[:, :STRETCH // 2].copy()
    folded[:, 1:] += both[:, :STRETCH // 2:-1]
    return np.asarray(folded)


def find_shake(spectra: Sequence[ErrorSpectrum], from_hz: float = FROM_HZ, to_hz: float = TO_HZ) -> Shake:
    """The tallest peak of a block between 3 and 12 Hz, whether or not it stands out.

    The peak's frequency is that of the parabola through its log power and its neighbours'; its size is the
    power above the line, from 1 Hz below to 1 Hz above.
    """
    f_hz = spectra[0].f_hz
    log_power = np.mean([np.log(np.maximum(one.power, np.finfo(float).tiny)) for one in spectra], axis=0)
    line = _line(f_hz, log_power)
    inside = np.flatnonzero((f_hz >= max(from_hz, FROM_HZ)) & (f_hz <= min(to_hz, TO_HZ)))
    top = int(inside[np.argmax((log_power - line)[inside])])
    hz = float(f_hz[top] + _vertex(log_power[top - 1:top + 2]) * (f_hz[1] - f_hz[0]))
    near = np.abs(f_hz - f_hz[top]) <= PEAK_WIDTH_HZ
    above = np.mean([one.power for one in spectra], axis=0) - np.exp(line)
    rms_mm = float(np.sqrt(max(above[near].sum() * (f_hz[1] - f_hz[0]), 0.0)))
    return Shake(hz, float((log_power - line)[top]), rms_mm, f_hz, log_power, line)


def shake_errors(spectra: Sequence[ErrorSpectrum], shake: Shake) -> tuple[float | None, float | None]:
    """Standard errors of a shake's frequency and size: the jackknife over trials, within 1 Hz of the peak.

    None for a block of one trial.
    """
    n = len(spectra)
    if n < 2:
        return None, None
    near = shake.hz - PEAK_WIDTH_HZ, shake.hz + PEAK_WIDTH_HZ
    without = [find_shake([*spectra[:k], *spectra[k + 1:]], *near) for k in range(n)]
    hz, rms_mm = (np.sqrt((n - 1) * np.var(values))
                  for values in ([one.hz for one in without], [one.rms_mm for one in without]))
    return float(hz), float(rms_mm)


def _line(f_hz: Floats, log_power: Floats) -> Floats:
    """Median of all slopes, then median of what is left: a peak does not pull it up."""
    inside = (f_hz >= FROM_HZ) & (f_hz <= TO_HZ)
    x, y = np.log(f_hz[inside]), log_power[inside]
    low, high = np.triu_indices(x.size, 1)
    slope = np.median((y[high] - y[low]) / (x[high] - x[low]))
    return np.asarray(np.median(y - slope * x) + slope * np.log(f_hz))


def _vertex(three: Floats) -> float:
    """Where the parabola through three neighbours has its top, in steps from the middle one.

    >>> _vertex(np.array([0.0, 1.0, 1.0]))
    0.5
    """
    before, middle, after = three.tolist()
    bend = before - 2 * middle + after
    return 0.5 * (before - after) / bend if bend < 0 else 0.0


@lru_cache(maxsize=1)
def _hann() -> Floats:
    return np.asarray(0.5 - 0.5 * np.cos(2 * np.pi * np.arange(STRETCH) / STRETCH))
