"""The columns of the profile: as wide as their words, closer where words are long."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from kiosk.report.paper import SMALL, SMALL_QUIET, SMALL_STRONG, STRONG, Style
from kiosk.report.scale import Scale
from kiosk.report.sheet import Overflow, Sheet
from kiosk.wording.page_parts import MeasureRow, Profile

GAP_MM, MARK_MM, SCALE_MOST_MM, SCALE_LEAST_MM = 2.5, 3.0, 54.0, 28.0


@dataclass(frozen=True)
class Widest:
    """How wide the columns of words may be before their cells take a second line, mm."""

    name: float
    value: float
    usual: float
    label: float


WIDTHS: Final = (  # one line a row; two lines at most; as close as words go
    Widest(40.0, 60.0, 19.0, 60.0), Widest(60.0, 60.0, 36.0, 60.0), Widest(36.0, 26.0, 24.0, 34.0),
    Widest(31.0, 21.0, 16.5, 23.0),
)  # fmt: skip


@dataclass(frozen=True)
class Columns:
    """Where the columns of the profile stand, mm."""

    name_width: float
    value_right: float
    value_width: float
    usual_right: float
    usual_width: float
    scale: Scale
    percentile_right: float
    interval_left: float
    label_right: float
    label_width: float


def measure_columns(sheet: Sheet, profile: Profile) -> Columns:
    """Columns from the words they hold; Overflow where the scale has not 28 mm, or what its words need."""
    least = max(SCALE_LEAST_MM, _width_of_words(sheet, profile))
    for most in WIDTHS:
        columns = _columns(sheet, profile, most)
        room = columns.scale.right_mm - columns.scale.left_mm
        if room >= least:
            return columns
    raise Overflow(f"scale, must have {least:.1f} mm beside the columns, got {room:.1f}")


def _width_of_words(sheet: Sheet, profile: Profile) -> float:
    """The scale on which poorer, usual (about zero) and better stand apart."""
    words, zero = profile.words, Scale(0.0, 1.0).at(0.0)
    half = sheet.text_width(words.usual, SMALL_STRONG) / 2 + 1.0
    left, right = (sheet.text_width(word, SMALL_QUIET) + half for word in (words.poorer, words.better))
    return max(left / zero, right / (1.0 - zero))


def bracketed(row: MeasureRow) -> str:
    """The interval in brackets, or nothing."""
    return f"({row.interval})" if row.interval else ""


def _columns(sheet: Sheet, profile: Profile, most: Widest) -> Columns:
    def widest(said: Callable[[MeasureRow], str], style: Style, cap: float = 60.0) -> float:
        lines = [line for row in profile.rows for line in sheet.wrap(said(row), style, cap)]
        return max(sheet.text_width(line, style) for line in lines)

    name = widest(lambda row: row.name, SMALL_STRONG, most.name)
    value = widest(lambda row: row.value, STRONG, most.value)
    usual = max(14.0, widest(lambda row: row.usual, SMALL, most.usual))
    label = widest(lambda row: row.label, SMALL, most.label)
    label_right = sheet.width_mm - max(5.0, widest(lambda row: row.standard_score, SMALL)) - 1.5
    interval_left = label_right - label - GAP_MM - widest(bracketed, SMALL)
    right = interval_left - 1.2 - widest(lambda row: row.percentile, STRONG) - GAP_MM
    left = name + value + usual + MARK_MM + 3 * GAP_MM
    spare = max(0.0, right - left - SCALE_MOST_MM) / 2
    return Columns(
        name,
        left - usual - 2 * GAP_MM,
        value,
        left - GAP_MM + spare,
        usual,
        Scale(left + spare, right - spare),
        interval_left - 1.2,
        interval_left,
        label_right,
        label,
    )
