"""The tablet's latency, from slow-motion video: how long the picture lags behind the finger.

Someone draws a finger over the glass at an even speed while a mark follows it. The video is stepped through:
a reading is the number of frames from the finger passing a place to the mark passing it. One reading is one
pass; several are averaged. What is measured is touch and display together, which is what a person's lag
contains. Milliseconds, frames per second of the camera.

Of the literature: touch tablets 50 to 200 ms (Ng et al. 2012, Jota et al. 2013, abstracts). The limits are
ours and wider than that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev
from typing import Final

from kiosk.base.errors import Refused
from kiosk.touch.verdict import above, below

METHOD: Final = "slow_motion_video"
LEAST_CAMERA_HZ: Final = 120.0  # a frame of 8 ms
LEAST_READINGS: Final = 5
LEAST_MS: Final = 5.0
MOST_MS: Final = 300.0
MOST_SD_MS: Final = 25.0        # between readings; more is a mistake of counting or an unsteady tablet


@dataclass(frozen=True)
class DeviceLatency:
    """Mean and standard deviation of the readings, and the standard error of the mean.

    readings: frames counted on film (camera_hz), or the leads set by a slide, ms (camera_hz None).
    """

    latency_ms: float
    sd_ms: float
    se_ms: float
    method: str
    readings: tuple[float, ...]
    camera_hz: float | None = None


def from_video(frames: Sequence[float], camera_hz: float) -> DeviceLatency:
    """The latency from frames counted on several passes.

    Refused `camera_too_slow`, `too_few_passes`, `latency_not_plausible` or `passes_differ`.

    >>> latency = from_video([16, 17, 16, 18, 17], camera_hz=240.0)
    >>> round(latency.latency_ms, 6), round(latency.sd_ms, 6)  # 16.8 frames of 4.1667 ms; SD 0.83666 frames
    (70.0, 3.486083)
    """
    if below(camera_hz, LEAST_CAMERA_HZ):
        raise Refused("camera_too_slow", {"camera_hz": camera_hz, "least_hz": LEAST_CAMERA_HZ})
    if len(frames) < LEAST_READINGS:
        raise Refused("too_few_passes", {"passes": len(frames), "least": LEAST_READINGS})
    passes_ms = [1000.0 * count / camera_hz for count in frames]
    check_plausible(passes_ms)
    mean_ms, sd_ms = fmean(passes_ms), stdev(passes_ms)
    if above(sd_ms, MOST_SD_MS):
        raise Refused("passes_differ", {"sd_ms": sd_ms, "most_ms": MOST_SD_MS})
    return DeviceLatency(mean_ms, sd_ms, sd_ms / sqrt(len(frames)), METHOD, tuple(frames), camera_hz)


def check_plausible(passes_ms: Sequence[float]) -> None:
    """Refused `latency_not_plausible` where a reading is none of a touch tablet's."""
    for found_ms in passes_ms:
        if not LEAST_MS <= found_ms <= MOST_MS:
            raise Refused("latency_not_plausible", {
                "found_ms": found_ms, "least_ms": LEAST_MS, "most_ms": MOST_MS})
