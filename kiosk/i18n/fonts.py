"""Script -> font file: static cuts of the variable fonts, one file for each weight.

The toolkit cannot choose a weight inside a variable font, and the page's writer merges weights that
bear one name, so each weight is cut to a file of its own with its own name. Cuts are made once, at
set-up (``python -m kiosk.i18n.fonts``), or on demand; the name of a cut carries the version of its source,
so that a newer font is cut anew.

The Chinese source holds 65 thousand glyphs in PostScript outlines, which the page's writer refuses: the
characters of GB 2312 (6763 Chinese ones), Latin letters and signs are drawn again as TrueType outlines.

Decision languages-1.
"""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from importlib.metadata import version
from importlib.resources import as_file, files
from itertools import chain
from multiprocessing import Pool
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

from kiosk.base.errors import Refused
from kiosk.base.settings import fonts_folder

WEIGHTS = (400, 500, 600)
PAGE_WEIGHTS = (400, 600)
_SOURCES = {
    "latin": ("fontpkg-noto-sans", "files/NotoSans[wdth,wght].ttf"),
    "arabic": ("fontpkg-noto-sans-arabic", "files/NotoSansArabic[wdth,wght].ttf"),
    "devanagari": ("fontpkg-noto-sans-devanagari", "files/NotoSansDevanagari[wdth,wght].ttf"),
    "chinese": ("manimgx-fonts-cjk", "NotoSansCJK-VF.otf.ttc"),
}
_WIDTHS = {"": 100, "-narrow": 75, "-narrowest": 62.5}  # for a page that has much to say
_SIMPLIFIED = {"chinese": 2}  # which face of a collection; the others have the shapes of other countries
_LETTERS_AND_SIGNS = (  # in the Chinese font beside GB 2312: Latin, punctuation, arrows, mathematics, shapes
    range(0x0020, 0x0180), range(0x2010, 0x2040), range(0x2190, 0x21B5), range(0x2200, 0x2270),
    range(0x25A0, 0x25D0),
)  # fmt: skip
SCRIPTS = tuple(_SOURCES)
DEEP_SCRIPTS = ("arabic", "devanagari")  # their letters reach further down: lines stand further apart
NARROWED = tuple(script for script in SCRIPTS if script != "chinese")


def font_file(script: str, weight: int, folder: Path | None = None) -> Path:
    """The static font of a script ("latin", "latin-narrow") and weight; refused where it has not been cut."""
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
    """Every script in every weight, as set-up does, on all processors; the narrow ones for the page alone."""
    jobs = [(script, weight, folder) for script in reversed(SCRIPTS) for weight in WEIGHTS]
    narrow = [script + width for script in NARROWED for width in _WIDTHS if width]
    jobs += [(script, weight, folder) for script in narrow for weight in PAGE_WEIGHTS]
    with Pool() as pool:
        return tuple(pool.starmap(cut, jobs, chunksize=1))


@cache
def characters(script: str) -> frozenset[str]:
    """Every character that the font of a script can draw; the same in all its weights."""
    with _opened(script) as source:
        return frozenset(map(chr, _characters_kept(script, source)))


def gb2312() -> frozenset[str]:
    """The characters of the Chinese standard GB 2312-80: 6763 Chinese ones, letters and signs."""
    rows = (bytes((row, cell)) for row in range(0xA1, 0xF8) for cell in range(0xA1, 0xFF))
    return frozenset("".join(two.decode("gb2312", "ignore") for two in rows))


@contextmanager
def _opened(script: str) -> Iterator[Any]:
    from fontTools.ttLib import TTFont

    package, name = _SOURCES[script.partition("-")[0]]
    place = files(package.replace("-", "_")) / name
    face = _SIMPLIFIED.get(script, -1)
    with as_file(place) as path, TTFont(path, fontNumber=face, recalcTimestamp=False) as font:
        yield font


