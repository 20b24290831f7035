"""The one-page summary: every part in its order, measured first, then drawn, on A4 or Letter.

The parts are laid out with the most generous spacing that fits; where none fits, the page is refused: never
a second page, never smaller type. Each part is drawn from a top edge, mm on the live area, and returns its
lower edge. The same content gives the same bytes: no time and no fact of the machine enters the file.

Decision page-2.
"""

from collections.abc import Sequence
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from kiosk.figures.marks import Align
from kiosk.figures.path_picture import PAPER as PATH_SIZES
from kiosk.figures.path_picture import path_picture
from kiosk.report.change import change_part
from kiosk.report.figures import draw, identity_mark
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
    SPACINGS,
    STRONG,
    TEXT,
    TITLE,
    WATERMARK,
    Paper,
    Spacing,
    Style,
    paper_named,
)
from kiosk.report.profile import profile_table
from kiosk.report.sheet import Overflow, Sheet, document
from kiosk.wording.cautions import FIXED_CAUTIONS
from kiosk.wording.page_parts import (
    DotState,
    Fit,
    Headline,
    Labelled,
    PageContent,
    PathSection,
    SignOff,
    TrialDots,
    ValueTable,
)

TITLE_LEFT_MM = 11.0
DOT_MM, DOT_PITCH_MM = 3.0, 4.0
WORD_COLUMN_MM, BETWEEN_MM = 20.0, 1.4
AGE = Style(14, 600)
VALUE_NAME_MM, VALUE_GAP_MM, VALUE_LINE_MM = 44.0, 2.0, 3.6
PATH_PITCH_MM = 18.1
EDGE_MM, TEXT_LEFT_MM = 1.8, 4.5
FOOTER_PITCH_MM = 3.4
CLEAR_MM = 12.0  # above the sign-off lines, for a hand


def render(content: PageContent, paper: str = "A4") -> bytes:
    """The page as PDF; Overflow where it cannot be one page, Refused for a paper or script not known."""
    chosen = paper_named(paper)
    spacing = fitting_spacing(content, chosen)
    out = BytesIO()
    canvas = _canvas(out, content, chosen)
    sheet = Sheet(chosen, content.script, spacing, canvas, content.direction)
    lay_out(sheet, content)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def fitting_spacing(content: PageContent, paper: Paper) -> Spacing:
    """The most generous spacing with which everything stands on the one page."""
    for spacing in SPACINGS:
        sheet = Sheet(paper, content.script, spacing, direction=content.direction)
        try:
            bottom = lay_out(sheet, content)
        except Overflow:
            if spacing is SPACINGS[-1]:
                raise
            continue
        if bottom + CLEAR_MM <= sign_off_top(sheet, content):
            return spacing
    raise Overflow(f"page, must hold everything on one sheet of {paper.name}, got {bottom:.0f} mm of text")


def lay_out(sheet: Sheet, content: PageContent) -> float:
    """Draw every part in order; return the lower edge of the last one above the sign-off."""
    gap = sheet.spacing.gap_mm
    bottom = header(sheet, content, 0.0)
    bottom = identity(sheet, content.identity, bottom)
    bottom = fit_to_read(sheet, content.fit, content.visit_line, bottom + min(gap, 3.0))
    bottom = headlines(sheet, content.headlines, bottom + gap)
    bottom = _figures(sheet, content, bottom)
    bottom = paths_part(sheet, content.paths, bottom + gap, sheet.spacing.paths_mm)
    bottom = conditions(sheet, content.conditions, bottom + gap)
    bottom = cautions(sheet, content.cautions, bottom + gap)
    sign_off(sheet, content)
    sheet.across(content.watermark, WATERMARK, 52.0, 0.06)
    return bottom


def _figures(sheet: Sheet, content: PageContent, bottom_mm: float) -> float:
    spacing = sheet.spacing
    if content.values is not None:
        return values_part(sheet, content.values, bottom_mm + spacing.gap_mm, spacing.row_mm)
    if content.profile is not None:
        bottom_mm = profile_table(sheet, content.profile, bottom_mm + spacing.gap_mm, spacing.row_mm)
    if content.change is not None:
        bottom_mm = change_part(sheet, content.change, bottom_mm + spacing.gap_mm)
    return bottom_mm


def _canvas(out: BytesIO, content: PageContent, paper: Paper) -> Canvas:
    title = f"{content.title} {content.page_tag}"
    canvas = document(out, paper, content.script, content.language, title, SMALL)
    canvas.setSubject(content.subtitle)
    canvas.setAuthor(content.place)
    canvas.setCreator("pursuit-kiosk")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas


def header(sheet: Sheet, content: PageContent, top_mm: float) -> float:
    """Draw identity mark, title, place and time, page tag and the rule below."""
    right = sheet.width_mm
    identity_mark(sheet, (4.0, top_mm + 4.4), 4.0)
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


