"""The paths of all trials in a row, one scale for all: the disc's path in grey, the hand's in dark."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from kiosk.report.drawing import Point
from kiosk.report.paper import DATA, LINE, SECTION, SMALL, SMALL_QUIET
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import PathFigure, PathSection

PITCH_MM = 18.1
SPAN_MM = 100.0  # millimetres of glass that one figure shows
CLIP_MM = 56.0  # a hand further out than this from the centre is drawn at the edge
MOST_POINTS = 600


def paths_part(sheet: Sheet, section: PathSection, top_mm: float, size_mm: float) -> float:
    """Title, figures, labels; the lower edge."""
    after = sheet.write(0, top_mm + 3.9, section.title, SECTION)
    sheet.write(after + 3.0, top_mm + 3.9, section.explanation, SMALL_QUIET)
    if not section.figures:
        return top_mm + 5.0
    pitch = min(PITCH_MM, sheet.width_mm / len(section.figures))
    size, top = min(size_mm, pitch - 1.0), top_mm + 5.4
    for place, figure in enumerate(section.figures if sheet.draws else ()):
        centre = (place * pitch + pitch / 2, top + size / 2)
        with sheet.unmirrored(place * pitch, (place + 1) * pitch):
            _figure(sheet, figure, centre, size)
    return _labels(sheet, section, pitch, top + size + 3.2)


def _figure(sheet: Sheet, figure: PathFigure, centre: Point, size_mm: float) -> None:
    for points, width, colour in ((figure.target_xy_mm, 0.45, LINE), (figure.hand_xy_mm, 0.3, DATA)):
        for piece in pieces(points):
            sheet.polyline(_on_paper(piece, centre, size_mm), width, colour)


def pieces(points: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """The runs of points between breaks (rows of NaN), thinned alike."""
    known = np.asarray(np.isfinite(points).all(axis=1))
    borders = np.flatnonzero(np.diff(known.astype(int))) + 1
    step = max(1, len(points) // MOST_POINTS)
    for run in np.split(np.arange(len(points)), borders):
        if run.size and known[run[0]]:
            yield points[np.unique([*run[::step], run[-1]])]


def _on_paper(points: NDArray[np.float64], centre: Point, size_mm: float) -> list[Point]:
    scale = size_mm / SPAN_MM
    cut = np.clip(points, -CLIP_MM, CLIP_MM)
    return [(centre[0] + x * scale, centre[1] - y * scale) for x, y in cut.tolist()]


def _labels(sheet: Sheet, section: PathSection, pitch_mm: float, baseline_mm: float) -> float:
    """Labels under the figures, on two lines where one does not hold them."""
    wrapped = [sheet.wrap(figure.label, SMALL, pitch_mm - 0.2) for figure in section.figures]
    for place, lines in enumerate(wrapped):
        for down, line in enumerate(lines):
            sheet.write(place * pitch_mm + pitch_mm / 2, baseline_mm + down * 3.1, line, SMALL, "center")
    return baseline_mm + (max(len(lines) for lines in wrapped) - 1) * 3.1 + 0.8