def _characters_kept(script: str, font: Any) -> dict[int, str]:
    """Code point -> name of the glyph, of all that a cut holds."""
    known: dict[int, str] = font.getBestCmap()
    if script not in _SIMPLIFIED:
        return known
    kept = {*map(ord, gb2312()), *chain.from_iterable(_LETTERS_AND_SIGNS)}
    return {code: known[code] for code in sorted(kept & set(known))}


def _place(script: str, weight: int, folder: Path) -> Path:
    plain, _, narrow = script.partition("-")
    if plain not in SCRIPTS or (narrow and (plain not in NARROWED or f"-{narrow}" not in _WIDTHS)):
        raise Refused("script_unknown", {"script": script, "known": SCRIPTS})
    if weight not in WEIGHTS:
        raise Refused("weight_unknown", {"weight": weight, "known": WEIGHTS})
    package, _ = _SOURCES[plain]
    width = script.removeprefix(plain)
    return folder / f"{package.removeprefix('fontpkg-')}-{version(package)}{width}-{weight}.ttf"


def _write_cut(script: str, weight: int, path: Path) -> None:
    with _opened(script) as source, NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as part:
        made = _redrawn if script in _SIMPLIFIED else _instance
        made(script, weight, source).save(part)
    os.chmod(part.name, 0o644)
    os.replace(part.name, path)


def _instance(script: str, weight: int, source: Any) -> Any:
    from fontTools.varLib.instancer import instantiateVariableFont

    at = {"wght": weight, "wdth": _WIDTHS[script.removeprefix(script.partition("-")[0])]}
    return instantiateVariableFont(source, at, inplace=True, updateFontNames=True)


def _redrawn(script: str, weight: int, source: Any) -> Any:
    """The kept characters as TrueType outlines, within a thousandth of an em, without kerning."""
    from fontTools.fontBuilder import FontBuilder

    kept = _characters_kept(script, source)
    names = [".notdef", *dict.fromkeys(kept.values())]
    glyphs, widths = _outlines(names, source.getGlyphSet(location={"wght": weight}))
    drawn = FontBuilder(source["head"].unitsPerEm, isTTF=True)
    drawn.setupGlyphOrder(names)
    drawn.setupCharacterMap(kept)
    drawn.setupGlyf(glyphs)
    drawn.setupHorizontalMetrics({name: (widths[name], drawn.font["glyf"][name].xMin) for name in names})
    drawn.setupHorizontalHeader(ascent=source["hhea"].ascent, descent=source["hhea"].descent)
    _name_it(drawn, weight, source)
    return drawn.font


def _outlines(names: Sequence[str], shapes: Any) -> tuple[dict[str, Any], dict[str, int]]:
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs = {}
    for name in names:
        pen = TTGlyphPen(None)
        shapes[name].draw(Cu2QuPen(pen, max_err=1.0, reverse_direction=True))
        glyphs[name] = pen.glyph()
    return glyphs, {name: round(shapes[name].width) for name in names}


def _name_it(drawn: Any, weight: int, source: Any) -> None:
    family = "Noto Sans SC"
    called = {"familyName": family, "styleName": f"{weight}", "fullName": f"{family} {weight}"}
    drawn.setupNameTable({**called, "uniqueFontIdentifier": f"{family} {weight}", "version": "Version 1"})
    drawn.font["name"].setName(f"NotoSansSC-{weight}", 6, 3, 1, 0x409)
    kept = ("sTypoAscender", "sTypoDescender", "usWinAscent", "usWinDescent", "sCapHeight", "sxHeight")
    metrics = {name: getattr(source["OS/2"], name) for name in kept}
    drawn.setupOS2(usWeightClass=weight, **metrics)
    drawn.setupPost()
    drawn.font["head"].created = drawn.font["head"].modified = source["head"].modified
    drawn.font.recalcTimestamp = False


if __name__ == "__main__":
    cut_all()
