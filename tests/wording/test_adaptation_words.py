"""The adaptation record in words: on the languages screen and at the foot of the page."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from kiosk.i18n.language import load_language
from kiosk.staff.languages import Languages
from kiosk.staff.screen import StaffContext
from kiosk.wording.adaptation_words import record_words, status_words
from tests.wording.page_samples import content, findings

MORNING = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)
SIGNED = {
    "X-Adaptation-Version": "2",
    "X-Forward-Translator": "AB 2026-01-02",
    "X-Back-Translator": "CD 2026-01-05",
    "X-Reviewer": "EF 2026-01-07",
    "X-Pilot": "GH 2026-02-01",
    "X-Approver": "IJ 2026-02-03",
}


def in_english(status, record):
    """English words for another language's record, so that they can be read here."""
    return replace(load_language("en"), status=status, record=record)


def test_a_draft_says_that_no_one_has_signed_it():
    said = record_words(in_english("draft", {"X-Adaptation-Version": "1"}))
    assert said == "words English, version 1: draft, signed by no one"


def test_an_approved_language_names_every_part_and_its_day():
    said = record_words(in_english("approved", SIGNED))
    assert said == (
        "words English, version 2: approved, translated by AB, 2 Jan 2026, "
        "translated back by CD, 5 Jan 2026, "
        "reviewed by EF, 7 Jan 2026, tried out by GH, 1 Feb 2026, approved by IJ, 3 Feb 2026"
    )


def test_a_changed_source_is_told():
    assert "out of date" in record_words(in_english("out_of_date", SIGNED))


def test_the_source_adapts_nothing():
    assert record_words(load_language("en")) == ""
    assert "version 1:" not in content(findings()).footer


def test_an_unknown_status_has_no_words():
    with pytest.raises(ValueError, match="status, must be one of"):
        status_words("famous", load_language("en"))


@pytest.mark.parametrize("tag", ["ar", "de", "zh-Hans"])
def test_screen_and_page_bear_the_record(tag):
    language = load_language(tag)
    said = record_words(language)
    view = Languages().view(StaffContext(MORNING, MORNING, languages=("en", tag), language=tag), language)
    assert said and view.rows[0].hint == said
    assert view.note  # not checked by a second translator
    assert said in content(findings(), language).footer
