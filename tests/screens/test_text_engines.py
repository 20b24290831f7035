"""Lines on the screens beside the same lines set by others: order by python-bidi, glyphs by uharfbuzz."""

import pytest
import uharfbuzz

from kiosk.i18n.fonts import font_file
from kiosk.i18n.language import available, load_language
from kiosk.i18n.line_breaking import direction_of
from kiosk.screens import theme
from kiosk.screens.text import Lettering
from tests.catalogue_texts import said_in
from tests.text_reference import LINES, SCRIPTS, alike, cropped, glyphs, ink

PX_PER_MM = 12.0
LEAST_ALIKE = 0.94  # digits, brackets or words in another order come to 0.80 at most (last test)
STYLE = theme.TELL


def on_screen(script, text):
    letters = Lettering(script, SCRIPTS[script][0], PX_PER_MM)
    return cropped(letters.picture(text, STYLE).alpha[::-1] * 255)


def by_others(script, text):
    way = direction_of(text, SCRIPTS[script][0])
    return ink(script, STYLE.weight, text, way, STYLE.em_mm * PX_PER_MM)


@pytest.mark.parametrize(("script", "text"), LINES)
def test_a_line_looks_as_set_by_harfbuzz_in_the_order_of_python_bidi(script, text):
    assert alike(on_screen(script, text), by_others(script, text)) > LEAST_ALIKE


@pytest.mark.parametrize(("script", "text"), LINES)
def test_a_line_is_as_wide_as_its_glyphs(script, text):
    width_mm = Lettering(script, SCRIPTS[script][0], PX_PER_MM).width_mm(text, STYLE)
    way = direction_of(text, SCRIPTS[script][0])
    assert width_mm == pytest.approx(glyphs(script, STYLE.weight, text, way)[1] * STYLE.em_mm, abs=0.05)


@pytest.mark.parametrize("script", ["arabic", "devanagari"])
def test_the_comparison_sees_a_number_that_reads_backwards(script):
    for right, wrong in (("123", "321"), ("45", "54"), ("(4–8)", "(8–4)"), ("27-KD", "KD-27")):
        for text in [text for text in SCRIPTS[script][1] if right in text]:
            assert alike(on_screen(script, text.replace(right, wrong)), by_others(script, text)) < 0.85


@pytest.mark.parametrize("tag", [tag for tag in available() if load_language(tag).script != "latin"])
def test_no_message_of_a_language_has_a_letter_that_its_font_lacks_when_drawn(tag):
    """Glyph number 0 is the box that stands for a missing letter."""
    blob = uharfbuzz.Blob.from_file_path(str(font_file(load_language(tag).script, 400)))
    font = uharfbuzz.Font(uharfbuzz.Face(blob))
    words = {word for text in said_in(tag) for word in text.split()}
    assert [word for word in sorted(words) if 0 in glyph_numbers(font, word)] == []


def glyph_numbers(font, word):
    buffer = uharfbuzz.Buffer()
    buffer.add_str(word)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    return [info.codepoint for info in buffer.glyph_infos]
