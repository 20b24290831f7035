"""The page against a bare page of the same writer: `python -m tests.benchmarks.page_cost`. Not a test.

The bare page is replayed from the page's own PDF: as many texts in the same fonts, the same strokes and fills
through the same points, compressed alike, with nothing measured, wrapped, shaped or placed. Fonts are read
once before either is timed. Both are alternated; the median of the rounds counts.
"""

import time
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

from kiosk.cli import composition
from kiosk.report.page import render
from kiosk.report.paper import SMALL
from kiosk.report.sheet import document
from kiosk.wording.page_parts import PageContent
from tests.benchmarks.figure import Figure, print_figures

ROUNDS, REPEATS = 7, 5


def third_visit(language_tag: str) -> PageContent:
    """The page of the demo's third visit."""
    kept: list[Any] = []
    write = composition.write_demo
    composition.write_demo = lambda out, conclusions, *rest: kept.extend(conclusions)
    try:
        with TemporaryDirectory() as folder:
            composition.run_demo(Path(folder) / "out", seed=7, visits=3, language_tag="en", window=False,
                                 store=None, tell_code=print, page_tag=language_tag)
    finally:
        composition.write_demo = write
    return kept[-1].content


def operations(pdf: bytes) -> Iterator[tuple[str, list[Any]]]:
    """The drawing operators of the page, each with its operands."""
    reader = PdfReader(BytesIO(pdf))
    content = ContentStream(reader.pages[0].get_contents(), reader)
    for operands, operator in content.operations:
        yield operator.decode("latin-1"), list(operands)


def bare_page(pdf: bytes, content: PageContent) -> Callable[[], bytes]:
    """A function that draws as much as the page does, straight through the writer."""
    calls, fonts, size = list(operations(pdf)), sorted(_fonts_of(content)), SMALL.size_pt
    texts = 0

    def draw() -> bytes:
        nonlocal texts
        out = BytesIO()
        canvas = document(out, _paper(), content.script, content.language, content.title, SMALL)
        path = canvas.beginPath()
        for operator, operands in calls:
            if operator in ("Tj", "TJ"):
                texts += 1
                canvas.setFont(fonts[texts % len(fonts)], size)
                canvas.drawString(100.0, 100.0 + texts % 500, _letters(operands))
            elif operator == "m":
                path.moveTo(float(operands[0]), float(operands[1]))
            elif operator == "l":
                path.lineTo(float(operands[0]), float(operands[1]))
            elif operator == "c":
                path.curveTo(*(float(one) for one in operands))
            elif operator == "re":
                path.rect(*(float(one) for one in operands))
            elif operator == "h":
                path.close()
            elif operator in ("S", "f", "f*", "B", "n", "s", "b"):
                canvas.drawPath(path, stroke=operator in "SsBb", fill=operator[0] in "fBb")
                path = canvas.beginPath()
        canvas.showPage()
        canvas.save()
        return out.getvalue()

    return draw


def _letters(operands: list[Any]) -> str:
    """As many letters as this text shows glyphs."""
    shown = operands[0] if isinstance(operands[0], list) else operands
    glyphs = sum(len(one) for one in shown if isinstance(one, (str, bytes)))
    return ("The finger followed the moving disc " * 8)[:max(glyphs, 1)]


def _fonts_of(content: PageContent) -> set[str]:
    from reportlab.pdfbase import pdfmetrics

    render(content)
    return {name for name in pdfmetrics.getRegisteredFontNames() if name not in pdfmetrics.standardFonts}


def _paper() -> Any:
    from kiosk.report.paper import paper_named

    return paper_named("A4")


def milliseconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    for _ in range(REPEATS):
        work()
    return (time.perf_counter() - began) / REPEATS * 1000


def figures() -> Iterator[Figure]:
    """The ratio in three languages: plain letters, long words, shaped letters from right to left."""
    for tag in ("en", "de", "ar"):
        content = third_visit(tag)
        pdf = render(content)
        bare = bare_page(pdf, content)
        bare()
        pairs = [(milliseconds(lambda content=content: render(content)), milliseconds(bare))
                 for _ in range(ROUNDS)]
        yield Figure(f"page ({tag})", median(ours / plain for ours, plain in pairs), "x", 2.0,
                     "a bare page with the same drawing")


if __name__ == "__main__":
    print_figures(figures())
