"""The preview: English at the left, the language at the right, on every screen and on the page."""

import numpy as np
import pytest
from PIL import Image

from kiosk.base.settings import locales_folder
from kiosk.demo.language_preview import BETWEEN_PX, side_by_side, write_preview
from tests.needed_packages import WINDOW


def test_pictures_stand_side_by_side_on_white(tmp_path):
    drawn = [Image.new("RGB", size, (grey,) * 3) for size, grey in (((30, 20), 40), ((50, 10), 80))]
    side_by_side(drawn, tmp_path / "both.png")
    both = np.asarray(Image.open(tmp_path / "both.png").convert("L"))
    assert both.shape == (20, 30 + BETWEEN_PX + 50)
    assert (both[:, :30] == 40).all() and (both[:10, 30 + BETWEEN_PX :] == 80).all()
    assert (both[:, 30 : 30 + BETWEEN_PX] == 255).all() and (both[10:, 30 + BETWEEN_PX :] == 255).all()


@pytest.mark.long
@WINDOW
def test_every_screen_and_the_page_stand_beside_english(tmp_path):
    count = write_preview("hi", locales_folder(), tmp_path)
    pictures = [path for path in tmp_path.glob("*.png") if path.name != "page.png"]
    assert count >= len(pictures) > 60
    assert {"welcome.png", "trial.png", "staff_today.png"} <= {path.name for path in pictures}
    for path in pictures:
        with Image.open(path) as picture:
            assert picture.size == (2 * 1280 + BETWEEN_PX, 800)
            pixels = np.asarray(picture.convert("L"), dtype=float)
        if path.name in ("welcome.png", "staff_today.png"):  # screens with words are not the same twice
            assert np.abs(pixels[:, :1280] - pixels[:, 1280 + BETWEEN_PX :]).mean() > 0.5
    assert (tmp_path / "page-en.pdf").is_file() and (tmp_path / "page-hi.pdf").is_file()
    with Image.open(tmp_path / "page.png") as picture:  # two sheets of A4 at 100 pixels an inch
        assert picture.size == (2 * 827 + BETWEEN_PX, 1170)
