"""The leaflet says what it was agreed to say, sentence by sentence, and nothing else."""

from datetime import date

from kiosk.i18n.language import load_language
from kiosk.wording.leaflet_words import leaflet_words

# The words as the project's papers give them (screens, part 5), copied from there.
AGREED = (
    "About your hand-following test.",
    "Today you followed a moving disc with your finger. The tablet measured how close your finger stayed to "
    "the disc, and how quickly it followed.",
    "Your results will be looked at by the person who saw you today, together with other things they know "
    "about you.",
    "This was not an exam. Many healthy people have one or two low scores. Scores can be lower when you are "
    "tired, in pain, cold, worried, or new to tablets.",
    "The results cannot say whether you have an illness. Nothing should be changed in your medicines because "
    "of this page.",
    "Please tell staff if your hand, arm, neck or eyes hurt, or if anything was hard to see or to "
    "understand.",
    "You can ask to see what was kept about you, to have it put right, or to have it removed.",
)
DAY, PLACE, TAG = date(2026, 11, 25), "Harbour Street 4", "7F-KD"


def test_the_english_leaflet_says_the_agreed_words():
    words = leaflet_words(DAY, PLACE, TAG, load_language("en"))
    assert (words.title, *words.paragraphs) == AGREED
    assert (words.contact, words.tag_label, words.page_tag) == ("Contact", "Page tag", "7F-KD")
    assert (words.place, words.day, words.note) == (PLACE, "25 Nov 2026", "")


def test_only_the_last_sentence_is_the_sites_own():
    own = "You can ask the records office, room 2, to see what was kept about you."
    words = leaflet_words(DAY, PLACE, TAG, load_language("en"), own)
    assert (words.title, *words.paragraphs) == (*AGREED[:-1], own)


def test_words_that_nobody_has_checked_say_so():
    told = leaflet_words(DAY, PLACE, TAG, load_language("en-x-long"))
    assert told.note and not leaflet_words(DAY, PLACE, TAG, load_language("en")).note


def test_the_leaflet_knows_how_its_language_is_read_and_dated():
    arabic = leaflet_words(DAY, PLACE, TAG, load_language("ar"))
    assert (arabic.language, arabic.script, arabic.direction) == ("ar", "arabic", "rtl")
    assert leaflet_words(DAY, PLACE, TAG, load_language("de")).day == "25. Nov. 2026"
