"""Lines of text on paper: their widths in em, their letters shaped by HarfBuzz, and the glyphs in the file.

One static font for each script and weight. Letters of Latin and Chinese stand side by side as the file of the
font sets them; Arabic and Devanagari are shaped: a line is cut into runs by direction and script, each run is
shaped, and glyphs that stand for the same letters (a letter and its dots, a syllable) are kept together with
them as a cluster. Lengths are em, x from the line's left edge, y up from its baseline.

In the file each shaped glyph has, with its letters, a code of its own in the font that is embedded, and the
font's ToUnicode map says which letters a code stands for, so that a reader of the file finds the words. Where
several glyphs stand for some letters together, those are written round them as replacement text (ActualText;
ISO 32000-1, 14.9.4). Decisions languages-2, languages-3.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import groupby
from typing import Any

import uharfbuzz
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import SUBSETN, TTFont
from reportlab.pdfgen.canvas import Canvas

from kiosk.i18n.fonts import font_file
from kiosk.i18n.line_breaking import direction_of
from kiosk.report.bidi import Run, runs_in_order

READ_FROM = {"arabic": "rtl"}
SHAPED = frozenset({"arabic", "devanagari"})  # scripts whose letters change with their neighbours
NOT_SEEN = frozenset("\u200c\u200d\u200e\u200f")  # joiners and direction marks: they steer, and draw nothing
_SCRIPTS = (("Arab", 0x0600, 0x0780), ("Arab", 0xFB50, 0xFE00), ("Arab", 0xFE70, 0xFF00),
            ("Deva", 0x0900, 0x0980), ("Deva", 0xA8E0, 0xA900))  # fmt: skip
_FIRST_CODE = 0xF0000  # codes for glyphs: a plane of Unicode that no text uses
_MOST_IN_A_BLOCK = 100  # characters in one block of a ToUnicode map
_SAME_PLACE_EM = 5e-4
Placed = tuple[uharfbuzz.GlyphInfo, uharfbuzz.GlyphPosition]


@lru_cache(maxsize=8192)
def width_of(script: str, weight: int, text: str) -> float:
    """Width of a line in em."""
    if is_shaped(script):
        return shaped(script, weight, text, line_direction(script, text)).width_em
    return float(registered_font(script, weight).stringWidth(text, 1.0))


def draw_line(
    canvas: Canvas, at_pt: tuple[float, float], text: str, script: str, weight: int, size_pt: float
) -> None:
    """Draw a line of text whose left end is at a point."""
    font = registered_font(script, weight)
    canvas.setFont(font.fontName, size_pt)
    if not isinstance(font, GlyphFont):
        canvas.drawString(*at_pt, text)
        return
    writer = ClusterWriter(canvas, font, at_pt, size_pt)
    writer.write(shaped(script, weight, text, line_direction(script, text)).clusters)


@lru_cache(maxsize=8192)
def missing_characters(script: str, weight: int, text: str) -> tuple[str, ...]:
    """The characters of a text that the font lacks."""
    known = registered_font(script, weight).face.charToGlyph
    unseen = NOT_SEEN if is_shaped(script) else frozenset()
    return tuple(sorted({letter for letter in text if ord(letter) not in known and letter not in unseen}))


def font_name(script: str, weight: int) -> str:
    """The name under which a script and weight are registered."""
    return f"kiosk-{script}-{weight}"


@cache
def registered_font(script: str, weight: int) -> TTFont:
    """The font, loaded once for all pages of this process."""
    made = GlyphFont if is_shaped(script) else TTFont
    font = made(font_name(script, weight), str(font_file(script, weight)))
    pdfmetrics.registerFont(font)
    return font


def line_direction(script: str, text: str) -> str:
    """Which way a line in a script is read: "ltr" or "rtl"."""
    return direction_of(text, READ_FROM.get(script.partition("-")[0], "ltr"))


@dataclass(frozen=True)
class Glyph:
    """One glyph of a font, by its number, and where its origin stands."""

    number: int
    x_em: float
    y_em: float


@dataclass(frozen=True)
class Cluster:
    """The glyphs that stand for some letters together: where they begin and their advance."""

    letters: str
    x_em: float
    advance_em: float
    glyphs: tuple[Glyph, ...]


@dataclass(frozen=True)
class ShapedLine:
    """The clusters of a line from left to right."""

    clusters: tuple[Cluster, ...]
    width_em: float


def is_shaped(script: str) -> bool:
    """Whether the letters of a script, or of its narrow font, change with their neighbours."""
    return script.partition("-")[0] in SHAPED


@lru_cache(maxsize=8192)
def shaped(script: str, weight: int, text: str, direction: str) -> ShapedLine:
    """A line shaped in the font of one script, read in a direction ("ltr", "rtl")."""
    face = _face(script, weight)
    x, clusters = 0.0, []
    for run in runs_in_order(text, direction):
        parts = list(_parts_of_one_script(text, run))
        for start, end, written in reversed(parts) if run.level % 2 else parts:
            clusters += _shape(face, text, Run(start, end, run.level), written, x)
            x = clusters[-1].x_em + clusters[-1].advance_em if clusters else x
    return ShapedLine(tuple(clusters), x)


@lru_cache(maxsize=16)
def _face(script: str, weight: int) -> uharfbuzz.Face:
    return uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(font_file(script, weight))))


def _parts_of_one_script(text: str, run: Run) -> Iterator[tuple[int, int, str]]:
    """A run cut where the script of its letters changes; signs and digits go with the letters before."""
    written, at = "Latn", run.start
    named = []
    for letter in text[run.start : run.end]:
        written = _script_of(letter) or written
        named.append(written)
    for one, group in groupby(named):
        n = sum(1 for _ in group)
        yield at, at + n, one
        at += n


def _script_of(letter: str) -> str | None:
    code = ord(letter)
    found = next((name for name, first, after in _SCRIPTS if first <= code < after), None)
    return found or ("Latn" if letter.isalpha() else None)


def _shape(face: uharfbuzz.Face, text: str, run: Run, written: str, x_em: float) -> list[Cluster]:
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text, run.start, run.end - run.start)
    buffer.direction = "rtl" if run.level % 2 else "ltr"
    buffer.script, buffer.language = written, "und"
    buffer.flags = uharfbuzz.BufferFlags.REMOVE_DEFAULT_IGNORABLES
    uharfbuzz.shape(uharfbuzz.Font(face), buffer)
    placed = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
    starts = sorted({info.cluster for info, _ in placed})
    ends = dict(zip(starts, [*starts[1:], run.end], strict=True))
    found = []
    for start, together in groupby(placed, key=lambda one: one[0].cluster):
        letters = "".join(one for one in text[start : ends[start]] if one not in NOT_SEEN)
        found.append(_cluster(letters, list(together), x_em, face.upem))
        x_em += found[-1].advance_em
    return found


def _cluster(letters: str, placed: Sequence[Placed], x_em: float, units_in_em: int) -> Cluster:
    glyphs, end = [], x_em
    for info, position in placed:
        at = end + position.x_offset / units_in_em
        glyphs.append(Glyph(info.codepoint, at, position.y_offset / units_in_em))
        end += position.x_advance / units_in_em
    return Cluster(letters, x_em, end - x_em, tuple(glyphs))


class GlyphFont(TTFont):
    """A font whose glyphs are written by number, and read back as the letters they stand for."""

    def __init__(self, name: str, file: str) -> None:
        super().__init__(name, file, asciiReadable=False)
        self._codes: dict[tuple[int, str], int] = {}
        self._letters: dict[int, str] = {}

    def code_of(self, number: int, letters: str) -> str:
        """The character that stands for a glyph with its letters in this font's texts."""
        key = (number, letters)
        if key not in self._codes:
            code = _FIRST_CODE + len(self._codes)
            self._codes[key], self._letters[code] = code, letters
            self.face.charToGlyph[code] = number
            self.face.charWidths[code] = self.own_advance_em(number) * 1000
        return chr(self._codes[key])

    def own_advance_em(self, number: int) -> float:
        """A glyph's advance by itself, unchanged by its neighbours."""
        return float(self.face.hmetrics[number][0]) / float(self.face.unitsPerEm)

    def addObjects(self, doc: Any) -> None:  # noqa: N802 - the writer's name
        """Add the font to the file, with a ToUnicode map of letters in place of our codes."""
        subsets = [list(subset) for subset in self.state[doc].subsets]
        super().addObjects(doc)
        for n, subset in enumerate(subsets):
            name = b"".join((SUBSETN(n), b"+", self.face.name, self.face.subfontNameX)).decode("pdfdoc")
            said = [self._letters.get(code, chr(code) if code else "") for code in subset]
            doc.idToObject[f"toUnicodeCMap:{name}"].content = to_unicode_map(name, said)


