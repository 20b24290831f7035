"""The paths of all trials in a row, one scale for all: the disc's path in grey, the hand's in dark."""

from kiosk.figures.path_picture import PAPER, path_picture
from kiosk.report.figures import draw
from kiosk.report.paper import SECTION, SMALL, SMALL_QUIET
from kiosk.report.sheet import Sheet
from kiosk.wording.page_parts import PathSection

PITCH_MM = 18.1



def paths_part(sheet: Sheet, section: PathSection, top_mm: float, size_mm: float) -> float:
    """Title, figures, labels; the lower edge."""
    after = sheet.write(0, top_mm + 3.9, section.title, SECTION)
    sheet.write(after + 3.0, top_mm + 3.9, section.explanation, SMALL_QUIET)
    if not section.figures:
        return top_mm + 5.0
    pitch = min(PITCH_MM, sheet.width_mm / len(section.figures))
    size, top = min(size_mm, pitch - 1.0), top_mm + 5.4
    for place, figure in enumerate(section.figures if sheet.draws else ()):
        centre = (place * pitch + pitch / 2, -(top + size / 2))
        with sheet.unmirrored(place * pitch, (place + 1) * pitch):
            draw(sheet, path_picture(figure, centre, size, PAPER))
    return _labels(sheet, section, pitch, top + size + 3.2)


def _labels(sheet: Sheet, section: PathSection, pitch_mm: float, baseline_mm: float) -> float:
    """Labels under the figures, on two lines where one does not hold them."""
    wrapped = [sheet.wrap(figure.label, SMALL, pitch_mm - 0.2) for figure in section.figures]
    for place, lines in enumerate(wrapped):
        for down, line in enumerate(lines):
            sheet.write(place * pitch_mm + pitch_mm / 2, baseline_mm + down * 3.1, line, SMALL, "centre")
    return baseline_mm + (max(len(lines) for lines in wrapped) - 1) * 3.1 + 0.8
