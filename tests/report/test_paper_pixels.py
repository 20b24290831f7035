"""A page's own pixels: of the right size, and what another program makes of the same bytes.

Source of the sizes: ISO 216 (A4, 210 x 297 mm), ANSI/ASME Y14.1 (Letter, 8.5 x 11 in); an inch is 25.4 mm.
"""

import subprocess
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from kiosk.i18n.language import load_language
from kiosk.report.page import render
from kiosk.report.pixels import paper_pixels
from tests.needed_packages import needs
from tests.wording.page_samples import content, findings

poppler = needs("poppler-utils")


@pytest.mark.parametrize(("paper", "size_mm"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_a_page_has_its_paper_s_size_and_150_pixels_an_inch(paper, size_mm):
    found = paper_pixels(render(content(findings()), paper))
    assert (found.width_mm, found.height_mm) == pytest.approx(size_mm, abs=0.01)
    assert (found.width_px, found.height_px) == pytest.approx([mm / 25.4 * 150 for mm in size_mm], abs=1.0)
    assert len(found.rgb) == found.width_px * found.height_px * 3


@poppler
@pytest.mark.parametrize("tag", ["en", "ar"])
def test_another_program_makes_the_same_picture_of_the_page(tag):
    pdf = render(content(findings(), load_language(tag)))
    ours = paper_pixels(pdf, 75.0)
    asked = ["pdftoppm", "-png", "-r", "75", "-"]
    theirs = Image.open(BytesIO(subprocess.run(asked, input=pdf, capture_output=True, check=True).stdout))
    ours_px = np.frombuffer(ours.rgb, np.uint8).reshape(ours.height_px, ours.width_px, 3).astype(float)
    fitted = theirs.convert("RGB").resize((ours.width_px, ours.height_px))
    theirs_px = np.asarray(fitted, dtype=float)
    ink = [float((255.0 - one).mean()) for one in (ours_px, theirs_px)]
    assert ink[0] == pytest.approx(ink[1], rel=0.1) and ink[0] > 2.0
    told = np.corrcoef(blurred(ours_px), blurred(theirs_px))[0, 1]
    turned = np.corrcoef(blurred(ours_px), blurred(theirs_px[:, ::-1]))[0, 1]
    assert told > 0.96 > turned


def blurred(pixels):
    """Means of squares of 6 x 6, since two programs smooth edges each in their way."""
    rows, columns = (size // 6 * 6 for size in pixels.shape[:2])
    return pixels[:rows, :columns].reshape(rows // 6, 6, columns // 6, 6, 3).mean(axis=(1, 3)).ravel()


def test_colours_are_red_green_blue():
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    canvas = Canvas(out, pagesize=(72, 72))
    canvas.setFillColorRGB(1.0, 0.5, 0.0)
    canvas.rect(0, 36, 72, 36, stroke=0, fill=1)
    canvas.save()
    found = paper_pixels(out.getvalue(), 72.0)
    rows = np.frombuffer(found.rgb, np.uint8).reshape(72, 72, 3)
    assert rows[10, 36].tolist() == pytest.approx([255, 128, 0], abs=1)
    assert rows[60, 36].tolist() == [255, 255, 255]
