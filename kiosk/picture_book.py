"""Every screen of the kiosk as a picture, and a contact sheet a panel.

The desk's screens stand as at the beginning of a day; nothing here is a real person's. One process a panel,
because a process has one window.
"""

import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from subprocess import run
from typing import Final

from PIL import Image

from kiosk.glass.calibration import Panel
from kiosk.language import Language, load_language
from kiosk.visits.desk_state import DeskState
from kiosk.wording.staff_parts import StaffView
from kiosk.wording.staff_words import PLAIN, staff_view

PANELS: Final[tuple[Panel, ...]] = ("A", "B")
MORNING: Final = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)
SHEET_COLUMNS: Final = 6
THUMB_PX: Final = 320


def write_pictures(out: Path, tags: Sequence[str], themes: Sequence[str], panels: Sequence[Panel]) -> int:
    """The pictures and a contact sheet a panel, in a folder; how many pictures."""
    out.mkdir(parents=True, exist_ok=True)
    for panel in panels:
        command = [sys.executable, "-P", "-m", "kiosk.picture_book", str(out), ",".join(tags),
                   ",".join(themes), panel]
        run(command, check=True)
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


def staff_views(language: Language) -> Iterator[tuple[str, StaffView]]:
    """The desk's screens that need no concluded visit, as they stand when the kiosk begins its day."""
    state = DeskState("locked", MORNING, MORNING, languages=("en", language.tag), language=language.tag)
    for screen in PLAIN:
        yield screen, staff_view(replace(state, screen=screen), language)  # type: ignore[arg-type]


def _thumb(path: Path) -> Image.Image:
    with Image.open(path) as picture:
        high = round(THUMB_PX * picture.height / picture.width)
        return picture.convert("RGB").resize((THUMB_PX, high), Image.Resampling.LANCZOS)


def _draw_panel(out: Path, tags: Sequence[str], themes: Sequence[str], panel: Panel) -> None:
    from kiosk.screens.pictures import render_panel

    for tag in tags:
        language = load_language(tag)
        render_panel(out, [language], themes, panel, staff=tuple(staff_views(language)))


if __name__ == "__main__":
    _draw_panel(Path(sys.argv[1]), sys.argv[2].split(","), sys.argv[3].split(","),
                sys.argv[4])  # type: ignore[arg-type]
