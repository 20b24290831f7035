"""Every language on the real screens: laid out on both panels, and drawn beside English."""

import gettext
from dataclasses import replace

import pytest

from kiosk.demo.picture_day import staff_shots
from kiosk.i18n.language import available, load_language
from kiosk.i18n.pseudo_localisation import PSEUDO_TAG
from tests.needed_packages import WINDOW

pytestmark = WINDOW
TAGS = [*available(), PSEUDO_TAG]
# The person's screens of each kind of language in every run; with --long the staff's whole day, all languages
# and both panels.
ALWAYS = {("de", "B"), ("hi", "A"), (PSEUDO_TAG, "A")}


@pytest.mark.parametrize(("tag", "panel"), sorted(ALWAYS))
def test_every_screen_of_the_person_holds_the_words(tag, panel):
    from kiosk.screens.walk import layout_faults

    assert layout_faults(load_language(tag), [], (panel,)) == []


@pytest.mark.long
@pytest.mark.parametrize("tag", TAGS)
def test_every_screen_of_a_whole_day_holds_the_words(tag, tmp_path):
    from kiosk.screens.walk import layout_faults

    language = load_language(tag)
    assert layout_faults(language, staff_shots([language], tmp_path)) == []


class OneLongWord(gettext.NullTranslations):
    def pgettext(self, context, message):
        return "Unterbrechung" if message == "Stop" else message

    def gettext(self, message):
        return message.replace("Please wait.", "Wait " + "W" * 60)


def test_the_walk_sees_a_stop_too_wide_and_a_headline_that_leaves_its_place():
    from kiosk.screens.walk import layout_faults

    language = replace(load_language("en"), _messages=OneLongWord())
    found = {(fault.screen, fault.rule) for fault in layout_faults(language, [], ("A",))}
    assert {("stop", "must_fit_its_button"), ("not_understood", "must_fit_its_place")} <= found
