"""The page as a file: one sheet, readable text, embedded fonts, the same bytes, nothing cut."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from io import BytesIO

import pytest
from pypdf import PdfReader

from kiosk.base.errors import Refused
from kiosk.report.page import fitting_spacing, lay_out, render
from kiosk.report.paper import PAPERS
from kiosk.report.sheet import Overflow, Sheet
from kiosk.wording.page_parts import Headline
from tests.wording import page_samples
from tests.wording.page_samples import content, findings, fullest, shortest, values_only

KINDS = {"usual": findings, "fullest": fullest, "shortest": shortest, "values": values_only}
EVERY = [(kind, paper) for kind in KINDS for paper in PAPERS]
ROOT = page_samples.__file__.rsplit("/tests/", 1)[0]


@pytest.fixture(scope="module")
def pages():
    return {(kind, paper): render(content(KINDS[kind]()), paper) for kind, paper in EVERY}


def reader(pdf):
    return PdfReader(BytesIO(pdf))


def text_of(pdf):
    return re.sub(r"\s+", " ", reader(pdf).pages[0].extract_text())


@pytest.mark.parametrize("which", EVERY)
def test_there_is_exactly_one_page_of_the_right_size(pages, which):
    found = reader(pages[which])
    paper = PAPERS[which[1]]
    assert len(found.pages) == 1
    width, height = (float(side) / 72 * 25.4 for side in found.pages[0].mediabox[2:])
    assert (width, height) == pytest.approx((paper.width_mm, paper.height_mm), abs=0.01)


@pytest.mark.parametrize("which", EVERY)
def test_every_caution_stands_in_the_text_of_the_page(pages, which):
    said = text_of(pages[which])
    for caution in content(KINDS[which[0]]()).cautions:
        assert re.sub(r"\s+", " ", caution) in said


@pytest.mark.parametrize("paper", PAPERS)
def test_values_percentiles_and_sentences_are_found_in_the_text(pages, paper):
    said = text_of(pages["usual", paper])
    for value, percentile in (
        ("5.3 mm", "34"),
        ("11.6 mm", "7"),
        ("105 ms behind", "9"),
        ("302 ms behind", "5"),
        ("10.4 mm", "30"),
        ("6.4 mm", "27"),
    ):
        assert value in said
        assert re.search(rf"(?<![\d.]){percentile} \(\d", said), percentile
    for sentence in (
        "2 of 6 scores are low for age 72 (Scatter, brisk circle; Delay,",
        "About 13 in 100 people",
        "At most about 20 in 100 people",
        "Below average",
        "reliably poorer",
        "Not yet reviewed",
        "Page 1 of 1",
    ):
        assert sentence in said


def test_the_watermark_stands_on_a_synthetic_page_only(pages):
    assert "SIMULATED REFERENCE DATA" in text_of(pages["fullest", "A4"])
    assert "SIMULATED" not in text_of(pages["usual", "A4"])


@pytest.mark.parametrize("which", EVERY)
def test_every_font_is_an_embedded_subset(pages, which):
    fonts = reader(pages[which]).pages[0]["/Resources"]["/Font"]
    assert fonts
    for font in fonts.values():
        described = font.get_object()["/FontDescriptor"]
        assert "/FontFile2" in described
        assert re.match(r"/[A-Z0-9]{6}\+NotoSans", described["/FontName"])
    assert b"Helvetica" not in pages[which]


def test_language_title_and_its_display_are_set(pages):
    found = reader(pages["usual", "A4"])
    root = found.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert found.metadata.title == f"Visually guided hand movement {content(findings()).page_tag}"


def test_the_same_content_gives_the_same_bytes_in_another_process_and_time_zone(pages):
    program = (
        "import hashlib; from tests.wording.page_samples import content, fullest; "
        "from kiosk.report.page import render; print(hashlib.sha256(render(content(fullest()))).hexdigest())"
    )
    told = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "7"},
    )
    assert told.stdout.strip() == sha256(pages["fullest", "A4"]).hexdigest()


def test_other_content_gives_other_bytes(pages):
    other = render(content(findings(), page_tag="99-XX"))
    assert sha256(other).hexdigest() != sha256(pages["usual", "A4"]).hexdigest()


def boxes_of(found, paper):
    sheet = Sheet(PAPERS[paper], "latin", fitting_spacing(content(found), PAPERS[paper]))
    bottom = lay_out(sheet, content(found))
    return sheet, bottom


def overlapping(boxes, slack_mm=0.05):
    return [
        (a.text, b.text)
        for i, a in enumerate(boxes)
        for b in boxes[i + 1 :]
        if a.left_mm < b.right_mm - slack_mm
        and b.left_mm < a.right_mm - slack_mm
        and a.top_mm < b.bottom_mm - slack_mm
        and b.top_mm < a.bottom_mm - slack_mm
    ]


@pytest.mark.parametrize(("kind", "paper"), EVERY)
def test_no_text_leaves_the_live_area_or_touches_another(kind, paper):
    sheet, _ = boxes_of(KINDS[kind](), paper)
    assert len(sheet.boxes) > 40
    assert overlapping(sheet.boxes) == []
    for box in sheet.boxes:
        assert box.left_mm >= -0.05 and box.right_mm <= sheet.width_mm + 0.05, box
        assert box.top_mm >= 0 and box.bottom_mm <= sheet.height_mm + 1.0, box


def test_a_long_place_and_code_touch_nothing():
    place = (
        "Outpatient department of the invented clinic on the long road "
        "behind the harbour, second floor, room 4"
    )
    found = content(findings(), place=place)
    sheet = Sheet(PAPERS["A4"], "latin", fitting_spacing(found, PAPERS["A4"]))
    lay_out(sheet, found)
    assert overlapping(sheet.boxes) == []
    assert place.split(" ")[-1] in " ".join(box.text for box in sheet.boxes)


def test_the_check_of_overlap_sees_two_texts_on_one_place():
    sheet, _ = boxes_of(findings(), "A4")
    box = sheet.boxes[10]
    assert overlapping([*sheet.boxes, replace(box, left_mm=box.left_mm + 0.5)])


@pytest.mark.parametrize(("kind", "paper"), EVERY)
def test_a_hand_has_twelve_millimetres_clear_above_the_sign_off(kind, paper):
    sheet, bottom = boxes_of(KINDS[kind](), paper)
    signature = next(box for box in sheet.boxes if box.text == "Signature")
    above = max(box.bottom_mm for box in sheet.boxes if box.bottom_mm <= bottom + 0.5)
    assert signature.top_mm - 2.0 - above >= 11.0


def test_nothing_is_set_smaller_than_eight_points(pages):
    streams = reader(pages["fullest", "Letter"]).pages[0].get_contents().get_data().decode("latin-1")
    sizes = {float(size) for size in re.findall(r"/F\S+ ([\d.]+) Tf", streams)}
    assert sizes and min(sizes) >= 8


def test_what_does_not_fit_on_one_page_is_refused():
    long = Headline("Today", "Far too much is said here, again and again. " * 60, "")
    with pytest.raises(Overflow):
        render(replace(content(findings()), headlines=(long,)))


def test_a_word_wider_than_the_page_is_refused():
    with pytest.raises(Overflow, match="side margins"):
        render(replace(content(findings()), title="W" * 90))


def test_an_unknown_paper_or_script_or_character_is_refused():
    with pytest.raises(Refused, match="paper_unknown"):
        render(content(findings()), "A7")
    with pytest.raises(Refused, match="script_unknown"):
        render(replace(content(findings()), script="runic"))
    with pytest.raises(Refused, match="characters_not_in_font"):
        render(replace(content(findings()), place="\N{CJK UNIFIED IDEOGRAPH-4E2D}"))


def test_the_more_is_said_the_closer_it_is_set():
    spacious = fitting_spacing(content(shortest()), PAPERS["A4"])
    close = fitting_spacing(content(fullest()), PAPERS["A4"])
    assert spacious.row_mm > close.row_mm and spacious.gap_mm > close.gap_mm


def test_words_half_as_long_again_still_stand_on_one_page():
    found = content(findings())
    longer = {
        one.name: one.name + " lengthen"[: max(1, len(one.name) * 2 // 5)] for one in found.profile.rows
    }
    rows = tuple(replace(row, name=longer[row.name]) for row in found.profile.rows)
    told = tuple(
        replace(
            one,
            sentence=one.sentence + " " + one.sentence[: len(one.sentence) * 2 // 5],
            chance=one.chance + " " + one.chance[: len(one.chance) * 2 // 5],
        )
        for one in found.headlines
    )
    cautions = tuple(one + " " + one[: len(one) * 2 // 5] for one in found.cautions)
    page = render(
        replace(found, profile=replace(found.profile, rows=rows), headlines=told, cautions=cautions)
    )
    assert len(reader(page).pages) == 1