def identity(sheet: Sheet, columns: Sequence[Labelled], top_mm: float) -> float:
    """Draw labels above values in evenly spread columns, and the rule below."""
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
    """The style of a value: the age, the one short number among them, is large."""
    value = columns[place].value
    return AGE if value.isdigit() and len(value) <= 3 and place > 0 else IDENTITY


def fit_to_read(sheet: Sheet, fit: Fit, visit_line: str, top_mm: float) -> float:
    """The answer with the dots beside it, which visit this is, the facts, and the notes."""
    baseline = top_mm + 3.2
    after = sheet.write(0, baseline, fit.title, IDENTITY)
    after = sheet.write(after + 2.0, baseline, fit.answer, IDENTITY)
    left = sheet.width_mm - _dots_width(sheet, fit.groups)
    if left < after + 4.0:
        baseline, left = baseline + PITCH_MM, 0.0
    for group in fit.groups:
        left = _dot_group(sheet, group, left, baseline)
    facts = [(f"{visit_line} ·", SMALL_STRONG), (" · ".join(fit.facts), SMALL_QUIET)]
    baseline = sheet.paragraphs(0, baseline + PITCH_MM, [facts], sheet.spacing.run_notes)
    after = sheet.paragraphs(0, baseline, [[(note, SMALL)] for note in fit.notes], sheet.spacing.run_notes)
    return after - sheet.spacing.small_pitch_mm + 0.8


def _dots_width(sheet: Sheet, groups: Sequence[TrialDots]) -> float:
    return sum(_group_width(sheet, group) for group in groups) - 5.0


def _group_width(sheet: Sheet, group: TrialDots) -> float:
    return len(group.dots) * DOT_PITCH_MM + 1.0 + sheet.text_width(group.label, SMALL) + 5.0


def _dot_group(sheet: Sheet, group: TrialDots, left_mm: float, baseline_mm: float) -> float:
    for place, state in enumerate(group.dots):
        _dot(sheet, (left_mm + DOT_MM / 2 + place * DOT_PITCH_MM, baseline_mm - 1.1), state)
    sheet.write(left_mm + len(group.dots) * DOT_PITCH_MM + 1.0, baseline_mm, group.label, SMALL)
    return left_mm + _group_width(sheet, group)


def _dot(sheet: Sheet, centre: tuple[float, float], state: DotState) -> None:
    """Scored: solid. Kept but not scored: open with a slash. Not done: open and thin."""
    radius = DOT_MM / 2
    if state == "scored":
        sheet.disc(centre, radius, QUIET)
        return
    sheet.ring(centre, radius - 0.2, 0.4 if state == "not_scored" else 0.2, TEXT)
    if state == "not_scored":
        x, y = centre
        sheet.line((x - radius, y + radius), (x + radius, y - radius), 0.4)


def headlines(sheet: Sheet, lines: Sequence[Headline], top_mm: float) -> float:
    """Draw each word, its sentence, and the chance below it."""
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


def values_part(sheet: Sheet, table: ValueTable, top_mm: float, row_mm: float) -> float:
    """Draw title, why there is no comparison, and the table."""
    sheet.write(0, top_mm + 3.9, table.title, SECTION)
    top = explanation(sheet, table.explanation, top_mm + 6.0) + 9.0
    edges = _value_edges(sheet, len(table.heads) - 1)
    sheet.write(0, top, table.heads[0], SMALL_QUIET)
    for edge, head in zip(edges, table.heads[1:], strict=True):
        for up, line in enumerate(reversed(sheet.wrap(head, SMALL_QUIET, 24.0))):
            sheet.write(edge, top - up * 3.3, line, SMALL_QUIET, "right")
    row_top = top + 1.4
    for name, cells in zip(table.names, table.cells, strict=True):
        sheet.line((0, row_top), (sheet.width_mm, row_top), 0.2, LINE)
        row_top += _value_row(sheet, name, cells, edges, row_top, row_mm)
    return row_top


def _value_row(
    sheet: Sheet, name: str, cells: Sequence[str], edges: Sequence[float], top_mm: float, row_mm: float
) -> float:
    """Draw one measure, the latest visit in strong type; return the height of the row."""
    styles = [*[PLAIN] * (len(cells) - 1), STRONG]
    room = edges[0] - VALUE_NAME_MM - VALUE_GAP_MM
    wrapped = [sheet.wrap(cell, style, room) for cell, style in zip(cells, styles, strict=True)]
    names = sheet.wrap(name, SMALL_STRONG, VALUE_NAME_MM - VALUE_GAP_MM)
    deepest = max(map(len, [names, *wrapped]))
    height = max(row_mm, deepest * VALUE_LINE_MM + 1.0)

    def cell(x: float, lines: Sequence[str], style: Style, align: Align) -> None:
        first = top_mm + height / 2 + 1.1 - VALUE_LINE_MM * (len(lines) - 1) / 2
        for place, line in enumerate(lines):
            sheet.write(x, first + place * VALUE_LINE_MM, line, style, align)

    cell(0.0, names, SMALL_STRONG, "left")
    for edge, lines, style in zip(edges, wrapped, styles, strict=True):
        cell(edge, lines, style, "right")
    return height


