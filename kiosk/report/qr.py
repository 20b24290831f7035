"""The modules of a QR code (ISO/IEC 18004), by reportlab's encoder: rows from the top, True = dark."""

from typing import Any

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel


def qr_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The smallest code that holds the text with error correction level M, without its quiet zone."""
    code: Any = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    side = code.getModuleCount()
    return tuple(tuple(bool(code.isDark(row, column)) for column in range(side)) for row in range(side))
