"""The shipped fonts: what the one command cuts, static, each weight named as its own, with their licences.

Cutting all of them takes a minute: every run cuts one file of each smaller family and compares the hashes of
all files with those that the command wrote; a long run cuts every file.
"""

import json
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from PIL import ImageFont

from kiosk.base.errors import Refused
from kiosk.i18n.fonts import FONT_FILES, SCRIPTS, WEIGHTS, characters, font_file
from tests.cut_fonts import SOURCES, VARIABLE, characters_kept, cut, every_font, gb2312, licence_name, sources

FONTS = every_font()


@pytest.mark.parametrize("script", ["arabic-narrow", "devanagari"])
def test_a_shipped_font_is_what_the_command_cuts(script: str, tmp_path: Path) -> None:
    assert cut(script, 600, tmp_path).read_bytes() == font_file(script, 600).read_bytes()


@pytest.mark.long
@pytest.mark.parametrize(("script", "weight"), FONTS)
def test_every_shipped_font_is_what_the_command_cuts(script: str, weight: int, tmp_path: Path) -> None:
    assert cut(script, weight, tmp_path).read_bytes() == font_file(script, weight).read_bytes()


def test_the_folder_holds_the_fonts_their_licences_and_their_sources_and_nothing_else() -> None:
    expected = {font_file(script, weight).name for script, weight in FONTS}
    expected |= {licence_name(script) for script in SCRIPTS} | {SOURCES}
    assert {path.name for path in FONT_FILES.iterdir()} == expected


def test_sources_and_hashes_are_told_as_they_are() -> None:
    assert json.loads((FONT_FILES / SOURCES).read_text("utf-8")) == sources(FONT_FILES)


@pytest.mark.parametrize("script", SCRIPTS)
def test_every_family_comes_with_the_sil_open_font_license(script: str) -> None:
    """SIL Open Font License 1.1: each copy holds the copyright notice and the licence (condition 2), and a
    changed version does not bear a reserved name (condition 3)."""
    told = (FONT_FILES / licence_name(script)).read_text("utf-8")
    assert told.startswith("Copyright 20") and "SIL OPEN FONT LICENSE Version 1.1 - 26 February 2007" in told
    assert "PERMISSION & CONDITIONS" in told and told == VARIABLE[script].licence
    with TTFont(font_file(script, 400)) as font:
        assert "Source" not in str(font["name"].getDebugName(4))


@pytest.mark.parametrize(("script", "weight"), FONTS)
def test_every_font_is_static_and_bears_its_weight(script: str, weight: int) -> None:
    with TTFont(font_file(script, weight)) as font:
        assert "fvar" not in font and "glyf" in font and "CFF2" not in font
        assert font["OS/2"].usWeightClass == weight


def test_no_two_fonts_bear_one_name() -> None:
    names = []
    for script, weight in FONTS:
        with TTFont(font_file(script, weight)) as font:
            names.append(font["name"].getDebugName(6))
    assert len(set(names)) == len(FONTS)


def test_a_heavier_weight_draws_heavier_strokes() -> None:
    advances = [TTFont(font_file("arabic", weight))["hmtx"]["m"][0] for weight in WEIGHTS]
    assert advances == sorted(set(advances))


@pytest.mark.parametrize("script", ["chinese", "devanagari"])
def test_a_heavier_font_has_more_ink(script: str) -> None:
    """Area of one letter's bitmap, not of its name or of a table."""
    letter, inks = ("圆" if script == "chinese" else "क"), []
    for weight in WEIGHTS:
        mask = ImageFont.truetype(str(font_file(script, weight)), 200).getmask(letter)
        inks.append(sum(mask) / 255)
    assert inks[0] * 1.08 < inks[1] < inks[2] / 1.08


@pytest.mark.parametrize("script", SCRIPTS)
def test_the_characters_of_a_script_are_those_of_its_files_and_of_its_source(script: str) -> None:
    for weight in WEIGHTS:
        with TTFont(font_file(script, weight)) as font:
            assert frozenset(map(chr, font.getBestCmap())) == characters(script)
    source = VARIABLE[script]
    with TTFont(source.path, fontNumber=source.face) as font:
        assert frozenset(map(chr, characters_kept(script, font))) == characters(script)


# GB 2312-80 holds 6763 Chinese characters (3755 of level 1, 3008 of level 2) and 682 letters and signs.
def test_the_chinese_font_holds_the_whole_of_gb_2312() -> None:
    chinese = {one for one in gb2312() if "\u4e00" <= one <= "\u9fff"}
    assert (len(chinese), len(gb2312())) == (6763, 6763 + 682)
    assert chinese <= characters("chinese")


def test_a_missing_font_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(Refused) as refused:
        font_file("latin", 600, tmp_path)
    assert refused.value.code == "font_missing"
    assert refused.value.values["file"] == "noto-sans-600.ttf"


@pytest.mark.parametrize(("script", "weight", "code"), [
    ("runic", 400, "script_unknown"), ("chinese-narrow", 400, "script_unknown"),
    ("latin", 450, "weight_unknown"), ("latin-narrow", 500, "weight_unknown"),
])  # fmt: skip
def test_what_is_not_shipped_is_refused(script: str, weight: int, code: str) -> None:
    with pytest.raises(Refused) as refused:
        font_file(script, weight)
    assert refused.value.code == code


def test_the_fonts_are_of_the_size_that_is_told() -> None:
    """About 14 MB: the Chinese one three times 2.2 MB, the 21 others 0.2 to 0.6 MB."""
    total = sum(path.stat().st_size for path in FONT_FILES.glob("*.ttf"))
    assert 13e6 < total < 15e6
