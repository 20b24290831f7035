"""Lines on the page beside the same lines set by Pillow with raqm (HarfBuzz and FriBidi, not ours)."""

import subprocess
from io import BytesIO

import numpy as np
import pytest
from bidi import get_display
from PIL import Image, ImageDraw, ImageFont
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from kiosk.i18n.fonts import font_file
from kiosk.i18n.language import available, load_language
from kiosk.i18n.line_breaking import direction_of
from kiosk.report.bidi import runs_in_order
from kiosk.report.typesetting import SHAPED, draw_line, width_of
from tests.catalogue_texts import said_in
from tests.needed_packages import needs
from tests.text_reference import LINES, SCRIPTS, alike, cropped

SIZE_PT, PX_PER_PT, WEIGHT = 40.0, 2.0, 600
LEAST_ALIKE = 0.94
PITCH_PT = 80.0
poppler = needs("poppler-utils")


def paper(texts):
    """A PDF with one line below the other, each in its script."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=(900.0, PITCH_PT * len(texts)), invariant=1)
    for place, (script, text) in enumerate(texts):
        draw_line(canvas, (20.0, PITCH_PT * (len(texts) - place) - 52.0), text, script, WEIGHT, SIZE_PT)
    canvas.save()
    return out.getvalue()


@pytest.fixture(scope="module")
def printed():
    """Ink of each line as poppler draws the page."""
    asked = ["pdftoppm", "-gray", "-r", str(72 * PX_PER_PT), "-"]
    drawn = subprocess.run(asked, input=paper(LINES), capture_output=True, check=True).stdout
    ink = 255 - np.asarray(Image.open(BytesIO(drawn)), dtype=float)
    pitch = round(PITCH_PT * PX_PER_PT)
    return {line: cropped(ink[place * pitch : (place + 1) * pitch]) for place, line in enumerate(LINES)}


def raqm(script, text):
    font = ImageFont.truetype(
        str(font_file(script, WEIGHT)), SIZE_PT * PX_PER_PT, layout_engine=ImageFont.Layout.RAQM
    )
    image = Image.new("L", (1900, 200))
    way = direction_of(text, SCRIPTS[script][0])
    features = None if script in SHAPED else ["-kern"]
    pen = ImageDraw.Draw(image)
    pen.text((40, 120), text, 255, font, anchor="ls", direction=way, features=features)
    return cropped(np.asarray(image, dtype=float))


@poppler
@pytest.mark.parametrize(("script", "text"), LINES)
def test_a_line_on_paper_looks_as_raqm_draws_it(printed, script, text):
    assert alike(printed[script, text], raqm(script, text)) > LEAST_ALIKE


@poppler
@pytest.mark.parametrize("script", ["arabic", "devanagari"])
def test_the_comparison_sees_a_number_that_reads_backwards(printed, script):
    for right, wrong in (("123", "321"), ("45", "54"), ("(4–8)", "(8–4)"), ("27-KD", "KD-27")):
        for text in [text for text in SCRIPTS[script][1] if right in text]:
            assert alike(printed[script, text], raqm(script, text.replace(right, wrong))) < 0.88


@pytest.mark.parametrize("tag", [tag for tag in available() if load_language(tag).script in SHAPED])
def test_every_message_is_as_wide_as_raqm_sets_it(tag):
    script = load_language(tag).script
    """In whole pixels a glyph; every twentieth message, as raqm is slow."""
    font = ImageFont.truetype(str(font_file(script, 400)), 200, layout_engine=ImageFont.Layout.RAQM)
    for text in said_in(tag)[::20]:
        width_em = font.getlength(text, direction=direction_of(text, load_language(tag).direction)) / 200
        assert width_of(script, 400, text) == pytest.approx(width_em, abs=0.002 * (len(text) + 5)), text


@pytest.mark.parametrize(("script", "text"), LINES)
def test_a_reader_of_the_file_finds_the_words_of_a_line(script, text):
    """Letters alone: where pypdf puts spaces and brackets in right-to-left lines is its own affair."""
    found = PdfReader(BytesIO(paper([(script, text)]))).pages[0].extract_text()
    wanted = [word for word in text.replace("\u200e", "").split() if word.isalpha() or word.isalnum()]
    assert [word for word in wanted if word not in found] == []


# The order of runs beside python-bidi, whose engine is written by others in another language.
def in_order(text, reading):
    shown = (text[run.start : run.end][:: -1 if run.level % 2 else 1] for run in runs_in_order(text, reading))
    return "".join(shown)


@pytest.mark.parametrize("reading", ["rtl", "ltr"])
def test_random_lines_have_the_order_that_python_bidi_gives_them(reading):
    draw = np.random.default_rng(20261125)
    letters = list("اب م١٢3456 45%-(–)[]{}.,:/+$ABz é·\u200e\u200f°")
    for _ in range(4000):
        text = "".join(draw.choice(letters, draw.integers(1, 15)))
        assert in_order(text, reading) == get_display(text, base_dir=reading[0].upper()), ascii(text)


def test_messages_in_arabic_have_the_order_that_python_bidi_gives_them():
    for text in said_in("ar"):
        assert in_order(text, "rtl") == get_display(text, base_dir="R"), ascii(text)


def test_a_code_among_the_values_of_an_arabic_sentence_keeps_its_order():
    arabic = load_language("ar")
    for code in ("27-KD", "7F-KD", "K-0412-7", "2026-11-25"):
        seen = get_display(arabic.say("Leaflet %(tag)s", tag=code), base_dir="R")
        assert code in seen.replace("\u200e", "")


# Unicode Standard Annex 9, section 3.4, example 1 (capitals stand for letters read from right to left).
def test_the_first_example_of_the_annex():
    assert in_order("car means \u05d0\u05d1\u05d2.", "ltr") == "car means \u05d2\u05d1\u05d0."
