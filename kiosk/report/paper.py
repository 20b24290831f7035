"""Paper, type, colours and strokes of the page. Millimetres; type in points; nothing under 8 pt."""

from dataclasses import dataclass, replace
from typing import Final

from kiosk.base.errors import Refused

MM: Final = 72.0 / 25.4  # points in a millimetre


@dataclass(frozen=True)
class Paper:
    """A sheet and its margins; the live area lies between them."""

    name: str
    width_mm: float
    height_mm: float
    side_mm: float
    top_mm: float

    @property
    def live_width_mm(self) -> float:
        """Width between the side margins."""
        return self.width_mm - 2 * self.side_mm

    @property
    def live_height_mm(self) -> float:
        """Height between the margins at top and bottom."""
        return self.height_mm - 2 * self.top_mm

    def with_least_margins(self) -> "Paper":
        """The same sheet, written on nearer to its edges."""
        return replace(self, side_mm=LEAST_MARGIN_MM, top_mm=LEAST_MARGIN_MM)


PAPERS: Final = {
    "A4": Paper("A4", 210.0, 297.0, 15.0, 15.0),
    "Letter": Paper("Letter", 215.9, 279.4, 18.0, 15.0),
}
LEAST_MARGIN_MM: Final = 10.0  # printers leave 4 to 7 blank; holes for a file reach to 15


def paper_named(name: str) -> Paper:
    """The paper of this name; Refused `paper_unknown` for another."""
    if name not in PAPERS:
        raise Refused("paper_unknown", {"paper": name, "known": tuple(PAPERS)})
    return PAPERS[name]


TEXT: Final = "#14232A"
QUIET: Final = "#38474E"
LINE: Final = "#6B787C"
DATA: Final = "#0B465B"
TARGET: Final = "#AD5C00"
TINT: Final = "#E6ECEE"
WHITE: Final = "#FFFFFF"


@dataclass(frozen=True)
class Style:
    """A size in points, a weight and a colour."""

    size_pt: float
    weight: int
    colour: str = TEXT


TITLE: Final = Style(14, 600)
SECTION: Final = Style(11, 600)
IDENTITY: Final = Style(9.5, 600)
PLAIN: Final = Style(9, 400)
STRONG: Final = Style(9, 600)
SMALL: Final = Style(8, 400)
SMALL_QUIET: Final = Style(8, 400, QUIET)
SMALL_STRONG: Final = Style(8, 600)
WATERMARK: Final = Style(66, 600)

PITCH_MM: Final = 4.4  # of 9 pt lines
SECTION_PITCH_MM: Final = 5.0


@dataclass(frozen=True)
class Spacing:
    """What gives way when much has to be said: gaps, rows, chart, paragraphs, margins; type sizes never do.

    With `run_notes` the notes of a part follow each other on the same line, with `run_cautions` the cautions;
    `letters` names a narrower font for running text, of the same size (a fifth, a third narrower). Margins
    come last: what stands in them may be lost to the holes of a file.
    """

    gap_mm: float
    row_mm: float
    chart_mm: float
    paths_mm: float
    run_notes: bool = False
    run_cautions: bool = False
    small_pitch_mm: float = 3.5
    letters: str = ""
    least_margins: bool = False


SPACINGS: Final = (
    Spacing(5.5, 7.0, 38.0, 17.0, small_pitch_mm=3.8),
    Spacing(4.5, 7.0, 38.0, 17.0),
    Spacing(4.0, 6.4, 36.0, 17.0),
    Spacing(3.5, 5.8, 33.0, 17.0),
    Spacing(3.0, 5.4, 31.0, 17.0),
    Spacing(2.8, 5.2, 30.0, 16.0, run_notes=True),
    Spacing(2.5, 5.0, 28.0, 15.0, run_notes=True),
    Spacing(2.5, 5.0, 28.0, 15.0, run_notes=True, run_cautions=True),
    Spacing(2.2, 4.7, 26.0, 13.0, run_notes=True, run_cautions=True, small_pitch_mm=3.4),
    Spacing(1.6, 4.2, 23.5, 9.0, run_notes=True, run_cautions=True, small_pitch_mm=3.3),
    Spacing(1.2, 4.0, 22.0, 8.0, run_notes=True, run_cautions=True, small_pitch_mm=3.2),
    Spacing(1.0, 3.9, 20.5, 7.0, run_notes=True, run_cautions=True, small_pitch_mm=3.15),
    Spacing(0.9, 3.8, 19.5, 6.0, run_notes=True, run_cautions=True, small_pitch_mm=3.1),
    Spacing(2.2, 4.7, 26.0, 13.0, run_notes=True, run_cautions=True, small_pitch_mm=3.4, letters="-narrow"),
    Spacing(1.6, 4.2, 23.5, 9.0, run_notes=True, run_cautions=True, small_pitch_mm=3.3, letters="-narrow"),
    Spacing(1.0, 3.9, 20.5, 7.0, run_notes=True, run_cautions=True, small_pitch_mm=3.15, letters="-narrow"),
    Spacing(1.6, 4.2, 23.5, 9.0, run_notes=True, run_cautions=True, small_pitch_mm=3.3, letters="-narrowest"),
    Spacing(0.9, 3.8, 19.5, 6.0, run_notes=True, run_cautions=True, small_pitch_mm=3.1, letters="-narrowest"),
    Spacing(1.0, 3.9, 20.5, 7.0, run_notes=True, run_cautions=True, small_pitch_mm=3.15, letters="-narrow",
            least_margins=True),
    Spacing(0.9, 3.8, 19.5, 6.0, run_notes=True, run_cautions=True, small_pitch_mm=3.1, letters="-narrowest",
            least_margins=True),
)
