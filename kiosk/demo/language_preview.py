"""A language on the kiosk's own screens and page: what does not fit, and everything beside English.

Screens are laid out and drawn in a process of their own, since a process has one window; the page is that of
the demo, whose person, clinic and reference table are invented. Decision languages-5.
"""

import json
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from subprocess import run
from tempfile import TemporaryDirectory
from typing import Final

from PIL import Image

from kiosk.base.errors import Fault, MissingSystemPackages
from kiosk.base.interruption import end_quietly
from kiosk.base.system_packages import Use, missing
from kiosk.demo.picture_day import staff_shots
from kiosk.i18n.catalogue_file import catalogue_path
from kiosk.i18n.language import SOURCE_TAG, load_language
from kiosk.report.pixels import paper_pixels

BETWEEN_PX: Final = 24
PAGE_DPI: Final = 100.0


def screen_faults(tag: str, folder: Path) -> list[Fault]:
    """What a language does not fit on the real screens of both panels; refused where none can be drawn."""
    if lacking := missing(Use.WINDOW):
        raise MissingSystemPackages([one.name for one in lacking])
    ran = _here("kiosk.demo.language_preview", tag, folder=folder)
    path = str(catalogue_path(tag, folder))
    return [Fault(path, None, screen, rule, value) for screen, rule, value in json.loads(ran)]


def write_preview(tag: str, folder: Path, out: Path) -> int:
    """Every screen beside its English one, and the demo's page in both; how many pictures."""
    out.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as scratch:
        drawn = Path(scratch)
        wanted = ("--languages", f"{SOURCE_TAG},{tag}", "--themes", "dark", "--panels", "A")
        _here("kiosk", "pictures", "--out", scratch, *wanted, folder=folder)
        made = sum(_pair(drawn, name, tag, out) for name in _names(drawn))
    for one in (SOURCE_TAG, tag):
        _page(one, folder, out)
    _pages_side_by_side(out, tag)
    return made + 1


def _names(drawn: Path) -> Iterator[str]:
    ending = f"-{SOURCE_TAG}-dark-A.png"
    return (path.name.removesuffix(ending) for path in sorted(drawn.glob(f"*{ending}")))


def _pair(drawn: Path, name: str, tag: str, out: Path) -> int:
    pictures = [drawn / f"{name}-{one}-dark-A.png" for one in (SOURCE_TAG, tag)]
    if not pictures[1].is_file():
        return 0
    side_by_side([Image.open(picture).convert("RGB") for picture in pictures], out / f"{name}.png")
    return 1


def side_by_side(drawn: list[Image.Image], out: Path) -> None:
    """Pictures from left to right in one file."""
    width = sum(one.width for one in drawn) + BETWEEN_PX * (len(drawn) - 1)
    sheet, x = Image.new("RGB", (width, max(one.height for one in drawn)), "white"), 0
    for one in drawn:
        sheet.paste(one, (x, 0))
        x += one.width + BETWEEN_PX
    sheet.save(out)


def _page(tag: str, folder: Path, out: Path) -> None:
    with TemporaryDirectory() as scratch:
        _here("kiosk", "demo", "--no-window", "--page-language", tag, "--out", scratch, folder=folder)
        shutil.copyfile(Path(scratch, "report.pdf"), out / f"page-{tag}.pdf")


def _pages_side_by_side(out: Path, tag: str) -> None:
    """The two pages in one picture."""
    pages = [paper_pixels((out / f"page-{one}.pdf").read_bytes(), PAGE_DPI) for one in (SOURCE_TAG, tag)]
    drawn = [Image.frombytes("RGB", (one.width_px, one.height_px), one.rgb) for one in pages]
    side_by_side(drawn, out / "page.png")


def _here(module: str, *arguments: str, folder: Path) -> str:
    """What a module of this program prints, run with these catalogues."""
    found = {"PURSUIT_LOCALES": str(folder.resolve()), "PYTHONPATH": os.pathsep.join(sys.path)}
    environment = os.environ | found | {"KIVY_NO_ARGS": "1"}
    asked = [sys.executable, "-P", "-m", module, *arguments]
    ran = run(asked, check=True, capture_output=True, encoding="utf-8", env=environment)
    return ran.stdout


def _print_faults(tag: str) -> None:
    from kiosk.screens.walk import layout_faults

    language = load_language(tag)
    with TemporaryDirectory() as pages:
        found = layout_faults(language, staff_shots([language], Path(pages)))
    print(json.dumps([(fault.screen, fault.rule, fault.value) for fault in found]))


if __name__ == "__main__":
    end_quietly()
    _print_faults(sys.argv[1])
