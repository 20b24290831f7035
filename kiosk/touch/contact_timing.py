"""How reports of a touch panel follow each other: the least rate of a contact, gaps, stamps in clusters.

An average rate hides all three. Only intervals during which the finger moved count, as a kernel reports
nothing while it rests. Seconds and millimetres in, hertz and milliseconds out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kiosk.pursuit.samples import Floats, Samples
from kiosk.touch.verdict import DeviceReason, above, below

MOVING_MM_S: Final = 10.0
LEAST_CONTACT_S: Final = 0.5
SHORT_SHARE: Final = 0.25        # of the mean interval: stamps nearer than this came in one cluster
GAP_INTERVALS: Final = 2.5       # as in kiosk.scoring.grid: a longer silence is no sampling interval
LEAST_RATE_HZ: Final = 50.0
MOST_GAP_PERCENT: Final = 7.5    # this and the next: .1 SD (tests/benchmarks/panel_consequences.py)
MOST_CLUSTER_MS: Final = 20.0
MOST_CLUSTERED_PERCENT: Final = 20.0


@dataclass(frozen=True)
class ContactTiming:
    """Of all contacts of half a second or more; NaN where there is none.

    least_rate_hz: reports a second of movement, of the contact with the fewest. gap_ms: the longest silence
    beyond 2.5 usual intervals, 0 where none; gap_percent: share of the moving time in such silences.
    clustered_percent: share of the intervals far shorter than the mean. cluster_ms: the usual time from one
    cluster, or single report, to the next.
    """

    least_rate_hz: float
    gap_ms: float
    gap_percent: float
    clustered_percent: float
    cluster_ms: float


def timing(fingers: Sequence[Samples]) -> ContactTiming:
    """The timing of a recording, of each finger by itself."""
    contacts = [one for finger in fingers for one in _moving_intervals_s(finger)
                if one.sum() >= LEAST_CONTACT_S]
    if not contacts:
        return ContactTiming(*[float("nan")] * 5)
    whole_s = np.concatenate(contacts)
    short = whole_s < SHORT_SHARE * whole_s.mean()
    usual_s = float(np.median(whole_s[~short]))
    gaps_s = whole_s[whole_s > GAP_INTERVALS * usual_s]
    return ContactTiming(
        least_rate_hz=min(float(one.size / one.sum()) for one in contacts),
        gap_ms=1000 * float(gaps_s.max(initial=0.0)), gap_percent=100 * float(gaps_s.sum() / whole_s.sum()),
        clustered_percent=100 * float(short.mean()), cluster_ms=1000 * usual_s)


def _moving_intervals_s(samples: Samples) -> Iterator[Floats]:
    """Of each contact, the intervals over which the finger moved."""
    ends = np.flatnonzero(~samples.contact)
    for rows in np.split(np.arange(samples.t_s.size), ends):
        down = rows[samples.contact[rows]]
        interval_s = np.diff(samples.t_s[down])
        way_mm = np.hypot(np.diff(samples.x_mm[down]), np.diff(samples.y_mm[down]))
        yield interval_s[way_mm > MOVING_MM_S * interval_s]


def timing_reasons(found: ContactTiming) -> Iterator[DeviceReason]:
    """What is beyond its limit, each with its number. NaN is beyond none."""
    if below(found.least_rate_hz, LEAST_RATE_HZ):
        yield DeviceReason("contact_rate_low", {
            "rate_hz": found.least_rate_hz, "least_hz": LEAST_RATE_HZ}, "refuse")
    if found.gap_ms > 0:
        beyond = above(found.gap_percent, MOST_GAP_PERCENT)
        yield DeviceReason("touch_gaps", {"gap_ms": found.gap_ms, "gap_percent": found.gap_percent},
                           "refuse" if beyond else "warn")
    if above(found.clustered_percent, MOST_CLUSTERED_PERCENT):
        yield DeviceReason("stamps_clustered", {
            "clustered_percent": found.clustered_percent, "cluster_ms": found.cluster_ms},
            "refuse" if above(found.cluster_ms, MOST_CLUSTER_MS) else "warn")
