"""Cut the shipped fonts anew, from the variable fonts they come from: `python -m tests.cut_fonts` (a minute).

Writes every file of kiosk/i18n/font_files/: a static font for each script, width and weight, the licence of
each family (SIL Open Font License 1.1), and sources.json with what each was cut from and what came of it. The
variable fonts come as packages that only testing needs. The same sources and the same fonttools give the same
bytes.

The Chinese source holds 65 thousand glyphs in PostScript outlines, which the page's writer refuses: the
characters of GB 2312, Latin letters and signs are drawn again as TrueType outlines.
"""

import hashlib
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.metadata import distribution
from itertools import chain
from multiprocessing import Pool
from pathlib import Path
from typing import Any

from kiosk.i18n.fonts import FONT_FILES, NARROWED, PAGE_WEIGHTS, SCRIPTS, WEIGHTS, WIDTHS, font_name

SOURCES = "sources.json"
LICENCE = "OFL-1.1"  # as SPDX names it
_LETTERS_AND_SIGNS = (  # in the Chinese font beside GB 2312: Latin, punctuation, arrows, mathematics, shapes
    range(0x0020, 0x0180), range(0x2010, 0x2040), range(0x2190, 0x21B5), range(0x2200, 0x2270),
    range(0x25A0, 0x25D0),
)  # fmt: skip


@dataclass(frozen=True)
class Source:
    """A variable font as a package brings it."""

    package: str
    file: str
    face: int = -1  # of a collection
    redrawn: bool = False

    @property
    def path(self) -> Path:
        return Path(str(distribution(self.package).locate_file(self.package.replace("-", "_")))) / self.file

    @property
    def licence(self) -> str:
        """Its copyright and licence, without a heading about the package."""
        files = distribution(self.package).files or ()
        (told,) = (file for file in files if file.parent.name == "licenses" and file.name == "LICENSE")
        text = told.read_text("utf-8")
        return text[text.index("Copyright") :]


VARIABLE = {
    "latin": Source("fontpkg-noto-sans", "files/NotoSans[wdth,wght].ttf"),
    "arabic": Source("fontpkg-noto-sans-arabic", "files/NotoSansArabic[wdth,wght].ttf"),
    "devanagari": Source("fontpkg-noto-sans-devanagari", "files/NotoSansDevanagari[wdth,wght].ttf"),
    # Face 2 has the shapes of simplified Chinese; the others have those of other countries.
    "chinese": Source("manimgx-fonts-cjk", "NotoSansCJK-VF.otf.ttc", face=2, redrawn=True),
}


def every_font() -> list[tuple[str, int]]:
    """Every script in every weight; the narrow ones, for the page alone, in its two."""
    narrow = [script + width for script in NARROWED for width in WIDTHS if width]
    wide = [(script, weight) for script in reversed(SCRIPTS) for weight in WEIGHTS]
    return wide + [(script, weight) for script in narrow for weight in PAGE_WEIGHTS]


def cut(script: str, weight: int, folder: Path) -> Path:
    """One static font, from its source."""
    path = folder / font_name(script, weight)
    with _opened(script) as font:
        made = _redrawn if VARIABLE[_plain(script)].redrawn else _instance
        made(script, weight, font).save(path)
    return path


def cut_all(folder: Path) -> None:
    """Every font with its licence, on all processors."""
    folder.mkdir(parents=True, exist_ok=True)
    with Pool() as pool:
        pool.starmap(cut, [(script, weight, folder) for script, weight in every_font()], chunksize=1)
    for script, source in VARIABLE.items():
        (folder / licence_name(script)).write_text(source.licence, "utf-8", newline="\n")
    told = json.dumps(sources(folder), indent=2, ensure_ascii=False) + "\n"
    (folder / SOURCES).write_text(told, "utf-8", newline="\n")


def licence_name(script: str) -> str:
    return f"OFL-{_family(script)}.txt"


def sources(folder: Path) -> dict[str, dict[str, object]]:
    """Family of files -> what it was cut from, and the hashes of its files in a folder."""
    return {_family(script): {**_source(script), "files": _hashes(script, folder)} for script in SCRIPTS}


def gb2312() -> frozenset[str]:
    """The characters of the Chinese standard GB 2312-80: 6763 Chinese ones, letters and signs."""
    rows = (bytes((row, cell)) for row in range(0xA1, 0xF8) for cell in range(0xA1, 0xFF))
    return frozenset("".join(two.decode("gb2312", "ignore") for two in rows))


def characters_kept(script: str, font: Any) -> dict[int, str]:
    """Code point -> name of the glyph, of all that a cut holds."""
    known: dict[int, str] = font.getBestCmap()
    if not VARIABLE[_plain(script)].redrawn:
        return known
    kept = {*map(ord, gb2312()), *chain.from_iterable(_LETTERS_AND_SIGNS)}
    return {code: known[code] for code in sorted(kept & set(known))}


def _plain(script: str) -> str:
    return script.partition("-")[0]


def _family(script: str) -> str:
    return font_name(script, WEIGHTS[0]).rpartition("-")[0]


def _source(script: str) -> dict[str, str]:
    source = VARIABLE[script]
    with _opened(script) as font:
        names = {number: str(font["name"].getDebugName(number)) for number in (1, 5)}
    return {
        "source": names[1],
        "version": names[5].removeprefix("Version ").partition(";")[0],
        "copyright": source.licence.splitlines()[0],
        "licence": LICENCE,
        "licence_file": licence_name(script),
        "taken_from": f"{source.package} {distribution(source.package).version}",
        "source_file": Path(source.file).name,
        "source_sha256": _sha256(source.path),
    }


def _hashes(script: str, folder: Path) -> dict[str, str]:
    names = (font_name(one, weight) for one, weight in every_font() if _plain(one) == script)
    return {name: _sha256(folder / name) for name in sorted(names)}


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


@contextmanager
def _opened(script: str) -> Iterator[Any]:
    from fontTools.ttLib import TTFont

    source = VARIABLE[_plain(script)]
    with TTFont(source.path, fontNumber=source.face, recalcTimestamp=False) as font:
        yield font


def _instance(script: str, weight: int, source: Any) -> Any:
    from fontTools.varLib.instancer import instantiateVariableFont

    at = {"wght": weight, "wdth": WIDTHS[script.removeprefix(_plain(script))]}
    return instantiateVariableFont(source, at, inplace=True, updateFontNames=True)


def _redrawn(script: str, weight: int, source: Any) -> Any:
    """The kept characters as TrueType outlines, within a thousandth of an em, without kerning."""
    from fontTools.fontBuilder import FontBuilder

    kept = characters_kept(script, source)
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
    cut_all(FONT_FILES)
