"""What screens show of paper: a page as pixels, made from the bytes that are printed, and QR codes.

In memory only: nothing is written. Decision page-5.
"""

from typing import Any, Final

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

from kiosk.wording.page_parts import PaperPixels

DPI: Final = 150.0
POINTS_PER_INCH: Final = 72.0


def paper_pixels(pdf: bytes, dpi: float = DPI) -> PaperPixels:
    """The first page of a PDF drawn on white at so many pixels an inch."""
    from pypdfium2 import PdfDocument  # a tenth of a second, and most starts of the program show no page

    with PdfDocument(pdf) as document:
        page = document[0]
        drawn = page.render(scale=dpi / POINTS_PER_INCH, rev_byteorder=True).to_numpy()
        width_mm, height_mm = (points / POINTS_PER_INCH * 25.4 for points in page.get_size())
    height_px, width_px, _ = drawn.shape
    return PaperPixels(width_mm, height_mm, width_px, height_px, drawn[:, :, :3].tobytes())


def qr_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """A QR code (ISO/IEC 18004) that holds the text: rows from the top, True = dark, without its quiet zone.

    The smallest one with error correction level M.
    """
    code: Any = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    side = code.getModuleCount()
    return tuple(tuple(bool(code.isDark(row, column)) for column in range(side)) for row in range(side))
