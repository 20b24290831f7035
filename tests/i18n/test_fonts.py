"""Cut fonts: one static file for each script and weight, with a name of its own."""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from PIL import ImageFont

from kiosk.base.errors import Refused
from kiosk.i18n.fonts import SCRIPTS, WEIGHTS, characters, cut, font_file, gb2312


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("fonts") / "not_there_yet"
    for weight in WEIGHTS:
        cut("arabic", weight, place)
    return place


def test_every_weight_is_static_and_bears_its_own_name(folder: Path) -> None:
    fonts = [TTFont(font_file("arabic", weight, folder)) for weight in WEIGHTS]
    assert ["fvar" in font for font in fonts] == [False] * len(WEIGHTS)
    assert [font["OS/2"].usWeightClass for font in fonts] == list(WEIGHTS)
    assert len({font["name"].getDebugName(6) for font in fonts}) == len(WEIGHTS)


def test_a_heavier_weight_draws_heavier_strokes(folder: Path) -> None:
    advances = [TTFont(font_file("arabic", weight, folder))["hmtx"]["m"][0] for weight in WEIGHTS]
    assert advances == sorted(set(advances))


def test_a_cut_is_made_once_and_leaves_nothing_behind(folder: Path) -> None:
    before = font_file("arabic", 400, folder).stat().st_mtime_ns
    assert cut("arabic", 400, folder).stat().st_mtime_ns == before
    assert len(list(folder.iterdir())) == len(WEIGHTS)


def test_the_same_source_gives_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    assert cut("arabic", 400, tmp_path).read_bytes() == font_file("arabic", 400, folder).read_bytes()


def test_an_uncut_font_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(Refused) as refused:
        font_file("latin", 600, tmp_path)
    assert refused.value.code == "font_not_cut"
    assert (refused.value.values["script"], refused.value.values["weight"]) == ("latin", 600)


@pytest.mark.parametrize(("script", "weight", "code"), [
    ("runic", 400, "script_unknown"), ("latin", 450, "weight_unknown"),
])  # fmt: skip
def test_what_has_no_source_is_refused(tmp_path: Path, script: str, weight: int, code: str) -> None:
    with pytest.raises(Refused) as refused:
        cut(script, weight, tmp_path)
    assert refused.value.code == code


def test_set_up_has_cut_every_script_in_every_weight() -> None:
    for script in SCRIPTS:
        for weight in WEIGHTS:
            assert cut(script, weight).is_file()


# GB 2312-80 holds 6763 Chinese characters (3755 of level 1, 3008 of level 2) and 682 letters and signs.
def test_the_chinese_font_holds_the_whole_of_gb_2312() -> None:
    chinese = {one for one in gb2312() if "\u4e00" <= one <= "\u9fff"}
    assert (len(chinese), len(gb2312())) == (6763, 6763 + 682)
    assert chinese <= characters("chinese")


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_cut_draws_every_character_it_is_said_to_hold(script: str) -> None:
    with TTFont(cut(script, 600)) as font:
        assert frozenset(map(chr, font.getBestCmap())) == characters(script)
        assert "glyf" in font and "CFF2" not in font


@pytest.mark.parametrize("script", ["chinese", "devanagari"])
def test_a_heavier_cut_has_more_ink(script: str) -> None:
    """Area of one letter's bitmap, not of its name or of a table."""
    inks = []
    for weight in WEIGHTS:
        mask = ImageFont.truetype(str(cut(script, weight)), 200).getmask("圆" if script == "chinese" else "क")
        inks.append(sum(mask) / 255)
    assert inks[0] * 1.08 < inks[1] < inks[2] / 1.08
