"""A page of ours as pixels, from the very bytes that are printed. In memory only: nothing is written."""

from typing import Final

from kiosk.wording.paper_pixels import PaperPixels

DPI: Final = 150.0
POINTS_PER_INCH: Final = 72.0


def paper_pixels(pdf: bytes, dpi: float = DPI) -> PaperPixels:
    """The first page of a PDF on white, so many pixels an inch."""
    from pypdfium2 import PdfDocument  # a tenth of a second, and most starts of the program show no page

    with PdfDocument(pdf) as document:
        page = document[0]
        drawn = page.render(scale=dpi / POINTS_PER_INCH, rev_byteorder=True).to_numpy()
        width_mm, height_mm = (points / POINTS_PER_INCH * 25.4 for points in page.get_size())
    height_px, width_px, _ = drawn.shape
    return PaperPixels(width_mm, height_mm, width_px, height_px, drawn[:, :, :3].tobytes())
