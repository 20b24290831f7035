"""The profile: one row a measure around the scale, keys, notes and the reference group.

Columns are as wide as their words, closer where words are long. Decision page-1.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from kiosk.figures.marks import Align
from kiosk.figures.profile_scale import PAPER, ProfileScale, low_mark, share_of_scale
from kiosk.report.figures import SheetLettering, draw
from kiosk.report.paper import (
    DATA,
    LINE,
    SECTION,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    STRONG,
    TEXT,
    WHITE,
    Style,
)
from kiosk.report.sheet import Overflow, Sheet
from kiosk.wording.page_parts import Labelled, MeasureRow, Profile

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
    scale: ProfileScale
    percentile_right: float
    interval_left: float
    label_right: float
    label_width: float


def measure_columns(sheet: Sheet, profile: Profile) -> Columns:
    """Columns from the words they hold; Overflow where the scale has not 28 mm, or what its words need."""
    least = max(SCALE_LEAST_MM, _width_of_words(sheet, profile))
    for most in WIDTHS:
        columns = _columns(sheet, profile, most)
        room = columns.scale.right - columns.scale.left
        if room >= least:
            return columns
    raise Overflow(f"scale, must have {least:.1f} mm beside the columns, got {room:.1f}")


def _width_of_words(sheet: Sheet, profile: Profile) -> float:
    """The least width of the scale on which poorer, usual (about zero) and better stand apart."""
    words, zero = profile.words, share_of_scale(0.0)
    half = sheet.text_width(words.usual, SMALL_STRONG) / 2 + PAPER.word_gap
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
        ProfileScale(left + spare, right - spare, PAPER),
        interval_left - 1.2,
        interval_left,
        label_right,
        label,
    )


CELL_PITCH_MM = 3.1


def profile_table(sheet: Sheet, profile: Profile, top_mm: float, row_mm: float) -> float:
    """Draw the whole section; return its lower edge."""
    columns = measure_columns(sheet, profile)
    head = _head(sheet, profile, columns, top_mm)
    heights = [_row_height(sheet, row, columns, row_mm) for row in profile.rows]
    bottom = head + sum(heights)
    with sheet.unmirrored(columns.scale.left, columns.scale.right):
        draw(sheet, columns.scale.ground(-head, -bottom))
    top = head
    for row, height in zip(profile.rows, heights, strict=True):
        _row(sheet, row, columns, top, height, last=row is profile.rows[-1])
        top += height
    with sheet.unmirrored(columns.scale.left, columns.scale.right):
        draw(sheet, columns.scale.ticks(profile.ticks, -bottom, SheetLettering(sheet)))
    keys = _keys(sheet, profile.keys, bottom + PAPER.tick_baseline, columns.scale.x(profile.ticks[0].z) - 4.0)
    notes = [[(note, SMALL_QUIET)] for note in (*profile.notes, profile.reference) if note]
    pitch = sheet.spacing.small_pitch_mm
    return sheet.paragraphs(0, keys + pitch, notes, sheet.spacing.run_notes) - pitch + 0.8


def _head(sheet: Sheet, profile: Profile, columns: Columns, top_mm: float) -> float:
    """Draw the section title and the heads of the columns; return the top of the first row."""
    words, baseline = profile.words, top_mm + 3.9
    sheet.write(0, baseline, words.title, SECTION)
    low = baseline + CELL_PITCH_MM
    sheet.write(columns.value_right, low, words.today, SMALL_QUIET, "right")
    lines = sheet.wrap(words.usual_range, SMALL_QUIET, columns.usual_width + GAP_MM)
    for place, line in enumerate(reversed(lines)):
        sheet.write(columns.usual_right, low - place * CELL_PITCH_MM, line, SMALL_QUIET, "right")
    scale = columns.scale
    with sheet.unmirrored(scale.left, scale.right):
        draw(sheet, scale.heads(words, -low, -low, 1))
    percentile_left = max(columns.interval_left, scale.right + GAP_MM)
    after = sheet.write(percentile_left, low, words.percentile, SMALL_QUIET)
    fits = after + GAP_MM <= sheet.width_mm - sheet.text_width(words.standing, SMALL_QUIET)
    sheet.write(sheet.width_mm, low if fits else low - CELL_PITCH_MM, words.standing, SMALL_QUIET, "right")
    return low + 1.4


def _cells(sheet: Sheet, row: MeasureRow, columns: Columns) -> dict[str, list[str]]:
    """The cells that may take more than one line, by column."""
    return {
        "name": sheet.wrap(row.name, SMALL_STRONG, columns.name_width + 0.01),
        "value": sheet.wrap(row.value, STRONG, columns.value_width + 0.01),
        "usual": sheet.wrap(row.usual, SMALL, columns.usual_width + 0.01) if row.usual else [],
        "label": sheet.wrap(row.label, SMALL, columns.label_width + 0.01) if row.label else [],
    }


def _row_height(sheet: Sheet, row: MeasureRow, columns: Columns, row_mm: float) -> float:
    """The height of a row: more where a cell takes several lines."""
    deepest = max(map(len, _cells(sheet, row, columns).values()))
    return max(row_mm, (CELL_PITCH_MM + sheet.deeper_mm) * deepest + 1.2)


def _row(sheet: Sheet, row: MeasureRow, columns: Columns, top_mm: float, row_mm: float, last: bool) -> None:
    middle, cells = top_mm + row_mm / 2, _cells(sheet, row, columns)
    _cell_lines(sheet, 0, middle, cells["name"], SMALL_STRONG, "left")
    _cell_lines(sheet, columns.value_right, middle, cells["value"], STRONG, "right")
    _cell_lines(sheet, columns.usual_right, middle, cells["usual"], SMALL, "right")
    _cell_lines(sheet, columns.label_right, middle, cells["label"], SMALL, "right")
    if row.low:
        widest = max(sheet.text_width(line, STRONG) for line in cells["value"])
        centre = (columns.value_right - widest - MARK_MM / 2 - 0.6, -middle)
        draw(sheet, [low_mark(centre, PAPER)])
    with sheet.unmirrored(columns.scale.left, columns.scale.right):
        draw(sheet, columns.scale.row(row, -middle, SheetLettering(sheet)))
    if row.percentile:
        sheet.write(columns.percentile_right, middle + 1.1, row.percentile, STRONG, "right")
        sheet.write(columns.interval_left, middle + 1.1, bracketed(row), SMALL)
        sheet.write(sheet.width_mm, middle + 1.1, row.standard_score, SMALL, "right")
    if not last:
        bottom = top_mm + row_mm
        sheet.line((0, bottom), (columns.usual_right, bottom), 0.2, LINE)
        sheet.line((columns.scale.right + 1.5, bottom), (sheet.width_mm, bottom), 0.2, LINE)


def _cell_lines(
    sheet: Sheet, x_mm: float, middle_mm: float, lines: Sequence[str], style: Style, align: Align
) -> None:
    """Write lines close together about the middle of a row."""
    pitch = CELL_PITCH_MM + sheet.deeper_mm
    first = middle_mm + 1.1 - pitch * (len(lines) - 1) / 2
    for place, line in enumerate(lines):
        sheet.write(x_mm, first + place * pitch, line, style, align)


def _keys(sheet: Sheet, keys: Sequence[Labelled], baseline_mm: float, right_mm: float) -> float:
    """Draw the marks with their words left of the ticks; return the last baseline."""
    left = 0.0
    for key in keys:
        width = 4.4 + sheet.text_width(key.value, SMALL)
        if left > 0 and left + width > right_mm:
            left, baseline_mm = 0.0, baseline_mm + sheet.spacing.small_pitch_mm
        _key_mark(sheet, key.label, (left + 2.0, baseline_mm - 1.0))
        sheet.write(left + 4.4, baseline_mm, key.value, SMALL)
        left += width + 1.5
    return baseline_mm


def _key_mark(sheet: Sheet, name: str, centre: tuple[float, float]) -> None:
    """One mark as a key shows it, a little smaller than in a row; ValueError for an unknown name."""
    x, y = centre
    if name == "dot":
        sheet.disc(centre, 1.2, DATA)
    elif name == "ring":
        sheet.disc(centre, 0.8, WHITE)
        sheet.ring(centre, 0.68, 0.3, TEXT)
    elif name == "whisker":
        sheet.line((x - 1.9, y), (x + 1.9, y), PAPER.whisker, DATA)
    elif name == "band":
        sheet.rectangle(x - 1.8, y - PAPER.band_half, x + 1.8, y + PAPER.band_half, LINE)
    elif name == "low":
        draw(sheet, [low_mark((x, -y), PAPER)])
    else:
        raise ValueError(f"mark, must be one of dot, ring, whisker, band, low, got {name!r}")
