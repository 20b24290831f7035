"""What a device's touches are like, from a finger drawn over the glass: figures, no verdict.

How many touches a trial needs is decided in kiosk.scoring.validity alone. Hertz, milliseconds, millimetres.
"""

from dataclasses import dataclass

import numpy as np

from kiosk.errors import Refused
from kiosk.glass.calibration import Calibration
from kiosk.pursuit.samples import Floats, RawTouch


@dataclass(frozen=True)
class DeviceFigures:
    """Of the samples in contact while the finger moved.

    rate_hz: one over the median interval. interval_p95_ms: 95th percentile. missing_share: samples that a
    steady rate would have given and that did not come. noise_mm: SD of the jitter on one axis, NaN where no
    two moving intervals follow each other.
    """

    rate_hz: float
    interval_p95_ms: float
    missing_share: float
    noise_mm: float


def measure(raw: RawTouch, calibration: Calibration) -> DeviceFigures:
    """The figures of a recording; Refused `too_few_touches` with fewer than 20 moving intervals.

    The jitter is taken from second differences, which a steady movement does not reach: white noise of SD s
    has second differences of SD s sqrt(1 + 4 + 1).
    """
    x_mm, y_mm = calibration.to_mm(raw)
    moving = raw.contact[1:] & raw.contact[:-1] & ((np.diff(x_mm) != 0) | (np.diff(y_mm) != 0))
    interval_s = np.diff(raw.t_ns)[moving] / 1e9
    if interval_s.size < 20:
        raise Refused("too_few_touches", {"moving_intervals": int(interval_s.size), "least": 20})
    median_s = float(np.median(interval_s))
    due = np.round(interval_s / median_s)
    return DeviceFigures(
        rate_hz=1 / median_s, interval_p95_ms=1000 * float(np.percentile(interval_s, 95)),
        missing_share=float(1 - interval_s.size / np.sum(np.maximum(due, 1))),
        noise_mm=_jitter_mm(x_mm, y_mm, moving))


def _jitter_mm(x_mm: Floats, y_mm: Floats, moving: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> float:
    inner = moving[1:] & moving[:-1]
    seconds = np.concatenate([np.diff(x_mm, 2)[inner], np.diff(y_mm, 2)[inner]])
    return float(np.sqrt(np.mean(seconds**2) / 6)) if seconds.size else float("nan")
