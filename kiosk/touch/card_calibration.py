"""Pixels per millimetre from an object of known size laid on the screen: a card, or a ruler.

Card    staff fit an outline drawn on the screen to a card of size ID-1 (85.60 x 53.98 mm), width and height,
        twice, each time from a fresh start. A reading is the size of the outline in pixels.
Ruler   a bar of known pixels is drawn along each axis and measured with a steel ruler, twice. A reading is
        the bars' length in pixels and in millimetres.

The two rounds must agree within 1 % in each axis; their mean is the calibration. Pixels need not be square
(a resolution that is not the panel's own stretches the picture), but a card laid across the wrong way would
stretch it by half, so more than a quarter is refused.

Source of the card's size: ISO/IEC 7810:2019, ID-1. Half a millimetre of misplacement is 0.6 % of its width.
The other limits are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.base.errors import Refused
from kiosk.touch.calibration import Calibration
from kiosk.touch.verdict import above, below

CARD_WIDTH_MM: Final = 85.60
CARD_HEIGHT_MM: Final = 53.98
MOST_DIFFERENCE_PERCENT: Final = 1.0
LEAST_PX_PER_MM: Final = 2.5         # 64 pixels an inch: coarser than any tablet
MOST_PX_PER_MM: Final = 25.0         # 635 pixels an inch: finer than any tablet
MOST_STRETCH: Final = 1.25
LEAST_RULER_MM: Final = 50.0         # half a millimetre of reading is 1 % of it


@dataclass(frozen=True)
class CardReading:
    """The outline that fits the card, in pixels."""

    width_px: float
    height_px: float


@dataclass(frozen=True)
class RulerReading:
    """A bar along each axis: how long it is drawn, and how long it is."""

    across_px: float
    across_mm: float
    up_px: float
    up_mm: float


@dataclass(frozen=True)
class Measured:
    """A calibration, how it was found, and the readings of both rounds one after another."""

    calibration: Calibration
    method: str
    readings: tuple[float, ...]


def from_card(rounds: Sequence[CardReading], window_px: tuple[int, int]) -> Measured:
    """The calibration of a window of this size from two rounds with a card.

    Refused `calibration_round_missing`, `calibration_readings_differ`, `pixel_density_not_plausible` or
    `pixels_stretched`.
    """
    x = [reading.width_px / CARD_WIDTH_MM for reading in rounds]
    y = [reading.height_px / CARD_HEIGHT_MM for reading in rounds]
    readings = tuple(px for reading in rounds for px in (reading.width_px, reading.height_px))
    return Measured(_calibration(x, y, window_px), "card", readings)


def from_ruler(rounds: Sequence[RulerReading], window_px: tuple[int, int]) -> Measured:
    """The calibration of a window of this size from two rounds with a ruler; refused as from_card is.

    Refused `ruler_length_short` where a bar measures less than 50 mm.
    """
    shortest_mm = min((min(one.across_mm, one.up_mm) for one in rounds), default=LEAST_RULER_MM)
    if below(shortest_mm, LEAST_RULER_MM):
        raise Refused("ruler_length_short", {"length_mm": shortest_mm, "least_mm": LEAST_RULER_MM})
    x = [reading.across_px / reading.across_mm for reading in rounds]
    y = [reading.up_px / reading.up_mm for reading in rounds]
    readings = tuple(value for one in rounds
                     for value in (one.across_px, one.across_mm, one.up_px, one.up_mm))
    return Measured(_calibration(x, y, window_px), "ruler", readings)


def differ_percent(first: float, second: float) -> float:
    """How far two readings lie apart, in percent of their mean.

    >>> differ_percent(101.0, 99.0)
    2.0
    """
    return 200.0 * abs(first - second) / (first + second)


def _calibration(x: Sequence[float], y: Sequence[float], window_px: tuple[int, int]) -> Calibration:
    """From the pixels per millimetre of both rounds in both axes."""
    if len(x) != 2:
        raise Refused("calibration_round_missing", {"rounds": len(x), "needed": 2})
    for axis in (x, y):
        _check_plausible(axis)
    for axis in (x, y):
        _check_agreement(axis)
    x_mean, y_mean = sum(x) / 2, sum(y) / 2
    stretch = max(x_mean / y_mean, y_mean / x_mean)
    if above(stretch, MOST_STRETCH):
        raise Refused("pixels_stretched", {"across_px_per_mm": x_mean, "up_px_per_mm": y_mean})
    return Calibration(x_mean, y_mean, *window_px)


def _check_plausible(px_per_mm: Sequence[float]) -> None:
    for found in px_per_mm:
        if not LEAST_PX_PER_MM <= found <= MOST_PX_PER_MM:
            raise Refused("pixel_density_not_plausible", {
                "px_per_mm": found, "least": LEAST_PX_PER_MM, "most": MOST_PX_PER_MM})


def _check_agreement(px_per_mm: Sequence[float]) -> None:
    apart = differ_percent(*px_per_mm)
    if above(apart, MOST_DIFFERENCE_PERCENT):
        raise Refused("calibration_readings_differ", {
            "differ_percent": apart, "most_percent": MOST_DIFFERENCE_PERCENT})
