"""Whether a tablet is fit for the visit: what its touches and its pictures are like, and a verdict.

A finger is drawn over the panel for some seconds while the screen is drawn; about one second of pictures
is enough. Where a trial has the same rule (touch rate, even intervals, late pictures, longest standstill)
the threshold is that of kiosk.scoring.validity; a test holds the two together. The others are ours. Codes
and values:

refuse  low_touch_rate (rate_hz, least_hz) · pictures_late (late_percent, age, most) ·
        frame_gap (gap_ms, most_ms) ·
        field_too_small (width_mm, height_mm, needed_width_mm, needed_height_mm) ·
        refresh_too_slow (refresh_hz, least_hz) · touch_too_noisy (noise_mm, most_mm)
        contact_rate_low (rate_hz, least_hz)
warn    uneven_sampling (p95_ms, median_ms) · touches_missing (missing_percent, most_percent) ·
        touch_noisy (noise_mm, most_mm) · refresh_slow (refresh_hz, least_hz)
either  touch_gaps (gap_ms, gap_percent) · stamps_clustered (clustered_percent, cluster_ms)
Hertz, milliseconds, millimetres. Decision touch-6.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.base.errors import Refused
from kiosk.pursuit.pictures_shown import added_age_s, late_s, standstill_s
from kiosk.pursuit.samples import Floats, RawTouch
from kiosk.touch.calibration import Calibration
from kiosk.touch.contact_timing import ContactTiming, timing_reasons
from kiosk.touch.verdict import DeviceReason, Verdict, above, below, worst

FIELD_WIDTH_MM: Final = 150.0
FIELD_HEIGHT_MM: Final = 125.0
LEAST_RATE_HZ: Final = 50.0
UNEVEN_TIMES_MEDIAN: Final = 2.0
MOST_STANDSTILL_MS: Final = 250.0
MOST_ADDED_AGE_MS: Final = 2.5
MOST_MISSING_PERCENT: Final = 5.0
MOST_NOISE_MM: Final = 0.5           # a tenth of the scatter of a good hand; moves it by .02 SD
REFUSED_NOISE_MM: Final = 1.0        # .1 SD of scatter (tests/benchmarks/panel_consequences.py)
LEAST_REFRESH_HZ: Final = 50.0
REFUSED_REFRESH_HZ: Final = 30.0
LEAST_MOVING_INTERVALS: Final = 20
LEAST_FLIPS: Final = 30


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
    if interval_s.size < LEAST_MOVING_INTERVALS:
        raise Refused("too_few_touches", {
            "moving_intervals": int(interval_s.size), "least": LEAST_MOVING_INTERVALS})
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


@dataclass(frozen=True)
class DisplayFigures:
    """Of about one second of pictures or more.

    shown_hz: pictures a second that reached the display. late_share: share of the time without the new
    picture that was due. added_age_ms: how much older than due the picture was on average. standstill_ms:
    the longest time between two pictures.
    """

    shown_hz: float
    late_share: float
    added_age_ms: float = 0.0
    standstill_ms: float = 0.0


@dataclass(frozen=True)
class DeviceCheck:
    """The verdict with all figures; field_mm: what the window holds."""

    verdict: Verdict
    reasons: tuple[DeviceReason, ...]
    touch: DeviceFigures
    display: DisplayFigures
    field_w_mm: float
    field_h_mm: float
    timing: ContactTiming | None = None


def measure_pictures(flip_t_ns: Sequence[int], refresh_hz: float) -> DisplayFigures:
    """The figures of pictures on a display of this refresh rate; Refused `too_few_flips` with fewer than 30.

    >>> figures = measure_pictures([20_000_000 * at for at in range(41) if at != 7], refresh_hz=50.0)
    >>> round(figures.shown_hz, 2), round(figures.late_share, 3), round(figures.added_age_ms, 3)
    (48.75, 0.025, 0.5)
    """
    if len(flip_t_ns) < LEAST_FLIPS:
        raise Refused("too_few_flips", {"flips": len(flip_t_ns), "least": LEAST_FLIPS})
    t_s = (np.array(flip_t_ns, dtype=np.int64) - flip_t_ns[0]) / 1e9
    whole_s = float(t_s[-1])
    return DisplayFigures(
        shown_hz=(t_s.size - 1) / whole_s,
        late_share=late_s(t_s, refresh_hz, 0.0, whole_s) / whole_s,
        added_age_ms=1000.0 * added_age_s(t_s, refresh_hz, 0.0, whole_s),
        standstill_ms=1000.0 * standstill_s(t_s, 0.0, whole_s))


def check_device(touch: DeviceFigures, display: DisplayFigures, calibration: Calibration,
                 timing: ContactTiming | None = None) -> DeviceCheck:
    """The verdict on a tablet as it stands on the table."""
    width_mm = calibration.window_width_px / calibration.px_per_mm_x
    height_mm = calibration.window_height_px / calibration.px_per_mm_y
    reasons = (*_of_touch(touch), *(timing_reasons(timing) if timing else ()), *_of_display(display),
               *_of_field(width_mm, height_mm))
    return DeviceCheck(worst(reasons), reasons, touch, display, width_mm, height_mm, timing)


def _of_touch(touch: DeviceFigures) -> Iterator[DeviceReason]:
    median_ms = 1000 / touch.rate_hz
    if below(touch.rate_hz, LEAST_RATE_HZ):
        yield DeviceReason("low_touch_rate", {"rate_hz": touch.rate_hz, "least_hz": LEAST_RATE_HZ}, "refuse")
    if above(touch.interval_p95_ms, UNEVEN_TIMES_MEDIAN * median_ms):
        yield DeviceReason("uneven_sampling", {"p95_ms": touch.interval_p95_ms, "median_ms": median_ms})
    if above(100 * touch.missing_share, MOST_MISSING_PERCENT):
        yield DeviceReason("touches_missing", {
            "missing_percent": 100 * touch.missing_share, "most_percent": MOST_MISSING_PERCENT})
    if above(touch.noise_mm, REFUSED_NOISE_MM):
        yield DeviceReason("touch_too_noisy", {
            "noise_mm": touch.noise_mm, "most_mm": REFUSED_NOISE_MM}, "refuse")
    elif above(touch.noise_mm, MOST_NOISE_MM):
        yield DeviceReason("touch_noisy", {"noise_mm": touch.noise_mm, "most_mm": MOST_NOISE_MM})


def _of_display(display: DisplayFigures) -> Iterator[DeviceReason]:
    shown_hz = display.shown_hz
    if below(shown_hz, REFUSED_REFRESH_HZ):
        yield DeviceReason("refresh_too_slow", {
            "refresh_hz": shown_hz, "least_hz": REFUSED_REFRESH_HZ}, "refuse")
    elif below(shown_hz, LEAST_REFRESH_HZ):
        yield DeviceReason("refresh_slow", {"refresh_hz": shown_hz, "least_hz": LEAST_REFRESH_HZ})
    if above(display.added_age_ms, MOST_ADDED_AGE_MS):
        yield DeviceReason("pictures_late", {
            "late_percent": 100 * display.late_share, "age": display.added_age_ms,
            "most": MOST_ADDED_AGE_MS}, "refuse")
    if above(display.standstill_ms, MOST_STANDSTILL_MS):
        yield DeviceReason("frame_gap", {
            "gap_ms": display.standstill_ms, "most_ms": MOST_STANDSTILL_MS}, "refuse")


def _of_field(width_mm: float, height_mm: float) -> Iterator[DeviceReason]:
    if below(width_mm, FIELD_WIDTH_MM) or below(height_mm, FIELD_HEIGHT_MM):
        yield DeviceReason("field_too_small", {
            "width_mm": width_mm, "height_mm": height_mm, "needed_width_mm": FIELD_WIDTH_MM,
            "needed_height_mm": FIELD_HEIGHT_MM}, "refuse")
