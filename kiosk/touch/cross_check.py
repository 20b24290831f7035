"""The offset check: five crosses on the glass, touched once each with the fingertip.

A fingertip touches a little beside the place it means, and much the same way each time; that is no fault.
What is looked for is a touch layer that does not lie on the picture: shifted, stretched, mirrored, or turned.
Millimetres from the field's centre, y up; an offset is touch minus cross.

The thresholds are ours. Beyond the disc's radius a touch on the disc's middle falls off the disc: refused.
Half of that warns. A stretch of 4 % is five standard errors of its estimate when single touches scatter by
1 mm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import Floats
from kiosk.touch.verdict import DeviceReason, Verdict, above, worst

CROSSES_MM: Final = ((0.0, 0.0), (-60.0, 45.0), (60.0, 45.0), (60.0, -45.0), (-60.0, -45.0))
REFUSED_OFFSET_MM: Final = 12.0  # the disc's radius
MOST_OFFSET_MM: Final = 6.0
MOST_MEAN_MM: Final = 4.0
MOST_SD_MM: Final = 3.0
MOST_STRETCH_PERCENT: Final = 4.0


@dataclass(frozen=True)
class CrossCheck:
    """Offsets of the five touches, each (5,).

    mean: the length of the mean offset; sd: root mean square distance of the offsets from their mean (n - 1);
    worst: the longest. stretch: how much further apart the touches lie than the crosses.
    """

    x_mm: Floats
    y_mm: Floats
    mean_x_mm: float
    mean_y_mm: float
    mean_mm: float
    sd_mm: float
    worst_mm: float
    stretch_x_percent: float
    stretch_y_percent: float
    verdict: Verdict
    reasons: tuple[DeviceReason, ...]


def check_crosses(touches_mm: Sequence[tuple[float, float]]) -> CrossCheck:
    """The check from one touch on each cross, in the order of CROSSES_MM; Refused `cross_not_touched`."""
    if len(touches_mm) != len(CROSSES_MM):
        raise Refused("cross_not_touched", {"touched": len(touches_mm), "needed": len(CROSSES_MM)})
    crosses, touches = np.array(CROSSES_MM), np.array(touches_mm, dtype=np.float64)
    if not np.isfinite(touches).all():
        raise ValueError(f"touches_mm must be finite, got {touches_mm!r}")
    offsets = touches - crosses
    mean = offsets.mean(axis=0)
    spread = offsets - mean
    figures = {
        "worst_mm": float(np.hypot(*offsets.T).max()), "mean_mm": float(np.hypot(*mean)),
        "sd_mm": float(np.sqrt(np.sum(spread**2) / (len(offsets) - 1))),
        **{f"stretch_{axis}_percent": _stretch_percent(crosses[:, at], touches[:, at])
           for at, axis in enumerate("xy")}}
    reasons = tuple(_reasons(**figures))
    return CrossCheck(x_mm=offsets[:, 0], y_mm=offsets[:, 1], mean_x_mm=float(mean[0]),
                      mean_y_mm=float(mean[1]), **figures, verdict=worst(reasons), reasons=reasons)


def _stretch_percent(cross_mm: Floats, touch_mm: Floats) -> float:
    """Slope of touch on cross, less one (the crosses' mean is 0).

    >>> round(_stretch_percent(np.array([-60.0, 0.0, 60.0]), np.array([-61.0, 2.0, 65.0])), 9)
    5.0
    """
    return float(100.0 * (np.sum(cross_mm * touch_mm) / np.sum(cross_mm**2) - 1.0))


def _reasons(worst_mm: float, mean_mm: float, sd_mm: float, stretch_x_percent: float,
             stretch_y_percent: float) -> Iterator[DeviceReason]:
    if above(worst_mm, REFUSED_OFFSET_MM):
        yield DeviceReason("touch_off_cross", {"worst_mm": worst_mm, "most_mm": REFUSED_OFFSET_MM}, "refuse")
    elif above(worst_mm, MOST_OFFSET_MM):
        yield DeviceReason("touch_beside_cross", {"worst_mm": worst_mm, "most_mm": MOST_OFFSET_MM})
    if above(mean_mm, MOST_MEAN_MM):
        yield DeviceReason("touches_shifted", {"mean_mm": mean_mm, "most_mm": MOST_MEAN_MM})
    if above(sd_mm, MOST_SD_MM):
        yield DeviceReason("touches_scattered", {"sd_mm": sd_mm, "most_mm": MOST_SD_MM})
    stretch = max(stretch_x_percent, stretch_y_percent, key=abs)
    if above(abs(stretch), MOST_STRETCH_PERCENT):
        yield DeviceReason("touches_stretched", {
            "stretch_percent": stretch, "most_percent": MOST_STRETCH_PERCENT})
