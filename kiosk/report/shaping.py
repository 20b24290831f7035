"""A line of any script as glyphs where they stand: runs by direction and script, each shaped by HarfBuzz.

Lengths are em, x from the line's left edge, y up from its baseline. Glyphs that stand for the same letters
(a letter and its dots, a syllable) are kept together with them, so that a reader of the file finds the words.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Any

import uharfbuzz

from kiosk.i18n.fonts import font_file
from kiosk.report.bidi import Run, runs_in_order

SHAPED = frozenset({"arabic", "devanagari"})  # scripts whose letters change with their neighbours
NOT_SEEN = frozenset("\u200c\u200d\u200e\u200f")  # joiners and direction marks: they steer, and draw nothing
_SCRIPTS = (("Arab", 0x0600, 0x0780), ("Arab", 0xFB50, 0xFE00), ("Arab", 0xFE70, 0xFF00),
            ("Deva", 0x0900, 0x0980), ("Deva", 0xA8E0, 0xA900))  # fmt: skip


@dataclass(frozen=True)
class Glyph:
    """One glyph of a font, by its number, and where its origin stands."""

    number: int
    x_em: float
    y_em: float


@dataclass(frozen=True)
class Cluster:
    """What stands for some letters together: its glyphs, where it begins, and how far it reaches."""

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
    """A line in one script's font, read in a direction ("ltr", "rtl")."""
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


def _cluster(letters: str, placed: list[Any], x_em: float, units_in_em: int) -> Cluster:
    glyphs, pen = [], x_em
    for info, position in placed:
        at = pen + position.x_offset / units_in_em
        glyphs.append(Glyph(info.codepoint, at, position.y_offset / units_in_em))
        pen += position.x_advance / units_in_em
    return Cluster(letters, x_em, pen - x_em, tuple(glyphs))
