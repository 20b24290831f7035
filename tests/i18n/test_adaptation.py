"""The adaptation record: parts in their order, by independent people, and the status they amount to."""

import datetime as dt

import pytest

from kiosk.base.errors import Refused
from kiosk.i18n.adaptation import ROLES, sign
from kiosk.i18n.catalogue_file import header
from kiosk.i18n.language import load_language
from tests.i18n.sample_catalogue import german

DAY = dt.date(2026, 11, 25)


# Order of the parts and independence of the back translation: common practice in test adaptation; the parts
# themselves: International Test Commission (2017), Guidelines for Translating and Adapting Tests, 2nd ed.
def test_the_status_follows_the_parts_that_are_done(tmp_path):
    path = german(tmp_path)
    reached = [
        sign(path, role, by, DAY) for role, by in zip(ROLES, ("AB", "CD", "EF", "GH", "IJ"), strict=True)
    ]
    assert reached == ["draft", "draft", "reviewed", "piloted", "approved"]
    assert header(path)["X-Pilot"] == "GH 2026-11-25"
    language = load_language("de", tmp_path)
    assert (language.status, language.say("Begin")) == ("approved", "Beginnen")


@pytest.mark.parametrize("role", ROLES[1:])
def test_a_part_before_those_it_builds_on_is_refused(tmp_path, role):
    path = german(tmp_path)
    before = path.read_bytes()
    with pytest.raises(Refused, match="adaptation_part_missing"):
        sign(path, role, "AB", DAY)
    assert path.read_bytes() == before


@pytest.mark.parametrize("role", ["back-translator", "reviewer"])
def test_the_forward_translator_neither_translates_back_nor_reviews(tmp_path, role):
    path = german(tmp_path)
    sign(path, "forward-translator", "AB", DAY)
    if role == "reviewer":
        sign(path, "back-translator", "CD", DAY)
    with pytest.raises(Refused, match="adaptation_not_independent"):
        sign(path, role, "AB", DAY)


@pytest.mark.parametrize("by", ["", "A B", "Anna Bell", "A1", 'A"', "A\n", "ABCDE"])
def test_only_initials_are_kept(tmp_path, by):
    with pytest.raises(Refused, match="initials_wanted"):
        sign(german(tmp_path), "forward-translator", by, DAY)


def test_signing_changes_nothing_but_the_record(tmp_path):
    path = german(tmp_path)
    before = path.read_text("utf-8").splitlines()
    sign(path, "forward-translator", "AB", DAY)
    after = path.read_text("utf-8").splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert changed == [('"X-Forward-Translator: \\n"', '"X-Forward-Translator: AB 2026-11-25\\n"')]
