"""Every language on the real screens: laid out on both panels, and drawn beside English."""

import gettext
from dataclasses import replace

import pytest

from kiosk.language import available, load_language
from kiosk.language_preview import staff_views
from kiosk.longer_words import PSEUDO_TAG

pytest.importorskip("kivy")
from kiosk.screens.window import can_draw

if not can_draw():
    pytest.skip("no GL libraries", allow_module_level=True)

TAGS = [*available(), PSEUDO_TAG]
ALWAYS = {("de", "B"), ("hi", "A"), (PSEUDO_TAG, "A")}
# One language of each kind in every run, all on both panels with --long.
EVERY = [pytest.param(tag, panel, marks=[] if (tag, panel) in ALWAYS else [pytest.mark.long])
         for tag in TAGS for panel in ("A", "B")]  # fmt: skip


@pytest.mark.parametrize(("tag", "panel"), EVERY)
def test_every_screen_holds_the_words_of_the_language(tag, panel):
    from kiosk.screens.walk import layout_faults

    assert layout_faults(load_language(tag), staff_views, (panel,)) == []


class OneLongWord(gettext.NullTranslations):
    def pgettext(self, context, message):
        return "Unterbrechung" if message == "Stop" else message

    def gettext(self, message):
        return message.replace("Please wait.", "Wait " + "W" * 60)


def test_the_walk_sees_a_stop_too_wide_and_a_headline_that_leaves_its_place():
    from kiosk.screens.walk import layout_faults

    language = replace(load_language("en"), _messages=OneLongWord())
    found = {(fault.screen, fault.rule) for fault in layout_faults(language, lambda language: (), ("A",))}
    assert {("stop", "must_fit_its_button"), ("not_understood", "must_fit_its_place")} <= found
