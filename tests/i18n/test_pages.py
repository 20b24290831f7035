"""The page in every language: one sheet, A4 and Letter, nothing cut and nothing over anything else."""

import re
import subprocess
from io import BytesIO
from itertools import product

import pytest
from pypdf import PdfReader

from kiosk.i18n.language import available, load_language
from kiosk.report.page import fitting_spacing, lay_out, render
from kiosk.report.paper import PAPERS
from kiosk.report.sheet import Sheet
from tests.needed_packages import needs
from tests.report.test_page import overlapping
from tests.wording.page_samples import content, findings, fullest, shortest, values_only

KINDS = {"usual": findings, "fullest": fullest, "shortest": shortest, "values": values_only}
LONG = "en-x-long"  # English, 40 % longer
EVERY = [*product((*available(), LONG), KINDS, PAPERS)]


def laid_out(tag, kind, paper):
    page = content(KINDS[kind](), load_language(tag))
    spacing = fitting_spacing(page, PAPERS[paper])
    sheet = Sheet(PAPERS[paper], page.script, spacing, direction=page.direction)
    lay_out(sheet, page)
    return page, sheet


@pytest.mark.parametrize(("tag", "kind", "paper"), EVERY)
def test_everything_stands_on_one_sheet_and_apart(tag, kind, paper):
    page, sheet = laid_out(tag, kind, paper)
    assert overlapping(sheet.boxes) == []
    written = "".join(box.text for box in sheet.boxes).replace(" ", "")
    for said in (*page.cautions, page.headlines[0].sentence, page.footer):
        assert said.replace(" ", "") in written


@pytest.mark.parametrize(("tag", "paper"), [*product(available(), PAPERS)])
def test_every_language_keeps_its_margins_and_only_longer_words_write_nearer_to_the_edge(tag, paper):
    assert not fitting_spacing(content(fullest(), load_language(tag)), PAPERS[paper]).least_margins
    _, sheet = laid_out(LONG, "fullest", paper)
    assert (sheet.paper.side_mm, sheet.paper.top_mm) == (10.0, 10.0)
    assert all(box.left_mm >= -0.1 and box.right_mm <= sheet.width_mm + 0.1 for box in sheet.boxes)


@pytest.mark.parametrize("tag", [tag for tag in available() if load_language(tag).script != "latin"])
def test_fonts_are_embedded_subsets_in_two_real_weights(tag):
    fonts = PdfReader(BytesIO(render(content(findings(), load_language(tag))))).pages[0]["/Resources"][
        "/Font"
    ]
    found = [font.get_object() for font in fonts.values()]
    assert all(re.match(r"/[A-Z]{6}\+", font["/BaseFont"]) for font in found)
    assert all("/FontFile2" in font["/FontDescriptor"] and "/ToUnicode" in font for font in found)
    inks = {re.sub(r"/[A-Z]{6}\+", "", font["/BaseFont"]) for font in found}
    assert len(inks) >= 2


def test_an_arabic_page_is_mirrored_but_its_scale_is_not():
    page, sheet = laid_out("ar", "usual", "A4")
    boxes = {box.text: box for box in sheet.boxes}
    title, tag = boxes[page.title], boxes[page.page_tag]
    assert title.left_mm > sheet.width_mm / 2 > tag.right_mm
    assert boxes[page.profile.words.poorer].left_mm < boxes[page.profile.words.better].left_mm
    ticks = [boxes[tick.text].left_mm for tick in page.profile.ticks if tick.text in boxes]
    assert len(ticks) > 3 and ticks == sorted(ticks)


# What a reader of the file finds: poppler's pdftotext. Brackets and figures that stand in right-to-left lines
# are its own affair; every word of every caution must be there.
@needs("poppler-utils")
@pytest.mark.parametrize("tag", available())
def test_the_words_of_a_page_are_found_again_in_its_file(tag):
    page = content(findings(), load_language(tag))
    asked = ["pdftotext", "-raw", "-", "-"]
    told = subprocess.run(asked, input=render(page), capture_output=True, check=True).stdout.decode("utf-8")
    told = re.sub(r"[\u202a-\u202e\u200e\u200f\s]", "", told)
    words = [word for said in (*page.cautions, page.title) for word in re.findall(r"[^\W\d_]+", said)]
    missing = [word for word in words if word not in told]
    assert len(words) > 10 and missing == []


def test_the_same_arabic_page_has_the_same_bytes():
    arabic = load_language("ar")
    once, again = (render(content(findings(), arabic)) for _ in range(2))
    render(content(fullest(), arabic))  # its glyphs take codes of their own in between
    assert once == again == render(content(findings(), arabic))
