"""Every screen of the kiosk as a picture, and a contact sheet a panel.

The staff's screens are those of a simulated day (kiosk.demo.picture_day); nothing here is a real person's.
One process a panel, because a process has one window.
"""

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from subprocess import run
from tempfile import TemporaryDirectory
from typing import Final

from PIL import Image

from kiosk.base.interruption import end_quietly
from kiosk.base.settings import PACKAGE
from kiosk.demo.picture_day import staff_shots
from kiosk.i18n.language import load_language
from kiosk.touch.calibration import Panel

PANELS: Final[tuple[Panel, ...]] = ("A", "B")
SHEET_COLUMNS: Final = 6
THUMB_PX: Final = 320


def write_pictures(out: Path, tags: Sequence[str], themes: Sequence[str], panels: Sequence[Panel]) -> int:
    """The pictures and a contact sheet a panel, in a folder; how many pictures."""
    out.mkdir(parents=True, exist_ok=True)
    for panel in panels:
        command = [sys.executable, "-P", "-m", "kiosk.demo.picture_book", str(out), ",".join(tags),
                   ",".join(themes), panel]
        run(command, check=True, env={**os.environ, "PYTHONPATH": str(PACKAGE.parent)})
    return sum(contact_sheet(out, panel) for panel in panels)


def contact_sheet(out: Path, panel: Panel) -> int:
    """All pictures of a panel on one sheet; how many."""
    pictures = sorted(path for path in out.glob(f"*-{panel}.png") if not path.name.startswith("sheet-"))
    thumbs = [_thumb(path) for path in pictures]
    if not thumbs:
        return 0
    wide, high = thumbs[0].size
    rows = -(-len(thumbs) // SHEET_COLUMNS)
    sheet = Image.new("RGB", (SHEET_COLUMNS * wide, rows * high))
    for number, thumb in enumerate(thumbs):
        sheet.paste(thumb, (number % SHEET_COLUMNS * wide, number // SHEET_COLUMNS * high))
    sheet.save(out / f"sheet-{panel}.png")
    return len(thumbs)


def _thumb(path: Path) -> Image.Image:
    with Image.open(path) as picture:
        high = round(THUMB_PX * picture.height / picture.width)
        return picture.convert("RGB").resize((THUMB_PX, high), Image.Resampling.LANCZOS)


def _draw_panel(out: Path, tags: Sequence[str], themes: Sequence[str], panel: Panel) -> None:
    from kiosk.screens.pictures import render_panel

    languages = [load_language(tag) for tag in tags]
    with TemporaryDirectory() as pages:
        render_panel(out, languages, themes, panel, staff=staff_shots(languages, Path(pages)))


if __name__ == "__main__":
    end_quietly()
    _draw_panel(Path(sys.argv[1]), sys.argv[2].split(","), sys.argv[3].split(","),
                sys.argv[4])  # type: ignore[arg-type]
