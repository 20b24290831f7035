"""The page screen shows the very bytes that go to the printer, and the kiosk forgets them with the key."""

import subprocess
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from kiosk.staff.actions import Answer, StaffAction
from kiosk.staff.page import PageAction
from kiosk.staff.printing import PaperAction
from kiosk.staff.sign import SignAction
from tests.app.fake_kiosk import FakeKiosk, new_person, whole_visit
from tests.report.test_paper_pixels import blurred, poppler


@pytest.fixture
def kiosk(tmp_path) -> FakeKiosk:
    """A visit on its page."""
    kiosk = FakeKiosk(tmp_path)
    kiosk.unlock()
    new_person(kiosk)
    whole_visit(kiosk)
    kiosk.do(StaffAction.NEXT)
    return kiosk


def seen(view):
    shown = view.pixels
    return np.frombuffer(shown.rgb, np.uint8).reshape(shown.height_px, shown.width_px, 3).astype(float)


def printed(pdf, like):
    """What another program makes of what was sent to the printer."""
    ran = subprocess.run(["pdftoppm", "-png", "-r", "150", "-"], input=pdf, capture_output=True, check=True)
    picture = Image.open(BytesIO(ran.stdout)).convert("RGB").resize((like.shape[1], like.shape[0]))
    return np.asarray(picture, dtype=float)


@poppler
def test_what_is_seen_is_what_is_printed_also_after_it_was_signed(kiosk):
    before = seen(kiosk.view)
    kiosk.do(PaperAction.PRINT)
    kiosk.frame(3)
    assert np.corrcoef(blurred(before), blurred(printed(kiosk.jobs[-1].pdf, before)))[0, 1] > 0.97
    kiosk.do(StaffAction.NEXT, SignAction.SIGN)
    kiosk.type("AB")
    kiosk.do(Answer("role", "nurse"), SignAction.SIGN)
    assert kiosk.screen == "page"
    after = seen(kiosk.view)
    changed_rows = np.flatnonzero((before != after).any(axis=(1, 2))) / after.shape[0]
    assert len(changed_rows) and changed_rows.min() > 0.8  # the line of the signature
    kiosk.do(PaperAction.PRINT)
    kiosk.frame(3)
    assert np.corrcoef(blurred(after), blurred(printed(kiosk.jobs[-1].pdf, after)))[0, 1] > 0.97


def test_the_copy_lines_stand_without_a_picture(kiosk):
    kiosk.do(PageAction.COPY)
    assert kiosk.view.pixels is None and kiosk.view.qr_modules


def test_a_page_is_drawn_once_however_often_it_is_looked_at(kiosk, monkeypatch):
    from kiosk.app import driver

    drawn, draw = [], driver.paper_pixels
    monkeypatch.setattr(driver, "paper_pixels", lambda pdf: drawn.append(pdf) or draw(pdf))
    first = kiosk.view.pixels
    kiosk.do(PageAction.RESULTS, StaffAction.NEXT, PageAction.COPY, StaffAction.BACK)
    assert kiosk.screen == "page" and kiosk.view.pixels is first and drawn == []
