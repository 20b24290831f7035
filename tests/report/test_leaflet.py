"""The leaflet on paper: half a sheet in every language, in large type, its words found again in the file."""

import re
import subprocess
from datetime import date
from io import BytesIO
from itertools import product

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from kiosk.base.errors import Refused
from kiosk.i18n.language import available, load_language
from kiosk.report.leaflet import TO_WRITE_MM, TYPES, fitting_type, foot_top, half_of, lay_out, leaflet
from kiosk.report.paper import PAPERS, SPACINGS
from kiosk.report.sheet import Overflow, Sheet
from kiosk.wording.leaflet_words import leaflet_words
from tests.needed_packages import needs
from tests.report.test_page import overlapping

PLACE = "Outpatient department of the invented clinic behind the harbour, second floor, room 4"
TAGS = (*available(), "en-x-long")
EVERY = list(product(TAGS, PAPERS))
LEAST_PT = 12.0  # common practice for print that older people read; no source
POPPLER = needs("poppler-utils")


def words_in(tag, rights=""):
    return leaflet_words(date(2026, 11, 25), PLACE, "7F-KD", load_language(tag), rights)


def laid_out(words, paper):
    half = half_of(PAPERS[paper])
    sheet = Sheet(half, words.script, SPACINGS[0], direction=words.direction)
    return sheet, lay_out(sheet, words, fitting_type(words, half))


def squeezed(text):
    return re.sub(r"[\u202a-\u202e\u200e\u200f\s]", "", text)


@pytest.mark.parametrize(("tag", "paper"), EVERY)
def test_everything_stands_apart_on_the_half_sheet_with_room_for_a_hand(tag, paper):
    words = words_in(tag)
    sheet, bottom = laid_out(words, paper)
    half_mm = PAPERS[paper].height_mm / 2
    assert overlapping(sheet.boxes) == []
    for box in sheet.boxes:
        assert box.left_mm >= -0.05 and box.right_mm <= sheet.width_mm + 0.05, box
        assert box.top_mm >= 0 and sheet.paper.top_mm + box.bottom_mm <= half_mm - 5.0, box
    contact = next(box for box in sheet.boxes if box.text == words.contact)
    last = max(box.bottom_mm for box in sheet.boxes if box.top_mm < contact.top_mm - 1.0)
    assert contact.top_mm - last >= 3.0 and bottom <= foot_top(sheet, words)
    written = squeezed("".join(box.text for box in sheet.boxes))
    for said in (words.title, words.place, words.day, *words.paragraphs, words.tag_label, words.page_tag):
        assert squeezed(said) in written


@pytest.mark.parametrize(("tag", "paper"), EVERY)
def test_the_words_are_large_enough_for_old_eyes_in_the_file_itself(tag, paper):
    words = words_in(tag)
    page = PdfReader(BytesIO(leaflet(words, paper))).pages[0]
    sizes = [float(size) for size in re.findall(rb"/F\S+ ([\d.]+) Tf", page.get_contents().get_data())]
    assert max(sizes) >= 14 and [size for size in sizes if size < LEAST_PT] == ([8.0] if words.note else [])


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("tag", ["en", "de", "ar"])
@POPPLER
def test_the_lower_half_of_the_printed_sheet_is_empty(tag, paper):
    pdf = leaflet(words_in(tag), paper)
    whole, ran = PAPERS[paper], ["pdftoppm", "-r", "60", "-gray", "-png", "-"]
    drawn = subprocess.run(ran, input=pdf, capture_output=True, check=True).stdout
    picture = Image.open(BytesIO(drawn)).convert("L")
    assert picture.size == pytest.approx((whole.width_mm / 25.4 * 60, whole.height_mm / 25.4 * 60), abs=1.5)
    half = picture.height // 2
    upper, lower = (picture.crop((0, top, picture.width, top + half - 4)) for top in (0, half + 4))
    assert lower.getextrema() == (255, 255) and upper.getextrema()[0] < 60
    ink = upper.point(lambda grey: 255 if grey < 128 else 0).getbbox()
    assert ink[0] > picture.width * 0.06 and ink[2] < picture.width * 0.94


