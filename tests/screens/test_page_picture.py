"""The page before it is printed: whole beside its facts, then as large as on paper, nothing left out."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from kiosk.figures.marks import Box
from kiosk.screens.screen import OwnAction
from kiosk.screens.staff_page import AGAIN_MM, parts_of_page, whole_page
from kiosk.staff.printing import PaperAction
from kiosk.wording.page_parts import PaperPixels
from tests.screens.sample_views import page_view

BANDS = 25           # each its own grey, 10 mm high
LEFT, TOP, BAND = 15, 20, 10


def banded(px_per_mm=4):
    """A page of A4 whose 180 x 250 mm of print are bands of greys from dark to light."""
    rows = np.full((297 * px_per_mm, 210 * px_per_mm, 3), 255, dtype=np.uint8)
    for band in range(BANDS):
        top = (TOP + BAND * band) * px_per_mm
        rows[top:top + BAND * px_per_mm, LEFT * px_per_mm:(LEFT + 180) * px_per_mm] = grey_of(band)
    return PaperPixels(210.0, 297.0, rows.shape[1], rows.shape[0], rows.tobytes())


def grey_of(band):
    return 5 + 8 * band


@pytest.mark.parametrize("body", [Box(0, 0, 200.0, 83.0), Box(0, 0, 330.0, 140.0), Box(0, 0, 120.0, 70.0),
                                  Box(0, 0, 200.0, 84.9)])
def test_the_parts_hold_all_that_is_printed_and_a_line_s_height_twice(body):
    parts = list(parts_of_page(banded(), body))
    greys = [set(np.unique(part.pixels)) - {255} for part in parts]
    assert set().union(*greys) == {grey_of(band) for band in range(BANDS)}
    assert [min(one) for one in greys] == sorted(min(one) for one in greys)
    assert all(a & b for a, b in pairwise(greys))
    printed_mm = BAND * BANDS + 4.0
    shown_mm = sum(part.height_mm for part in parts)
    assert shown_mm >= printed_mm + AGAIN_MM * (len(parts) - 1) - 1.0
    assert len(parts) <= printed_mm / (body.height * max(184.0 / body.width, 1.0) - AGAIN_MM) + 1.0


def test_an_empty_page_has_parts_too():
    white = PaperPixels(210.0, 297.0, 210, 297, bytes([255]) * (210 * 297 * 3))
    assert sum(part.height_mm for part in parts_of_page(white, Box(0, 0, 220.0, 100.0))) >= 297.0


def test_the_whole_page_is_the_page():
    page = whole_page(banded())
    assert page.pixels.shape == (1188, 840, 3) and (page.width_mm, page.height_mm) == (210.0, 297.0)


def sheets(room, english, view):
    """The boxes of the page picture, sheet after sheet, and the pixels in them."""
    room.stage.show_staff(view, english)
    for _ in range(12):
        room.stage.draw()
        picture = next(one for one in room.stage.screen.parts if one.name == "page picture")
        yield picture.box, inside(room, picture.box)
        room.stage.choose(OwnAction.MORE_SHEETS)
        if room.stage.screen.sheet == 0:
            return
    raise AssertionError("the sheets never came round")


def inside(room, box):
    left, bottom = room.stage.screen.scene.panel.px(box.left, box.bottom)
    right, top = room.stage.screen.scene.panel.px(box.right, box.top)
    shot = room.shot()  # rows from the bottom
    return shot[round(bottom) + 2:round(top) - 2, round(left) + 2:round(right) - 2][::-1]


@pytest.fixture
def shown(room, english):
    view = replace(page_view(lambda text, **_: text), pixels=banded())
    return view, list(sheets(room, english, view))


def test_every_band_is_seen_on_the_glass_in_order_and_life_size(shown):
    _, ((_, first), *others) = shown
    seen = [seen_bands(pixels) for _, pixels in others]
    assert seen_bands(first) == list(range(BANDS))
    assert seen[0][0] == 0 and seen[-1][-1] == BANDS - 1
    assert all(one == list(range(one[0], one[-1] + 1)) for one in seen)
    assert all(two[0] <= one[-1] < two[-1] for one, two in pairwise(seen))
    assert all(box.width == pytest.approx(184.0, abs=0.5) for box, _ in others)


def seen_bands(pixels):
    """The bands met from the top down along the middle column: three pixels of one grey."""
    column = pixels[:, pixels.shape[1] // 2, 0].astype(int)
    even = column[1:-1][(column[1:-1] == column[:-2]) & (column[1:-1] == column[2:])]
    return list(dict.fromkeys((grey - 5) // 8 for grey in even if grey in map(grey_of, range(BANDS))))


def test_reading_sheets_keep_only_print_beside_more(room, shown):
    view, _ = shown
    assert set(room.stage.actions()) >= {one.action for one in view.controls} | {OwnAction.MORE_SHEETS}
    room.stage.choose(OwnAction.MORE_SHEETS)
    assert set(room.stage.actions()) == {PaperAction.PRINT, OwnAction.MORE_SHEETS}


def test_without_a_picture_there_is_no_further_sheet(room, english):
    room.stage.show_staff(replace(page_view(lambda text, **_: text), pixels=None), english)
    assert OwnAction.MORE_SHEETS not in room.stage.actions()
