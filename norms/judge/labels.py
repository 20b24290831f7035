"""The published labels of a standard score, and percentiles as they are printed beside them.

A standard score is 100 + 15 z_star rounded half away from zero. The label is its row; the whole
percentile that is printed stays inside that row's published range, so the three never contradict.

References
----------
Guilmette TJ et al. (2020), The Clinical Neuropsychologist 34:437-453, doi 10.1080/13854046.2020.1722244.
"""

from math import floor
from typing import NamedTuple

from norms.table.table import Measure

LOW_STANDARD_SCORE = 79
SCORES_NOT_NORMAL = ("time_on_target", "follow")


class LabelRow(NamedTuple):
    """One row of the uniform labels: standard scores and whole percentiles from, to (inclusive)."""

    label: str
    score_from: float
    score_to: float
    percentile_from: int
    percentile_to: int


LABEL_ROWS = (
    LabelRow("Exceptionally low", float("-inf"), 69, 0, 1),
    LabelRow("Below average", 70, 79, 2, 8),
    LabelRow("Low average", 80, 89, 9, 24),
    LabelRow("Average", 90, 109, 25, 74),
    LabelRow("High average", 110, 119, 75, 90),
    LabelRow("Above average", 120, 129, 91, 97),
    LabelRow("Exceptionally high", 130, float("inf"), 98, 100),
)
# z_star at which the label changes, unrounded, lowest first; an edge itself has the higher label.
LABEL_EDGES_Z = tuple((row.score_from - 0.5 - 100) / 15 for row in LABEL_ROWS[1:])
NOT_NORMAL_LABEL = "Within normal limits"
LABELS = (*(row.label for row in LABEL_ROWS), NOT_NORMAL_LABEL)


class PrintedPercentile(NamedTuple):
    """A percentile as printed: `sign` is "", "<" or ">", `number` has `decimals` places."""

    sign: str
    number: float
    decimals: int


def standard_score(z_star: float) -> int:
    """100 + 15 z_star, rounded half away from zero.

    >>> standard_score(-41 / 30), standard_score(-0.7)
    (80, 90)
    """
    exact = round(100 + 15 * z_star, 9)
    return floor(exact + 0.5) if exact >= 0 else -floor(0.5 - exact)


def label_row(score: int) -> LabelRow:
    """The row of the uniform labels in which a standard score lies."""
    return next(row for row in LABEL_ROWS if row.score_from <= score <= row.score_to)


def label_of(measure: Measure, score: int, further_ahead: bool = False,
             by_percentiles: bool = False) -> str | None:
    """Published label; none for a lag further ahead than most; measures that are not normal, or are read
    by percentile columns, stop at the middle; a measure without a better direction has none."""
    if further_ahead or measure.better == "neither":
        return None
    if (by_percentiles or measure.score in SCORES_NOT_NORMAL) and score >= 90:
        return NOT_NORMAL_LABEL
    return label_row(score).label


def printed_in_label(percentile: float, score: int) -> PrintedPercentile:
    """Whole percentile inside the label's range; below 1 and above 99 one decimal; then <0.1, >99.9.

    >>> printed_in_label(8.6, 79)
    PrintedPercentile(sign='', number=8.0, decimals=0)
    """
    row = label_row(score)
    return _printed(percentile, row.percentile_from, row.percentile_to)


def printed_bound(percentile: float) -> PrintedPercentile:
    """An end of an interval as printed, which has no label to stay inside."""
    return _printed(percentile, 0, 100)


def _printed(percentile: float, lowest: int, highest: int) -> PrintedPercentile:
    tenths = floor(10 * percentile + 0.5) / 10
    if tenths < 0.1:
        return PrintedPercentile("<", 0.1, 1)
    if tenths > 99.9:
        return PrintedPercentile(">", 99.9, 1)
    if tenths < 1 or tenths > 99:
        return PrintedPercentile("", tenths, 1)
    return PrintedPercentile("", float(min(max(floor(percentile + 0.5), lowest), highest)), 0)