def _value_edges(sheet: Sheet, columns: int) -> list[float]:
    """Right edges of the columns; a lone column stays near the names."""
    pitch = min(30.0, (sheet.width_mm - VALUE_NAME_MM) / columns)
    return [VALUE_NAME_MM + pitch * (place + 1) for place in range(columns)]


def paths_part(sheet: Sheet, section: PathSection, top_mm: float, size_mm: float) -> float:
    """Draw title, path pictures and their labels."""
    after = sheet.write(0, top_mm + 3.9, section.title, SECTION)
    sheet.write(after + 3.0, top_mm + 3.9, section.explanation, SMALL_QUIET)
    if not section.figures:
        return top_mm + 5.0
    pitch = min(PATH_PITCH_MM, sheet.width_mm / len(section.figures))
    size, top = min(size_mm, pitch - 1.0), top_mm + 5.4
    for place, figure in enumerate(section.figures if sheet.draws else ()):
        centre = (place * pitch + pitch / 2, -(top + size / 2))
        with sheet.unmirrored(place * pitch, (place + 1) * pitch):
            draw(sheet, path_picture(figure, centre, size, PATH_SIZES))
    return _path_labels(sheet, section, pitch, top + size + 3.2)


def _path_labels(sheet: Sheet, section: PathSection, pitch_mm: float, baseline_mm: float) -> float:
    """Draw the labels under the pictures, on two lines where one is too short."""
    wrapped = [sheet.wrap(figure.label, SMALL, pitch_mm - 0.2) for figure in section.figures]
    for place, lines in enumerate(wrapped):
        for down, line in enumerate(lines):
            sheet.write(place * pitch_mm + pitch_mm / 2, baseline_mm + down * 3.1, line, SMALL, "centre")
    return baseline_mm + (max(len(lines) for lines in wrapped) - 1) * 3.1 + 0.8


def conditions(sheet: Sheet, lines: Sequence[Labelled], top_mm: float) -> float:
    """Draw the label and words of each condition."""
    said = [[(line.label, SMALL_STRONG), (line.value, SMALL)] for line in lines]
    return (
        sheet.paragraphs(0, top_mm + 2.8, said, sheet.spacing.run_notes) - sheet.spacing.small_pitch_mm + 0.8
    )


def cautions(sheet: Sheet, said: Sequence[str], top_mm: float) -> float:
    """The fixed cautions, then those of this visit in strong type; a hatched edge beside them."""
    sheet.line((0, top_mm), (sheet.width_mm, top_mm), 0.25, LINE)
    pieces = [[(text, SMALL if place < FIXED_CAUTIONS else SMALL_STRONG)] for place, text in enumerate(said)]
    after = sheet.paragraphs(TEXT_LEFT_MM, top_mm + 4.4, pieces, sheet.spacing.run_cautions)
    bottom = after - sheet.spacing.small_pitch_mm + 0.8
    sheet.hatch(0, top_mm + 1.8, EDGE_MM, bottom, TEXT, 0.6, 1.8)
    return bottom


def sign_off_top(sheet: Sheet, content: PageContent) -> float:
    """The y of the sign-off lines, measured up from the lower margin."""
    return sheet.height_mm - len(_footer_lines(sheet, content)) * FOOTER_PITCH_MM - 6.4


def sign_off(sheet: Sheet, content: PageContent) -> None:
    """Three lines to write on, the state of review, and the versions at the very bottom."""
    top = sign_off_top(sheet, content)
    _signature_lines(sheet, content.sign_off, top)
    sheet.write_lines(0, top + 9.4, _footer_lines(sheet, content), SMALL_QUIET, FOOTER_PITCH_MM)


def _signature_lines(sheet: Sheet, words: SignOff, top_mm: float) -> None:
    right = sheet.width_mm
    state_width = sheet.text_width(words.state, STRONG)
    lines_end = right - state_width - 6.0
    edges = [0.0, lines_end * 0.4, lines_end * 0.75, lines_end]
    for left, end, label in zip(
        edges, edges[1:], (words.clinician, words.signature, words.date), strict=False
    ):
        sheet.line((left, top_mm), (end - 5.0, top_mm), 0.4)
        sheet.write(left, top_mm + 4.0, label, SMALL_QUIET)
    sheet.write(right, top_mm, words.state, STRONG, "right")


def _footer_lines(sheet: Sheet, content: PageContent) -> list[str]:
    return sheet.wrap(content.footer, SMALL_QUIET, sheet.width_mm)


def explanation(sheet: Sheet, text: str, top_mm: float) -> float:
    """A paragraph of plain text over the whole width."""
    lines = sheet.wrap(text, PLAIN, sheet.width_mm)
    return sheet.write_lines(0, top_mm + 3.4, lines, PLAIN, 4.4) - 3.4
