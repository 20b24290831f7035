"""Shaped glyphs in the file: written by number, read back as the letters they stand for.

Each glyph has, with its letters, a code of its own in the font that is embedded, and the font's ToUnicode map
says which letters a code stands for. Where several glyphs stand for some letters together, those are written
round them as replacement text (ActualText; ISO 32000-1, 14.9.4).
"""

from collections.abc import Sequence
from typing import Any

from reportlab.pdfbase.ttfonts import SUBSETN, TTFont
from reportlab.pdfgen.canvas import Canvas

from kiosk.report.shaping import Cluster

_FIRST_CODE = 0xF0000  # codes for glyphs: a plane of Unicode that no text uses
_MOST_IN_A_BLOCK = 100  # characters in one block of a ToUnicode map
_SAME_PLACE_EM = 5e-4


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
        """How far the pen moves after a glyph where no neighbour changes it."""
        return float(self.face.hmetrics[number][0]) / float(self.face.unitsPerEm)

    def addObjects(self, doc: Any) -> None:  # noqa: N802 - the writer's name
        """What the writer puts into the file, with letters in place of our codes."""
        subsets = [list(subset) for subset in self.state[doc].subsets]
        super().addObjects(doc)
        for n, subset in enumerate(subsets):
            name = b"".join((SUBSETN(n), b"+", self.face.name, self.face.subfontNameX)).decode("pdfdoc")
            said = [self._letters.get(code, chr(code) if code else "") for code in subset]
            doc.idToObject[f"toUnicodeCMap:{name}"].content = to_unicode_map(name, said)


class GlyphPen:
    """Writes clusters on the canvas; those of one glyph with its own breadth run on in one string."""

    def __init__(self, canvas: Canvas, font: GlyphFont, at_pt: tuple[float, float], size_pt: float) -> None:
        self.canvas, self.font, self.at_pt, self.size_pt = canvas, font, at_pt, size_pt
        self.out: Any = canvas.beginText()
        self.out.setFont(font.fontName, size_pt)

    def write(self, clusters: Sequence[Cluster]) -> None:
        """All clusters of a line."""
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
        """Glyphs that only together stand for letters; a space ends them where the cluster ends."""
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
