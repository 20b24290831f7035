"""Updating a catalogue: nothing translated is lost, what changed is marked, the source's mark moves last."""

import datetime as dt

import pytest

from kiosk.base.errors import Refused
from kiosk.i18n.adaptation import ROLES, sign
from kiosk.i18n.catalogue_file import catalogue_path, header
from kiosk.i18n.catalogue_update import update
from kiosk.i18n.extraction import SourceMessage, revision
from kiosk.i18n.language import load_language
from tests.i18n.sample_catalogue import GERMAN, SOURCE, fill, german, write_source

CHANGED = (
    SourceMessage("", "Put your finger on the disc, please.", "", ("a.py",)),
    *SOURCE,
)
BEFORE = (SourceMessage("", "Put your finger on the disc.", "", ("a.py",)), *SOURCE)
SENTENCE = {"Put your finger on the disc.": "Legen Sie den Finger auf die Scheibe."}


def test_a_new_language_begins_empty_with_its_own_plural_forms(tmp_path):
    merged = update("pl", tmp_path, SOURCE)
    assert (merged.messages, merged.missing, merged.fuzzy) == (5, 5, 0)
    record = header(merged.path)
    assert record["Plural-Forms"].startswith("nplurals=3")  # gettext manual, 11.2.6: Polish has three
    assert (record["Language"], record["X-Status"], record["X-Source-Revision"]) == ("pl", "draft", "")


def test_a_language_that_does_not_exist_is_refused(tmp_path):
    with pytest.raises(Refused, match="language_unknown"):
        update("xq", tmp_path, SOURCE)
    assert list(tmp_path.iterdir()) == []


def test_a_complete_catalogue_takes_on_the_mark_of_the_source(tmp_path):
    record = header(german(tmp_path))
    assert record["X-Source-Revision"] == revision(SOURCE)
    assert load_language("de", tmp_path).status == "draft"


def test_updating_again_changes_no_byte(tmp_path):
    path = german(tmp_path)
    before = path.read_bytes()
    update("de", tmp_path, SOURCE)
    assert path.read_bytes() == before


def test_a_changed_source_marks_the_catalogue_out_of_date_until_it_is_filled(tmp_path):
    german(tmp_path)
    more = write_source(tmp_path, (*SOURCE, SourceMessage("", "Rest", "", ("c.py",))))
    assert load_language("de", tmp_path).status == "out_of_date"
    assert update("de", tmp_path, more).missing == 1
    language = load_language("de", tmp_path)
    assert (language.status, language.say("Begin"), language.say("Rest")) == (
        "out_of_date",
        "Beginnen",
        "Rest",
    )
    assert fill(tmp_path, "de", {"Rest": "Pause"}, more).missing == 0
    assert (load_language("de", tmp_path).status, load_language("de", tmp_path).say("Rest")) == (
        "draft",
        "Pause",
    )


def test_a_message_whose_english_changed_keeps_its_words_marked_fuzzy_and_unused(tmp_path):
    german(tmp_path, BEFORE)
    fill(tmp_path, "de", SENTENCE, BEFORE)
    write_source(tmp_path, CHANGED)
    merged = update("de", tmp_path, CHANGED)
    assert (merged.missing, merged.fuzzy) == (0, 1)
    text = merged.path.read_text("utf-8")
    assert '#| msgid "Put your finger on the disc."' in text
    assert 'msgstr "Legen Sie den Finger auf die Scheibe."' in text
    language = load_language("de", tmp_path)
    assert language.say("Put your finger on the disc, please.") == "Put your finger on the disc, please."
    assert language.status == "out_of_date"


def test_a_new_message_gets_no_words_of_one_that_is_still_said(tmp_path):
    german(tmp_path, BEFORE)
    fill(tmp_path, "de", SENTENCE, BEFORE)
    both = (*CHANGED, BEFORE[0])
    merged = update("de", tmp_path, both)
    assert (merged.missing, merged.fuzzy) == (1, 0)


def test_a_message_that_comes_back_has_its_words_again(tmp_path):
    german(tmp_path)
    update("de", tmp_path, SOURCE[1:])
    assert '#~ msgstr "Beginnen"' in catalogue_path("de", tmp_path).read_text("utf-8")
    update("de", tmp_path, SOURCE)
    assert load_language("de", tmp_path).say("Begin") == "Beginnen"


def test_what_was_approved_is_a_draft_of_the_next_version_once_words_are_new(tmp_path):
    path = german(tmp_path)
    for role, by in zip(ROLES, ("AB", "CD", "EF", "GH", "IJ"), strict=True):
        sign(path, role, by, dt.date(2026, 11, 25))
    assert load_language("de", tmp_path).status == "approved"
    more = write_source(tmp_path, (*SOURCE, SourceMessage("", "Rest", "", ("c.py",))))
    update("de", tmp_path, more)
    assert load_language("de", tmp_path).status == "out_of_date"
    fill(tmp_path, "de", {**GERMAN, "Rest": "Pause"}, more)
    record = header(path)
    assert (record["X-Status"], record["X-Adaptation-Version"], record["X-Approver"]) == ("draft", "2", "")
