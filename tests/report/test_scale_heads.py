"""The words above the profile's scale (poorer, usual, better) stand apart where the scale is narrowest."""

from itertools import product

import pytest

from kiosk.i18n.language import available, load_language
from kiosk.report.paper import PAPERS, SPACINGS, Paper
from kiosk.report.profile import SCALE_LEAST_MM, measure_columns, profile_table
from kiosk.report.sheet import Overflow, Sheet
from tests.report.test_page import overlapping
from tests.wording.page_samples import content, findings, fullest

TAGS = (*available(), "en-x-long")
APART_MM = 0.9
CLOSEST = [spacing for spacing in SPACINGS if not spacing.least_margins][-3]  # narrower letters


def set_in(page, width_mm):
    """The profile on a sheet of this width, and how long its scale is."""
    paper = Paper("narrow", width_mm, 297.0, 15.0, 15.0)
    sheet = Sheet(paper, page.script, CLOSEST, None, page.direction)
    scale = measure_columns(sheet, page.profile).scale
    profile_table(sheet, page.profile, 0.0, 7.0)
    return sheet, scale.right - scale.left


def narrowest(page):
    """The narrowest sheet that the profile is not refused on, to half a millimetre."""
    found, width = None, PAPERS["A4"].width_mm
    while True:
        try:
            found, width = set_in(page, width), width - 0.5
        except Overflow:
            return found


def heads(sheet, page):
    """From left to right; the column of ranges, before the scale, may be headed by the same word."""
    words, found = page.profile.words, []
    for word in (words.poorer, words.usual, words.better):
        same = sorted((box for box in sheet.boxes if box.text == word and box.top_mm < 12.0),
                      key=lambda box: box.left_mm)
        found.append(same[0 if page.direction == "rtl" else -1])
    return sorted(found, key=lambda box: box.left_mm)


@pytest.mark.parametrize("tag", TAGS)
def test_the_heads_stand_apart_where_the_scale_is_narrowest(tag):
    page = content(findings(), load_language(tag))
    sheet, long_mm = narrowest(page)
    left, middle, right = heads(sheet, page)
    assert SCALE_LEAST_MM <= long_mm < SCALE_LEAST_MM + 30.0
    assert middle.left_mm - left.right_mm >= APART_MM and right.left_mm - middle.right_mm >= APART_MM
    assert overlapping([left, middle, right]) == []
    assert (left.text, right.text) == (page.profile.words.poorer, page.profile.words.better)


@pytest.mark.parametrize(("tag", "paper"), [*product(available(), PAPERS)])
def test_the_heads_of_the_fullest_page_touch_nothing(tag, paper):
    page = content(fullest(), load_language(tag))
    sheet, _ = set_in(page, PAPERS[paper].width_mm)
    own = heads(sheet, page)
    assert [pair for pair in overlapping(sheet.boxes) if {box.text for box in own} & set(pair)] == []
