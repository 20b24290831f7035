"""The QR code on the glass, read back from the window's own pixels by a reader that is not ours (zxing-cpp).

It holds the two copy lines for the clinic's record as they stand beside it (ISO/IEC 18004).
"""

import pytest
import zxingcpp

from kiosk.report.pixels import qr_modules
from kiosk.wording.staff_parts import PageView
from tests.screens.sample_views import views


def read(room):
    """The texts of all QR codes on the window."""
    picture = room.shot()[::-1].astype("uint8")
    return [code.text for code in zxingcpp.read_barcodes(picture) if "QR" in str(code.format)]


@pytest.mark.parametrize("tag", ["en", "ar", "en-x-long"])
@pytest.mark.parametrize("screen", ["page", "copy"])
def test_the_code_on_the_page_s_screens_says_the_copy_lines(room, day, tag, screen):
    shot = next(one for one in day[tag] if one.screen == screen)
    shot.put(room.stage)
    room.stage.draw()
    assert isinstance(shot.view, PageView) and shot.view.tag in shot.view.qr_text
    assert read(room) == [shot.view.qr_text]
    assert all(line in shot.view.qr_text for line in shot.view.copy_lines)


def test_a_code_with_a_quarter_of_its_modules_turned_over_is_not_read(room, english):
    """The reader reads what is drawn: what is spoilt beyond its error correction gives nothing."""
    from dataclasses import replace

    view = views(lambda text: text)["page"]
    modules = qr_modules("K-0412-7")
    for spoilt, said in ((modules, ["K-0412-7"]), (turned_over(modules), [])):
        room.stage.show_staff(replace(view, qr_modules=spoilt), english)
        room.stage.draw()
        assert read(room) == said


def turned_over(modules):
    side = len(modules)
    return tuple(tuple(dark != (row > side // 2 and column > side // 2) for column, dark in enumerate(line))
                 for row, line in enumerate(modules))