class ClusterWriter:
    """Writes clusters on the canvas; those of one glyph with its own advance run on in one string."""

    def __init__(self, canvas: Canvas, font: GlyphFont, at_pt: tuple[float, float], size_pt: float) -> None:
        self.canvas, self.font, self.at_pt, self.size_pt = canvas, font, at_pt, size_pt
        self.out: Any = canvas.beginText()  # marked content has no method of its own there
        self.out.setFont(font.fontName, size_pt)

    def write(self, clusters: Sequence[Cluster]) -> None:
        """Write all clusters of a line."""
        run: list[Cluster] = []
        for cluster in clusters:
            if not self._is_plain(cluster):
                self._run(run)
                self._composed(cluster)
                run = []
                continue
            if run and abs(run[-1].advance_em - self._own(run[-1])) > _SAME_PLACE_EM:
                self._run(run)
                run = []
            run.append(cluster)
        self._run(run)
        self.canvas.drawText(self.out)

    def _is_plain(self, cluster: Cluster) -> bool:
        first, *more = cluster.glyphs
        return not more and first.y_em == 0 and abs(first.x_em - cluster.x_em) <= _SAME_PLACE_EM

    def _own(self, cluster: Cluster) -> float:
        return self.font.own_advance_em(cluster.glyphs[0].number)

    def _run(self, clusters: Sequence[Cluster]) -> None:
        if clusters:
            said = "".join(self.font.code_of(one.glyphs[0].number, one.letters) for one in clusters)
            self._put(clusters[0].x_em, 0.0, said)

    def _composed(self, cluster: Cluster) -> None:
        """Write glyphs that only together stand for letters; a space moves on to where the cluster ends."""
        end = cluster.x_em + cluster.advance_em
        glyphs = sorted(cluster.glyphs, key=lambda one: abs(one.x_em - cluster.x_em))
        letters = f"\ufeff{cluster.letters}".encode("utf-16-be").hex()
        self.out._code.append(f"/Span <</ActualText <{letters}>>> BDC")
        for place, glyph in enumerate(glyphs):
            said = self.font.code_of(glyph.number, "" if place else cluster.letters)
            self._put(glyph.x_em, glyph.y_em, said)
        space = self.font.face.charToGlyph[32]
        self._put(end - self.font.own_advance_em(space), 0.0, self.font.code_of(space, ""))
        self.out._code.append("EMC")

    def _put(self, x_em: float, y_em: float, said: str) -> None:
        x, y = self.at_pt
        self.out.setTextOrigin(x + x_em * self.size_pt, y + y_em * self.size_pt)
        self.out.textOut(said)


def to_unicode_map(name: str, said: Sequence[str]) -> str:
    """The table by which a reader turns the font's one-byte codes into letters (ISO 32000-1, 9.10.3)."""
    lines = [f"<{code:02X}> <{letters.encode('utf-16-be').hex()}>" for code, letters in enumerate(said)]
    blocks = [lines[at : at + _MOST_IN_A_BLOCK] for at in range(0, len(lines), _MOST_IN_A_BLOCK)]
    mapped = "\n".join(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        f"/CIDSystemInfo << /Registry ({name}) /Ordering ({name}) /Supplement 0 >> def\n"
        f"/CMapName /{name} def\n/CMapType 2 def\n"
        f"1 begincodespacerange\n<00> <FF>\nendcodespacerange\n{mapped}\n"
        "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    )