@POPPLER
@pytest.mark.parametrize(("tag", "at_the_right"), [("en", False), ("hi", False), ("ar", True)])
def test_the_amber_mark_stands_where_lines_begin(tag, at_the_right):
    drawn = subprocess.run(["pdftoppm", "-r", "40", "-png", "-"], input=leaflet(words_in(tag)),
                           capture_output=True, check=True).stdout
    picture = Image.open(BytesIO(drawn)).convert("RGB")
    red, _, blue = np.moveaxis(np.asarray(picture, dtype=int), 2, 0)
    across = np.nonzero(red - blue > 100)[1]
    assert across.size > 20 and bool(np.all((across > picture.width / 2) == at_the_right))


@POPPLER
@pytest.mark.parametrize("tag", available())
def test_the_words_are_found_again_in_the_file(tag):
    words = words_in(tag)
    asked = ["pdftotext", "-raw", "-", "-"]
    read = subprocess.run(asked, input=leaflet(words), capture_output=True, check=True).stdout
    told = squeezed(read.decode("utf-8"))
    if words.script == "latin":
        for said in (words.title, *words.paragraphs, words.page_tag):
            assert squeezed(said) in told
    every = [word for said in (words.title, *words.paragraphs) for word in re.findall(r"[^\W\d_]+", said)]
    assert len(every) > 10 and [word for word in every if word not in told] == []


def test_an_arabic_leaflet_begins_at_the_right():
    words = words_in("ar")
    sheet, _ = laid_out(words, "A4")
    boxes = {box.text: box for box in sheet.boxes}
    assert boxes[words.contact].right_mm == pytest.approx(sheet.width_mm, abs=0.1)
    assert boxes[words.page_tag].left_mm == pytest.approx(0.0, abs=0.1)
    starts = [box.right_mm for box in sheet.boxes if box.text and words.paragraphs[0].startswith(box.text)]
    assert starts == [pytest.approx(sheet.width_mm, abs=0.1)]


@pytest.mark.parametrize("tag", ["en", "ar", "hi", "zh-Hans"])
def test_language_title_and_embedded_subsets(tag):
    words = words_in(tag)
    found = PdfReader(BytesIO(leaflet(words)))
    root = found.trailer["/Root"]
    assert len(found.pages) == 1 and root["/Lang"] == tag
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert found.metadata.title == f"{words.title} 7F-KD"
    fonts = [font.get_object() for font in found.pages[0]["/Resources"]["/Font"].values()]
    assert fonts and all(re.match(r"/[A-Z0-9]{6}\+", font["/BaseFont"]) for font in fonts)
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


@pytest.mark.parametrize("tag", ["en", "ar"])
def test_the_same_words_give_the_same_bytes_and_others_give_others(tag):
    once = leaflet(words_in(tag))
    leaflet(words_in("hi"))
    assert once == leaflet(words_in(tag)) != leaflet(words_in(tag, "another sentence"))


def test_a_sentence_of_the_site_as_long_as_it_may_be_fits_in_every_language():
    for tag, paper in EVERY:
        words = words_in(tag)
        said = " ".join([words.paragraphs[-1]] * 12)[:199] + "."
        sheet, _ = laid_out(words_in(tag, said), paper)
        assert squeezed(said)[:40] in squeezed("".join(box.text for box in sheet.boxes))


def test_the_largest_type_that_fits_is_taken_and_never_less_than_twelve_points():
    sizes = [one.size_pt for one in TYPES]
    assert sizes == sorted(sizes, reverse=True) and min(sizes) >= LEAST_PT
    half = half_of(PAPERS["Letter"])
    few, many = words_in("en", "Ask."), words_in("en", "Ask the office for it. " * 16)
    assert fitting_type(few, half).size_pt > fitting_type(many, half).size_pt


def test_what_does_not_fit_is_refused_as_are_an_unknown_paper_and_a_letter_the_font_lacks():
    with pytest.raises(Overflow, match="half a sheet"):
        leaflet(words_in("en", "Far too much is said here. " * 60))
    with pytest.raises(Refused, match="paper_unknown"):
        leaflet(words_in("en"), "A5")
    with pytest.raises(Refused, match="characters_not_in_font"):
        leaflet(words_in("en", "\N{CJK UNIFIED IDEOGRAPH-4E2D}"))


@pytest.mark.parametrize(("tag", "paper"), EVERY)
def test_there_is_a_line_to_write_a_name_and_a_number_on(tag, paper):
    words = words_in(tag)
    sheet, _ = laid_out(words, paper)
    boxes = {box.text: box for box in sheet.boxes}
    contact, label = boxes[words.contact], boxes[words.tag_label]
    between = max(label.left_mm - contact.right_mm, contact.left_mm - label.right_mm)
    assert between >= TO_WRITE_MM
