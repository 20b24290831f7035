"""The person's leaflet: the upper half of a sheet of A4 or Letter, in type that a person of 85 reads.

14 points where the words leave room for it, never less than 12; what does not fit is an Overflow, never
smaller type. The lower half stays empty, to be cut off along the dashed line. The same words give the same
bytes: no time and no fact of the machine enters the file. Lengths in mm. Decision page-8.
"""

from contextlib import suppress
from dataclasses import dataclass
from io import BytesIO
from typing import Final

from reportlab.pdfgen.canvas import Canvas

from kiosk.report.figures import identity_mark
from kiosk.report.paper import LINE, MM, QUIET, SMALL_QUIET, SPACINGS, Paper, Style, paper_named
from kiosk.report.sheet import Overflow, Sheet, document
from kiosk.wording.leaflet_words import LeafletWords

TOP_MM: Final = 10.0
TITLE: Final = Style(16, 600)
TITLE_LEFT_MM: Final = 14.0
TITLE_PITCH_MM: Final = 7.0
ABOUT: Final = Style(12, 400, QUIET)
ABOUT_PITCH_MM: Final = 5.6
TO_WRITE_MM: Final = 60.0  # least length of the line for a name and a number
CUT_MM: Final = 0.15


@dataclass(frozen=True)
class Type:
    """Size of the words, distance of lines, and what stands between two paragraphs beyond it."""

    size_pt: float
    pitch_mm: float
    between_mm: float


TYPES: Final = (Type(14, 6.9, 2.6), Type(14, 6.6, 2.0), Type(13, 6.2, 2.0), Type(12.5, 5.9, 1.8),
                Type(12, 5.7, 1.6), Type(12, 5.4, 1.2), Type(12, 5.2, 0.8))


def leaflet(words: LeafletWords, paper: str = "A4") -> bytes:
    """The leaflet as PDF; Overflow where it cannot be half a sheet, Refused for a paper not known."""
    whole = paper_named(paper)
    half, out = half_of(whole), BytesIO()
    size = fitting_type(words, half)
    canvas = _canvas(out, words, whole)
    canvas.translate(0, half.height_mm * MM)
    sheet = Sheet(half, words.script, SPACINGS[0], canvas, words.direction)
    lay_out(sheet, words, size)
    _cut_line(sheet)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def half_of(paper: Paper) -> Paper:
    """The upper half of a sheet."""
    return Paper(paper.name, paper.width_mm, paper.height_mm / 2, paper.side_mm, TOP_MM)


def fitting_type(words: LeafletWords, half: Paper) -> Type:
    """The largest type in which everything stands on the half sheet."""
    for size in TYPES:
        sheet = Sheet(half, words.script, SPACINGS[0], direction=words.direction)
        with suppress(Overflow):
            if lay_out(sheet, words, size) <= foot_top(sheet, words):
                return size
    raise Overflow(f"leaflet, must stand on half a sheet of {half.name}, got more words than fit")


def lay_out(sheet: Sheet, words: LeafletWords, size: Type) -> float:
    """Draw title, paragraphs and the line to write on; return the lower edge of the paragraphs."""
    bottom, style = _head(sheet, words), Style(size.size_pt, 400)
    baseline = bottom + size.pitch_mm + 1.0
    for said in words.paragraphs:
        lines = sheet.wrap(said, style, sheet.width_mm)
        baseline = sheet.write_lines(0, baseline, lines, style, size.pitch_mm) + size.between_mm
    _foot(sheet, words)
    return baseline - size.between_mm - size.pitch_mm + 0.3 * size.size_pt / MM


def foot_top(sheet: Sheet, words: LeafletWords) -> float:
    """The y above which a hand has room to write a name and a number on the line."""
    return _foot_baseline(sheet, words) - 8.0


def _head(sheet: Sheet, words: LeafletWords) -> float:
    """Draw mark, title, place and day; return the lower edge of the rule."""
    identity_mark(sheet, (5.0, 5.0), 5.0)
    room = sheet.width_mm - TITLE_LEFT_MM
    titled = sheet.wrap(words.title, TITLE, room)
    below = sheet.write_lines(TITLE_LEFT_MM, 5.0, titled, TITLE, TITLE_PITCH_MM)
    sheet.write(sheet.width_mm, below - 1.0, words.day, ABOUT, "right")
    place = sheet.wrap(words.place, ABOUT, room - sheet.text_width(words.day, ABOUT) - 4.0)
    below = sheet.write_lines(TITLE_LEFT_MM, below - 1.0, place, ABOUT, ABOUT_PITCH_MM)
    bottom = below - ABOUT_PITCH_MM + 3.0
    sheet.line((0, bottom), (sheet.width_mm, bottom), 0.6)
    return bottom


def _foot(sheet: Sheet, words: LeafletWords) -> None:
    """Contact, a line to write on and the page tag; below them the note that nobody checked the words."""
    baseline, label, strong = _foot_baseline(sheet, words), Style(12, 400), Style(14, 600)
    after = sheet.write(0, baseline, words.contact, label)
    tag_left = sheet.width_mm - sheet.text_width(words.page_tag, strong)
    sheet.write(tag_left, baseline, words.page_tag, strong)
    label_left = tag_left - 2.0 - sheet.text_width(words.tag_label, label)
    sheet.write(label_left, baseline, words.tag_label, label)
    if label_left - after < TO_WRITE_MM:
        raise Overflow(f"leaflet, must leave {TO_WRITE_MM} mm to write on, got {label_left - after:.0f}")
    sheet.line((after + 2.0, baseline + 0.8), (label_left - 6.0, baseline + 0.8), 0.4)
    sheet.write_lines(0, baseline + 5.2, _noted(sheet, words), SMALL_QUIET, 3.6)


def _foot_baseline(sheet: Sheet, words: LeafletWords) -> float:
    return sheet.height_mm - 1.5 - 3.6 * len(_noted(sheet, words))


def _noted(sheet: Sheet, words: LeafletWords) -> list[str]:
    return sheet.wrap(words.note, SMALL_QUIET, sheet.width_mm) if words.note else []


def _cut_line(sheet: Sheet) -> None:
    y, side = sheet.height_mm + TOP_MM, sheet.paper.side_mm
    sheet.line((-side, y), (sheet.width_mm + side, y), CUT_MM, LINE, (2.0, 2.0))


def _canvas(out: BytesIO, words: LeafletWords, paper: Paper) -> Canvas:
    canvas = document(out, paper, words.script, words.language, f"{words.title} {words.page_tag}", ABOUT)
    canvas.setCreator("pursuit-kiosk")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas
