"""One sheet of paper to write and draw on: millimetres from the top left of the live area, y downwards.

Every text is measured with the very font that is embedded, and its box is kept; text that leaves the live
area, or a character that the font lacks, is refused. Without a canvas nothing is drawn: the same code that
draws the page measures it first. Where the language reads from right to left the whole sheet is mirrored:
x is then measured from the right edge, and "left" is where lines begin. Figures keep their sides
(`unmirrored`): only their place is mirrored.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from kiosk.base.errors import Refused
from kiosk.figures.marks import Align, Point
from kiosk.i18n.fonts import DEEP_SCRIPTS, NARROWED
from kiosk.i18n.line_breaking import units
from kiosk.report.paper import MM, PLAIN, TEXT, Paper, Spacing, Style
from kiosk.report.typesetting import draw_line, font_name, missing_characters, registered_font, width_of

ASCENT, DESCENT = 0.75, 0.21  # of the em, as far as letters with an accent-free top and a tail reach
SLACK_MM: Final = 0.05
DEEPER_MM: Final = 0.6
Piece = tuple[str, Style]


class Overflow(ValueError):
    """Something does not fit on the one page."""


@dataclass(frozen=True)
class TextBox:
    """Where a text stands on the live area, mm."""

    text: str
    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float


def document(out: BytesIO, paper: Paper, script: str, language: str, title: str, style: Style) -> Canvas:
    """An empty PDF document; the language is a BCP 47 tag, `style` the first one written in."""
    registered_font(script, style.weight)
    first_font: Any = font_name(script, style.weight)  # typed as a number in the stubs
    canvas = Canvas(out, pagesize=(paper.width_mm * MM, paper.height_mm * MM), invariant=1, pageCompression=1,
                    lang=language, initialFontName=first_font, initialFontSize=style.size_pt)
    rl_config.useA85 = 0  # streams as plain bytes: a fifth smaller, and quicker
    canvas.setTitle(title)
    return canvas


class Drawing:
    """The live area of one page; without a canvas nothing is drawn."""

    def __init__(self, paper: Paper, canvas: Canvas | None, direction: str) -> None:
        self.paper = paper
        self.width_mm, self.height_mm = paper.live_width_mm, paper.live_height_mm
        self._canvas = canvas
        self._mirrored = direction == "rtl"
        self._shift_mm = 0.0  # of what keeps its sides on a mirrored sheet

    @property
    def draws(self) -> bool:
        """Whether there is a canvas; without one the page is only measured."""
        return self._canvas is not None

    @contextmanager
    def unmirrored(self, left_mm: float, right_mm: float) -> Iterator[None]:
        """Draw between these sides without mirroring: the place is mirrored, what is drawn there is not."""
        before = self._mirrored, self._shift_mm
        if self._mirrored:
            self._mirrored, self._shift_mm = False, self.width_mm - right_mm - left_mm
        try:
            yield
        finally:
            self._mirrored, self._shift_mm = before

    def line(
        self, start: Point, end: Point, width_mm: float, colour: str = TEXT, dash_mm: Sequence[float] = ()
    ) -> None:
        """A straight stroke."""
        self.polyline([start, end], width_mm, colour, dash_mm)

    def polyline(
        self, points: Sequence[Point], width_mm: float, colour: str = TEXT, dash_mm: Sequence[float] = ()
    ) -> None:
        """A stroke through points."""
        if self._canvas is None or len(points) < 2:
            return
        self._stroke(self._canvas, width_mm, colour, dash_mm)
        path = self._canvas.beginPath()
        path.moveTo(*self._point(*points[0]))
        for point in points[1:]:
            path.lineTo(*self._point(*point))
        self._canvas.drawPath(path, stroke=1, fill=0)

    def polygon(self, points: Sequence[Point], colour: str) -> None:
        """A filled shape."""
        if self._canvas is None:
            return
        self._canvas.setFillColor(HexColor(colour))
        path = self._canvas.beginPath()
        path.moveTo(*self._point(*points[0]))
        for point in points[1:]:
            path.lineTo(*self._point(*point))
        path.close()
        self._canvas.drawPath(path, stroke=0, fill=1)

    def rectangle(
        self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float, colour: str
    ) -> None:
        self.polygon(
            [(left_mm, top_mm), (right_mm, top_mm), (right_mm, bottom_mm), (left_mm, bottom_mm)], colour
        )

    def disc(self, centre: Point, radius_mm: float, fill: str) -> None:
        if self._canvas is not None:
            self._canvas.setFillColor(HexColor(fill))
            self._canvas.circle(*self._point(*centre), radius_mm * MM, stroke=0, fill=1)

    def ring(self, centre: Point, radius_mm: float, width_mm: float, colour: str) -> None:
        """An open circle; the radius is that of the middle of the stroke."""
        if self._canvas is not None:
            self._stroke(self._canvas, width_mm, colour, ())
            self._canvas.circle(*self._point(*centre), radius_mm * MM, stroke=1, fill=0)

    def hatch(
        self,
        left_mm: float,
        top_mm: float,
        right_mm: float,
        bottom_mm: float,
        colour: str,
        width_mm: float,
        pitch_mm: float,
    ) -> None:
        """Lines at 45 degrees inside a rectangle."""
        if self._canvas is None:
            return
        self._canvas.saveState()
        clip, (x, y), (end, _) = (
            self._canvas.beginPath(),
            *(self._point(side, bottom_mm) for side in (left_mm, right_mm)),
        )
        clip.rect(min(x, end), y, abs(end - x), (bottom_mm - top_mm) * MM)
        self._canvas.clipPath(clip, stroke=0, fill=0)
        rise = right_mm - left_mm
        foot = top_mm
        while foot < bottom_mm + rise:
            self.line((left_mm, foot), (right_mm, foot - rise), width_mm, colour)
            foot += pitch_mm
        self._canvas.restoreState()

    def _stroke(self, canvas: Canvas, width_mm: float, colour: str, dash_mm: Sequence[float]) -> None:
        canvas.setStrokeColor(HexColor(colour))
        canvas.setLineWidth(width_mm * MM)
        canvas.setDash([part * MM for part in dash_mm])

    def _across(self, x_mm: float) -> float:
        """Where an x stands from the sheet's left edge."""
        return self.width_mm - x_mm if self._mirrored else x_mm + self._shift_mm

    def _point(self, x_mm: float, y_mm: float) -> Point:
        across = self.paper.side_mm + self._across(x_mm)
        return (across * MM, (self.paper.height_mm - self.paper.top_mm - y_mm) * MM)


class Sheet(Drawing):
    """The live area of one page; `boxes` holds every text written so far."""

    def __init__(
        self,
        paper: Paper,
        script: str,
        spacing: Spacing,
        canvas: Canvas | None = None,
        direction: str = "ltr",
    ) -> None:
        super().__init__(paper.with_least_margins() if spacing.least_margins else paper, canvas, direction)
        self.script, self.spacing = script, spacing
        self.boxes: list[TextBox] = []
        self.deeper_mm = DEEPER_MM if script in DEEP_SCRIPTS else 0.0  # more between close lines

    def text_width(self, text: str, style: Style) -> float:
        return width_of(self._face(style), style.weight, text) * style.size_pt / MM

    def wrap(self, text: str, style: Style, width_mm: float, first_mm: float | None = None) -> list[str]:
        """Lines no wider than the width, broken at plain spaces and between Chinese characters only.

        Where `first_mm` is given, the first line has only that room and may stay empty.
        """
        space = self.text_width(" ", style)
        room, line, used, lines = width_mm if first_mm is None else first_mm, "", 0.0, []
        for place, (before, unit) in enumerate(units(text)):
            width = self.text_width(unit, style)
            joined = used + (space if before else 0.0) + width if line else width
            if joined <= room or (place == 0 and first_mm is None):
                line, used = f"{line}{before}{unit}" if line else unit, joined
            else:
                lines.append(line)
                line, used, room = unit, width, width_mm
        return [*lines, line]

    def write(self, x_mm: float, baseline_mm: float, text: str, style: Style, align: Align = "left") -> float:
        """Write one line; return the x of its right edge."""
        width = self.text_width(text, style)
        left = x_mm - {"left": 0.0, "centre": width / 2, "right": width}[align]
        self._keep(text, left, baseline_mm, width, style)
        if self._canvas is not None:
            self._canvas.setFillColor(HexColor(style.colour))
            at = self._point(left + width if self._mirrored else left, baseline_mm)
            draw_line(self._canvas, at, text, self._face(style), style.weight, style.size_pt)
        return left + width

    def write_lines(
        self, x_mm: float, baseline_mm: float, lines: Iterable[str], style: Style, pitch_mm: float
    ) -> float:
        """Write lines one below the other; return the baseline after the last."""
        for line in lines:
            self.write(x_mm, baseline_mm, line, style)
            baseline_mm += pitch_mm
        return baseline_mm

    def paragraphs(
        self, x_mm: float, baseline_mm: float, said: Sequence[Sequence[Piece]], run_on: bool
    ) -> float:
        """Small paragraphs of pieces to the right margin, run together on the same lines or not.

        Returns the baseline after the last line.
        """
        whole = [[piece for one in said for piece in one]] if run_on else said
        for pieces in whole:
            baseline_mm = self._flow(x_mm, baseline_mm, pieces)
        return baseline_mm

    def _flow(self, left_mm: float, baseline_mm: float, pieces: Sequence[Piece]) -> float:
        x = left_mm
        for text, style in pieces:
            space = self.text_width(" ", style)
            first, *rest = self.wrap(text, style, self.width_mm - left_mm, self.width_mm - x)
            x = self.write(x, baseline_mm, first, style) + space if first else x
            for line in rest:
                baseline_mm += self.spacing.small_pitch_mm
                x = self.write(left_mm, baseline_mm, line, style) + space
        return baseline_mm + self.spacing.small_pitch_mm if pieces else baseline_mm

    def across(self, lines: Sequence[str], style: Style, degrees: float, alpha: float) -> None:
        """Words across the whole page, on top of everything, faint; kept out of `boxes`."""
        if self._canvas is None:
            return
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(self.paper.width_mm / 2 * MM, self.paper.height_mm / 2 * MM)
        canvas.rotate(degrees)
        canvas.setFillColor(HexColor(style.colour))
        canvas.setFillAlpha(alpha)
        for place, line in enumerate(lines):
            left = -self.text_width(line, style) * MM / 2
            at = (left, (len(lines) / 2 - 0.8 - place) * style.size_pt * 1.1)
            draw_line(canvas, at, line, self._face(style), style.weight, style.size_pt)
        canvas.restoreState()

    def _face(self, style: Style) -> str:
        """The script's font; a narrower one for running text where the spacing says so."""
        narrowed = style.size_pt <= PLAIN.size_pt and self.script in NARROWED
        return self.script + self.spacing.letters if narrowed else self.script

    def _keep(self, text: str, left_mm: float, baseline_mm: float, width_mm: float, style: Style) -> None:
        em_mm, left = style.size_pt / MM, self._across(left_mm + width_mm if self._mirrored else left_mm)
        top, bottom = baseline_mm - ASCENT * em_mm, baseline_mm + DESCENT * em_mm
        box = TextBox(text, left, top, left + width_mm, bottom)
        if box.left_mm < -SLACK_MM or box.right_mm > self.width_mm + SLACK_MM or box.top_mm < -1.5:
            raise Overflow(f"text, must lie between the side margins, got {text!r} at {left_mm:.1f} mm")
        if box.bottom_mm > self.height_mm + 1.0:
            raise Overflow(f"text, must end above the lower margin, got {text!r} at {baseline_mm:.1f} mm")
        self._check_characters(text, style)
        self.boxes.append(box)

    def _check_characters(self, text: str, style: Style) -> None:
        missing = missing_characters(self._face(style), style.weight, text)
        if missing:
            raise Refused("characters_not_in_font", {"characters": " ".join(missing), "script": self.script})
