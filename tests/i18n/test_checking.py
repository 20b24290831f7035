"""What the check of a catalogue finds: each fault planted in a sound one, with its line and message."""


import pytest

from kiosk.base.errors import Refused
from kiosk.i18n.catalogue_update import update
from kiosk.i18n.checking import check, forbidden
from kiosk.i18n.extraction import SourceMessage
from tests.i18n.sample_catalogue import GERMAN, SOURCE, fill, german, write_source
from tests.needed_packages import needs


def faults(folder, tag="de", messages=SOURCE):
    return {fault.rule: fault for fault in check(tag, folder, messages).faults}


def planted(folder, old, new):
    path = german(folder)
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")
    return faults(folder)


def test_a_sound_catalogue_has_no_fault(tmp_path):
    german(tmp_path)
    assert faults(tmp_path) == {}


@pytest.mark.parametrize(
    ("old", "new", "rule", "value"),
    [
        ('"Beginnen"', '""', "must_be_translated", "Begin"),
        ('"%(n)s von %(m)s"', '"%(n)s von allen"', "must_keep_the_placeholders", "%(n)s von allen"),
        ('"%(n)s von %(m)s"', '"%(n)s von %(k)s"', "must_keep_the_placeholders", "%(n)s von %(k)s"),
        ('[1] "%(n)d Durchgänge"', '[1] ""', "must_be_translated", "one trial"),
        ('"Beginnen"', '"Beginnen "', "must_keep_the_spaces_at_its_ends", "Beginnen "),
        ('"Beginnen"', '"Beginnen \u0663"', "must_write_digits_0_to_9", "Beginnen \u0663"),
        ('"Halt"', '"Keine Diagnose"', "must_not_hold_a_forbidden_word", "Diagnos: Keine Diagnose"),
        ('"Halt"', '"Halt \u2603"', "must_be_in_letters_of_the_font", "U+2603 SNOWMAN: Halt \u2603"),
        ("msgid \"Begin\"", "#, fuzzy\nmsgid \"Begin\"", "must_be_looked_at_again", "Begin"),
        ("msgid \"Begin\"", "msgid \"Begun\"", "must_stand_in_the_source", "Begun"),
        ("msgid \"Begin\"", "msgid \"Begun\"", "must_hold_every_message", "Begin"),
    ],
)  # fmt: skip
def test_a_planted_fault_is_named_with_its_message(tmp_path, old, new, rule, value):
    assert planted(tmp_path, old, new)[rule].value == value


def test_a_fault_bears_the_line_of_its_message(tmp_path):
    fault = planted(tmp_path, '"%(n)s von %(m)s"', '"%(n)s"')["must_keep_the_placeholders"]
    lines = (tmp_path / "de/LC_MESSAGES/kiosk.po").read_text("utf-8").splitlines()
    assert lines[fault.row - 1] == 'msgid "%(n)s of %(m)s"'


@needs("gettext")
def test_gettexts_own_compiler_is_heard(tmp_path):
    found = planted(tmp_path, "nplurals=2", "nplurals=3")
    assert "plural forms" in found["must_pass_msgfmt"].value


def test_a_catalogue_left_in_english_is_refused_units_apart(tmp_path):
    write_source(tmp_path)
    update("de", tmp_path, SOURCE)
    fill(tmp_path, "de", {**GERMAN, "Begin": "Begin"})
    found = check("de", tmp_path, SOURCE)
    assert found.same_as_source == ("Begin",)
    assert [fault.rule for fault in found.faults] == ["must_differ_from_the_source"]


def test_one_word_in_twenty_may_be_the_same(tmp_path):
    many = tuple(SourceMessage("", f"Word {n}", "", ("a.py",)) for n in range(20))
    write_source(tmp_path, many)
    update("de", tmp_path, many)
    fill(tmp_path, "de", {f"Word {n}": f"Wort {n}" if n else "Word 0" for n in range(20)}, many)
    assert faults(tmp_path, messages=many) == {}


def test_a_language_without_a_catalogue_cannot_be_checked(tmp_path):
    with pytest.raises(Refused, match="language_unknown"):
        check("de", tmp_path, SOURCE)


@pytest.mark.parametrize(
    ("tag", "text", "word"),
    [
        ("en", "7th percentile", "7th"), ("en", "the person tested", ""), ("ar", "لا تشخيص", "تشخيص"),
        ("ar", "ممرض", ""), ("ar", "الشخص", ""), ("de", "Krankheit", "Krankheit"), ("de", "normal", "normal"),
        ("fr", "%(n)de visite", ")de"), ("fr", "échec", "échec"), ("es", "enfermedad", "enfermedad"),
        ("pt", "falhou", "falh"), ("zh-Hans", "正常异常", "异常"), ("hi", "रोग", "रोग"),
        ("pl", "Parkinson", "Parkinson"),
    ],
)  # fmt: skip
def test_forbidden_words_are_known_in_each_language(tag, text, word):
    assert forbidden(text, tag) == word


def test_a_fixed_caution_may_say_what_the_english_says(tmp_path):
    caution = (*SOURCE, SourceMessage("", "It does not diagnose anything.", "", ("a.py",)))
    write_source(tmp_path, caution)
    update("de", tmp_path, caution)
    fill(tmp_path, "de", {**GERMAN, "It does not diagnose anything.": "Sie stellt keine Diagnose."}, caution)
    assert faults(tmp_path, messages=caution) == {}


def test_the_leaflets_caution_may_say_illness_and_no_other_message_may(tmp_path):
    caution = (
        "The results cannot say whether you have an illness. Nothing should be changed in your medicines "
        "because of this page."
    )
    said = "Die Ergebnisse können nicht sagen, ob Sie eine Krankheit haben."
    for english, rules in (
        (caution, {}),
        (caution.replace("page", "leaflet"), {"must_not_hold_a_forbidden_word"}),
    ):
        folder = tmp_path / str(len(rules))
        folder.mkdir()
        messages = (*SOURCE, SourceMessage("", english, "", ("a.py",)))
        write_source(folder, messages)
        update("de", folder, messages)
        fill(folder, "de", {**GERMAN, english: said}, messages)
        assert set(faults(folder, messages=messages)) == set(rules)
