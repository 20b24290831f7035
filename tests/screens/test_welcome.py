"""The welcome's languages: by their own names, in their own letters, large enough, clear of everything."""

from itertools import combinations

import pytest

from kiosk.i18n.fonts import characters
from kiosk.i18n.language import available, load_language, script_of
from kiosk.screens.screen import OwnAction
from kiosk.screens.theme import PERSON_GAP_MM
from kiosk.visits.actions import ChooseLanguage
from kiosk.wording.own_names import OWN_NAMES, own_name

EIGHT = ("en", "ar", "de", "es", "fr", "hi", "pt", "zh-Hans")


def welcome(room, steps, tag="en", offered=EIGHT):
    room.stage.offered = offered
    room.stage.show(steps["right"]["welcome"], load_language(tag))
    room.stage.draw()
    return {part.name: part for part in room.stage.screen.parts}


def test_every_catalogue_s_language_has_its_own_name_in_letters_its_font_can_draw():
    assert set(available()) <= set(OWN_NAMES)
    for tag in OWN_NAMES:
        assert set(own_name(tag)) <= characters(script_of(tag)), tag


def test_without_a_choice_no_language_is_offered(room, steps):
    assert "language names" not in welcome(room, steps, offered=("en",))


@pytest.mark.parametrize("tag", [*available(), "en-x-long"])
def test_the_names_stand_inside_their_button_and_clear_of_begin_and_message(room, steps, tag):
    parts = welcome(room, steps, tag)
    names, begin, message = (parts[name] for name in ("language names", "main button", "message"))
    for one in names.words:
        assert names.box.left + 0.5 <= one.left and one.right <= names.box.right - 0.5
        assert names.box.bottom <= one.bottom and one.top <= names.box.top
    for one, other in combinations(names.words, 2):
        assert one.right <= other.left or other.right <= one.left or (
            one.top <= other.bottom + 0.4 or other.top <= one.bottom + 0.4)
    assert begin.box.top + PERSON_GAP_MM <= names.box.bottom and names.box.height >= 20.0
    assert names.box.right <= 1280 / 5.88 / 2 and names.box.left >= parts["stop"].box.right + PERSON_GAP_MM
    assert all(one.top <= names.box.bottom for one in message.words)


def test_touched_they_give_way_to_a_button_each_and_the_one_touched_is_reported(room, steps):
    welcome(room, steps)
    room.stage.choose(OwnAction.CHOOSE_LANGUAGE)
    boxes = [room.stage.screen.button(ChooseLanguage(tag)).box for tag in EIGHT]
    assert min(min(box.width, box.height) for box in boxes) >= 20.0
    for one, other in combinations(boxes, 2):
        apart = max(one.left - other.right, other.left - one.right, one.bottom - other.top,
                    other.bottom - one.top)
        assert apart >= PERSON_GAP_MM - 1e-6
    room.stage.press(ChooseLanguage("hi"))
    assert room.said == [ChooseLanguage("hi")]
