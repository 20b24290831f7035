"""Script -> font file: static cuts of the variable fonts, one file for each weight.

The toolkit cannot choose a weight inside a variable font, and the page's writer merges weights that
bear one name, so each weight is cut to a file of its own with its own name. Cuts are made once, at
set-up (``python -m kiosk.fonts``), or on demand; the name of a cut carries the version of its source,
so that a newer font is cut anew.
"""

import os
from functools import cache
from importlib.metadata import version
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from multiprocessing import Pool
from pathlib import Path
from tempfile import NamedTemporaryFile

from kiosk.errors import Refused
from kiosk.settings import fonts_folder

WEIGHTS = (400, 500, 600)
WIDTH = 100
_SOURCES = {
    "latin": ("fontpkg-noto-sans", "NotoSans[wdth,wght].ttf"),
    "arabic": ("fontpkg-noto-sans-arabic", "NotoSansArabic[wdth,wght].ttf"),
    "devanagari": ("fontpkg-noto-sans-devanagari", "NotoSansDevanagari[wdth,wght].ttf"),
}
SCRIPTS = tuple(_SOURCES)


def font_file(script: str, weight: int, folder: Path | None = None) -> Path:
    """The static font of a script and weight; refused where it has not been cut."""
    path = _place(script, weight, fonts_folder() if folder is None else folder)
    if not path.is_file():
        raise Refused("font_not_cut", {"script": script, "weight": weight, "file": path.name})
    return path


def cut(script: str, weight: int, folder: Path | None = None) -> Path:
    """Cut one script and weight unless that is done already."""
    path = _place(script, weight, fonts_folder() if folder is None else folder)
    if not path.is_file():
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_cut(script, weight, path)
    return path


def cut_all(folder: Path | None = None) -> tuple[Path, ...]:
    """Every script in every weight, as set-up does, on all processors."""
    jobs = [(script, weight, folder) for script in SCRIPTS for weight in WEIGHTS]
    with Pool() as pool:
        return tuple(pool.starmap(cut, jobs, chunksize=1))


@cache
def characters(script: str) -> frozenset[str]:
    """Every character that the font of a script can draw; the same in all its weights."""
    from fontTools.ttLib import TTFont

    with as_file(_source(script)) as source, TTFont(source) as font:
        return frozenset(map(chr, font.getBestCmap()))


def _source(script: str) -> Traversable:
    package, name = _SOURCES[script]
    return files(package.replace("-", "_")) / "files" / name


def _place(script: str, weight: int, folder: Path) -> Path:
    if script not in _SOURCES:
        raise Refused("script_unknown", {"script": script, "known": SCRIPTS})
    if weight not in WEIGHTS:
        raise Refused("weight_unknown", {"weight": weight, "known": WEIGHTS})
    package, _ = _SOURCES[script]
    return folder / f"{package.removeprefix('fontpkg-')}-{version(package)}-{weight}.ttf"


def _write_cut(script: str, weight: int, path: Path) -> None:
    from fontTools.ttLib import TTFont
    from fontTools.varLib.instancer import instantiateVariableFont

    with as_file(_source(script)) as source:
        font = TTFont(source, recalcTimestamp=False)
        instantiateVariableFont(font, {"wght": weight, "wdth": WIDTH}, inplace=True, updateFontNames=True)
        with NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as part:
            font.save(part)
    os.chmod(part.name, 0o644)
    os.replace(part.name, path)


if __name__ == "__main__":
    cut_all()
