"""The real kiosk's first screen under a display of its own: `python -m tests.bare.window PICTURE.png`."""

import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from tests.outside.kiosk_process import KioskProcess

CLOCK = (slice(0, 120), slice(1100, None))  # rows, columns, where the time of day stands
FEWEST_SHADES, MOST_DIFFERENT = 50, 0.002
SAME_WITHIN = 24  # of 255: two machines may draw an edge a shade apart


def look(picture: Path) -> None:
    """Start the kiosk, save what it shows, end it."""
    with tempfile.TemporaryDirectory() as folder:
        kiosk = KioskProcess(Path(folder), opened=False)
        try:
            Image.fromarray(kiosk.picture()).save(picture)
        finally:
            kiosk.close()


def faults(inside: Path, outside: Path) -> list[str]:
    """What is wrong with a picture beside the same screen's picture from another machine."""
    one, other = (_without_clock(picture) for picture in (inside, outside))
    shades = len(np.unique(one.reshape(-1, 3), axis=0))
    if one.shape != other.shape:
        return [f"the window is {one.shape}, not {other.shape}"]
    different = float((np.abs(one - other).max(axis=2) > SAME_WITHIN).mean())
    found = [f"only {shades} shades are shown"] if shades < FEWEST_SHADES else []
    if different > MOST_DIFFERENT:
        found.append(f"{different:.1%} of the pixels are not those of the same screen outside")
    return found


def _without_clock(picture: Path) -> np.ndarray:
    pixels = np.asarray(Image.open(picture).convert("RGB")).astype(np.int16)
    pixels[CLOCK] = 0
    return pixels


if __name__ == "__main__":
    look(Path(sys.argv[1]))
