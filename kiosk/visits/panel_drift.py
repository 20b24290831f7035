"""Whether a tablet has drifted: today's check beside the ones before it. Millimetres and hertz.

Beside is the median of up to ten earlier checks of the kind, of which there must be three. Limits are ours:
an offset of 2 mm is twice what single touches scatter by; a tenth of the rate is more than a clock drifts by;
the jitter's limit is a third of what moves a score by .1 SD (tests/benchmarks/panel_consequences.py).
"""

from collections.abc import Iterator, Sequence
from statistics import median
from typing import Final

from kiosk.touch.verdict import DeviceReason, above, below
from kiosk.visits.passport import MeasuredBy, Measurement

LEAST_EARLIER: Final = 3
MOST_EARLIER: Final = 10
MOST_OFFSET_MM: Final = 2.0
LEAST_RATE_SHARE: Final = 0.9
MOST_JITTER_MM: Final = 0.3


def usual(measured: Sequence[Measurement], by: MeasuredBy, figure: str) -> tuple[float, float] | None:
    """The newest value of a figure and what is usual; None with fewer than three before it."""
    known = _known(measured, by, figure)
    if len(known) <= LEAST_EARLIER:
        return None
    return known[-1], median(known[-1 - MOST_EARLIER:-1])


def _known(measured: Sequence[Measurement], by: MeasuredBy, figure: str) -> list[float]:
    return [one.figures[figure] for one in measured if one.by is by and figure in one.figures]


TREND: Final = ((MeasuredBy.CROSSES, "mean_mm"), (MeasuredBy.PANEL, "rate_hz"),
                (MeasuredBy.PANEL, "noise_mm"), (MeasuredBy.PANEL, "refresh_hz"))


def trend(measured: Sequence[Measurement]) -> tuple[tuple[str, float, float | None], ...]:
    """Each figure of the day's check that is known: its name, its newest value, and what is usual."""
    found = []
    for by, figure in TREND:
        known, beside = _known(measured, by, figure), usual(measured, by, figure)
        found += [(figure, known[-1], beside and beside[1])] if known else []
    return tuple(found)


def drifts(measured: Sequence[Measurement]) -> tuple[DeviceReason, ...]:
    """What is no longer as usual, from every measurement of the tablet, oldest first."""
    return tuple(_drifts(measured))


def _drifts(measured: Sequence[Measurement]) -> Iterator[DeviceReason]:
    offset = usual(measured, MeasuredBy.CROSSES, "mean_mm")
    if offset and above(abs(offset[0] - offset[1]), MOST_OFFSET_MM):
        yield DeviceReason("offset_drifts", {"mean_mm": offset[0], "usual_mm": offset[1]})
    rate = usual(measured, MeasuredBy.PANEL, "rate_hz")
    if rate and below(rate[0], LEAST_RATE_SHARE * rate[1]):
        yield DeviceReason("rate_drifts", {"rate_hz": rate[0], "usual_hz": rate[1]})
    jitter = usual(measured, MeasuredBy.PANEL, "noise_mm")
    if jitter and above(jitter[0] - jitter[1], MOST_JITTER_MM):
        yield DeviceReason("jitter_drifts", {"noise_mm": jitter[0], "usual_mm": jitter[1]})
