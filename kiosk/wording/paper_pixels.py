"""A printed page as pixels: what the report draws and the screens show."""

from dataclasses import dataclass


@dataclass(frozen=True)
class PaperPixels:
    """A printed page as it will look: its sizes on paper and in pixels, RGB bytes in rows from the top."""

    width_mm: float
    height_mm: float
    width_px: int
    height_px: int
    rgb: bytes
