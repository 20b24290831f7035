"""The upper part of the page: header, identity, fit to read, and the two sentences with their chances.

Each part is drawn from a top edge (mm on the live area) and returns its lower edge.
"""

from collections.abc import Sequence

from kiosk.report.paper import (
    DATA,
    IDENTITY,
    LINE,
    PITCH_MM,
    PLAIN,
    QUIET,
    SECTION,
    SECTION_PITCH_MM,
    SMALL,
    SMALL_QUIET,
    SMALL_STRONG,
    TARGET,
    TEXT,
    TITLE,
    WHITE,
    Style,
)
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import BeadGroup, BeadState, Fit, Headline, Labelled, PageContent

TITLE_LEFT_MM = 11.0
BEAD_MM, BEAD_PITCH_MM = 3.0, 4.0
WORD_COLUMN_MM, BETWEEN_MM = 20.0, 1.4
AGE = Style(14, 600)


def header(sheet: Sheet, content: PageContent, top_mm: float) -> float:
    """Identity mark, title, place and time, page tag; a rule below."""
    right = sheet.width_mm
    mark(sheet, (4.0, top_mm + 4.4), 4.0)
    sheet.write(TITLE_LEFT_MM, top_mm + 4.2, content.title, TITLE)
    tag_left = right - sheet.text_width(content.page_tag, TITLE)
    sheet.write(tag_left, top_mm + 4.2, content.page_tag, TITLE)
    sheet.write(tag_left - 2.0, top_mm + 4.2, content.tag_label, SMALL_QUIET, "right")
    when = f"{content.when} · {content.page_number}"
    sheet.write(right, top_mm + 9.0, when, PLAIN, "right")
    room = right - sheet.text_width(when, PLAIN) - TITLE_LEFT_MM - 4.0
    told = _joined(sheet, [part for part in (content.subtitle, content.place) if part], room)
    bottom = sheet.write_lines(TITLE_LEFT_MM, top_mm + 9.0, told, PLAIN, PITCH_MM) - PITCH_MM + 3.0
    sheet.line((0, bottom), (right, bottom), 0.6)
    return bottom


def _joined(sheet: Sheet, parts: Sequence[str], width_mm: float) -> list[str]:
    """The parts on one line where they fit, else each on its own line or lines."""
    one_line = " · ".join(parts)
    if sheet.text_width(one_line, PLAIN) <= width_mm:
        return [one_line]
    return [line for part in parts for line in sheet.wrap(part, PLAIN, width_mm)]


def mark(sheet: Sheet, centre: tuple[float, float], radius_mm: float) -> None:
    """The identity mark: the amber disc inside its closed ring."""
    sheet.disc(centre, radius_mm, TEXT)
    sheet.disc(centre, radius_mm * 0.78, WHITE)
    sheet.disc(centre, radius_mm * 0.56, TARGET)


def identity(sheet: Sheet, columns: Sequence[Labelled], top_mm: float) -> float:
    """Labels above values in evenly spread columns; a rule below."""
    widths = [
        max(sheet.text_width(c.label, SMALL_QUIET), sheet.text_width(c.value, _weight_of(i, columns)))
        for i, c in enumerate(columns)
    ]
    gap = (sheet.width_mm - sum(widths)) / max(1, len(columns) - 1)
    left = 0.0
    for place, (column, width) in enumerate(zip(columns, widths, strict=True)):
        sheet.write(left, top_mm + 4.6, column.label, SMALL_QUIET)
        sheet.write(left, top_mm + 9.6, column.value, _weight_of(place, columns))
        left += width + min(gap, 22.0)
    sheet.line((0, top_mm + 11.8), (sheet.width_mm, top_mm + 11.8), 0.25, LINE)
    return top_mm + 11.8


def _weight_of(place: int, columns: Sequence[Labelled]) -> Style:
    """Age stands large: the one short number among the values."""
    value = columns[place].value
    return AGE if value.isdigit() and len(value) <= 3 and place > 0 else IDENTITY


def fit_to_read(sheet: Sheet, fit: Fit, visit_line: str, top_mm: float) -> float:
    """The answer with the beads beside it, which visit this is, the facts, and the notes."""
    baseline = top_mm + 3.2
    after = sheet.write(0, baseline, fit.title, IDENTITY)
    after = sheet.write(after + 2.0, baseline, fit.answer, IDENTITY)
    left = sheet.width_mm - _beads_width(sheet, fit.groups)
    if left < after + 4.0:
        baseline, left = baseline + PITCH_MM, 0.0
    for group in fit.groups:
        left = _bead_group(sheet, group, left, baseline)
    facts = [(f"{visit_line} ·", SMALL_STRONG), (" · ".join(fit.facts), SMALL_QUIET)]
    baseline = sheet.paragraphs(0, baseline + PITCH_MM, [facts], sheet.spacing.run_notes)
    after = sheet.paragraphs(0, baseline, [[(note, SMALL)] for note in fit.notes], sheet.spacing.run_notes)
    return after - sheet.spacing.small_pitch_mm + 0.8


def _beads_width(sheet: Sheet, groups: Sequence[BeadGroup]) -> float:
    return sum(_group_width(sheet, group) for group in groups) - 5.0


def _group_width(sheet: Sheet, group: BeadGroup) -> float:
    return len(group.beads) * BEAD_PITCH_MM + 1.0 + sheet.text_width(group.label, SMALL) + 5.0


def _bead_group(sheet: Sheet, group: BeadGroup, left_mm: float, baseline_mm: float) -> float:
    for place, state in enumerate(group.beads):
        bead(sheet, (left_mm + BEAD_MM / 2 + place * BEAD_PITCH_MM, baseline_mm - 1.1), state)
    sheet.write(left_mm + len(group.beads) * BEAD_PITCH_MM + 1.0, baseline_mm, group.label, SMALL)
    return left_mm + _group_width(sheet, group)


def bead(sheet: Sheet, centre: tuple[float, float], state: BeadState) -> None:
    """Scored: solid. Kept but not scored: open with a slash. Not done: open and thin."""
    radius = BEAD_MM / 2
    if state == "scored":
        sheet.disc(centre, radius, QUIET)
        return
    sheet.ring(centre, radius - 0.2, 0.4 if state == "not_scored" else 0.2, TEXT)
    if state == "not_scored":
        x, y = centre
        sheet.line((x - radius, y + radius), (x + radius, y - radius), 0.4)


def headlines(sheet: Sheet, lines: Sequence[Headline], top_mm: float) -> float:
    """Each word, its sentence, and the chance below it."""
    word = Style(11, 600, DATA)
    left = max(WORD_COLUMN_MM, *(sheet.text_width(one.word, word) + 3.0 for one in lines), 0.0)
    baseline, width = top_mm + 3.8, sheet.width_mm - left
    for one in lines:
        sheet.write(0, baseline, one.word, word)
        baseline = sheet.write_lines(
            left, baseline, sheet.wrap(one.sentence, SECTION, width), SECTION, SECTION_PITCH_MM
        )
        chance = sheet.wrap(one.chance, PLAIN, width) if one.chance else []
        baseline = sheet.write_lines(left, baseline - 0.3, chance, PLAIN, PITCH_MM) + BETWEEN_MM
    return baseline - BETWEEN_MM - PITCH_MM + 1.0
