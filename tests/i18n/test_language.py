"""A language: its messages, its numbers and dates, and catalogues that are refused."""

import datetime as dt
from pathlib import Path

import pytest

from kiosk.base.errors import FaultyFile, Refused
from kiosk.i18n.catalogue_file import header
from kiosk.i18n.language import Language, available, load_language, own_name_of

MINUS, NBSP = "\N{MINUS SIGN}", "\N{NO-BREAK SPACE}"
GERMAN = """
msgid ""
msgstr ""
"Language: de\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"
"X-Status: draft\\n"
"X-Forward-Translator: AB 2026-11-20\\n"

msgid "Begin"
msgstr "Beginnen"

msgctxt "hand"
msgid "right"
msgstr "rechts"

#: kiosk/wording/page.py:1
#, python-format
msgid "%(n)s of %(m)s"
msgstr "%(n)s von %(m)s"

#, python-format
msgid "one trial"
msgid_plural "%(n)d trials"
msgstr[0] "ein Durchgang"
msgstr[1] "%(n)d Durchgänge"

#, fuzzy
msgid "Stop"
msgstr "Ungeprüft"
"""


def catalogue(folder: Path, tag: str, text: str) -> Path:
    path = folder / tag / "LC_MESSAGES" / "kiosk.po"
    path.parent.mkdir(parents=True)
    path.write_text(text, "utf-8")
    return path


@pytest.fixture
def english() -> Language:
    return load_language("en")


@pytest.fixture
def german(tmp_path: Path) -> Language:
    catalogue(tmp_path, "de", GERMAN)
    return load_language("de", tmp_path)


def bare(tmp_path: Path, tag: str) -> Language:
    """A language without a single translated message."""
    catalogue(tmp_path, tag.replace("-", "_"), 'msgid ""\nmsgstr ""\n"X-Status: approved\\n"\n')
    return load_language(tag, tmp_path)


def test_english_is_the_source_and_says_what_is_written(english: Language) -> None:
    assert (english.tag, english.status) == ("en", "source")
    assert (english.direction, english.script) == ("ltr", "latin")
    assert english.say("Begin") == "Begin"
    assert english.say("%(n)s of %(m)s", n=1, m=3) == "1 of 3"
    assert english.say_in("hand", "right") == "right"
    counted = [english.say_n("one trial", "%(n)d trials", n) for n in (0, 1, 2)]
    assert counted == ["0 trials", "one trial", "2 trials"]


def test_a_catalogue_is_said_with_its_contexts_plurals_and_values(german: Language) -> None:
    assert german.status == "draft"
    assert german.say("Begin") == "Beginnen"
    assert german.say("%(n)s of %(m)s", n=1, m=3) == "1 von 3"
    assert german.say_in("hand", "right") == "rechts"
    assert german.say_in("side", "right") == "right"
    assert [german.say_n("one trial", "%(n)d trials", n) for n in (1, 5)] == ["ein Durchgang", "5 Durchgänge"]


def test_what_is_not_translated_or_not_checked_stays_english(german: Language) -> None:
    assert german.say("Rest") == "Rest"
    assert german.say("Stop") == "Stop"
    assert german.say("") == ""


def test_two_languages_do_not_disturb_each_other(german: Language, english: Language) -> None:
    said = [language.say("Begin") for language in (german, english, german)]
    assert said == ["Beginnen", "Begin", "Beginnen"]


@pytest.mark.parametrize(
    ("value", "decimals", "written"),
    [
        (0.0, 0, "0"), (-0.04, 1, "0.0"), (-1.25, 1, f"{MINUS}1.3"), (1.25, 1, "1.3"), (2.675, 2, "2.68"),
        (12345.5, 0, "12346"), (1e-7, 3, "0.000"), (302.4, 0, "302"), (-8, 0, f"{MINUS}8"),
    ],
)  # fmt: skip
def test_a_number_is_rounded_half_away_from_zero_with_a_true_minus(
    english: Language, value: float, decimals: int, written: str
) -> None:
    assert english.number(value, decimals) == written


def test_a_signed_number_shows_its_plus(english: Language) -> None:
    written = [english.number(value, 1, signed=True) for value in (1.5, 0.0, -1.5)]
    assert written == ["+1.5", "0.0", f"{MINUS}1.5"]


# Decimal signs and places of the percent sign: Unicode CLDR, common/main/{de,fr,hi,zh}.xml.
@pytest.mark.parametrize(
    ("tag", "number", "percent"),
    [
        ("de", f"{MINUS}1234,5", f"38{NBSP}%"),
        ("fr", f"{MINUS}1234,5", f"38{NBSP}%"),
        ("hi", f"{MINUS}1234.5", "38%"),
        ("zh-Hans", f"{MINUS}1234.5", "38%"),
    ],
)
def test_numbers_are_written_as_the_language_does(
    tmp_path: Path, tag: str, number: str, percent: str
) -> None:
    language = bare(tmp_path, tag)
    assert (language.number(-1234.5, 1), language.percent(38)) == (number, percent)


def test_a_percentage_in_english_stands_apart_from_its_sign(english: Language) -> None:
    assert english.percent(38.2) == f"38{NBSP}%"


def test_right_to_left_keeps_digits_in_order_and_the_minus_before_them(tmp_path: Path) -> None:
    arabic = bare(tmp_path, "ar")
    assert (arabic.direction, arabic.script) == ("rtl", "arabic")
    assert arabic.number(-123.4, 1) == f"\N{LEFT-TO-RIGHT MARK}{MINUS}123.4"
    assert arabic.number(123.4, 1) == "123.4"


def test_a_percentage_in_arabic_has_the_marks_of_cldr_that_keep_its_sign_behind_the_digits(
    tmp_path: Path,
) -> None:
    # Unicode CLDR, common/main/ar.xml, symbols of the numbering system latn: percentSign is LRM % LRM.
    assert bare(tmp_path, "ar").percent(84) == "84\N{LEFT-TO-RIGHT MARK}%\N{LEFT-TO-RIGHT MARK}"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_not_a_number_is_never_written(english: Language, value: float) -> None:
    with pytest.raises(ValueError, match="must be finite"):
        english.number(value, 1)


def test_a_date_names_its_month(english: Language, german: Language, tmp_path: Path) -> None:
    day = dt.date(2026, 11, 25)
    assert english.date(day) == "25 Nov 2026"
    assert english.long_date(day) == "Wednesday 25 November 2026"
    assert english.month(day) == "Nov 2026"
    assert german.date(day) == "25. Nov. 2026"
    assert english.date(dt.date(2026, 5, 4)) == "4 May 2026"


def test_a_moment_is_written_with_the_offset_of_its_zone(english: Language) -> None:
    moment = dt.datetime(2026, 11, 25, 9, 42, tzinfo=dt.UTC)
    assert english.date_time(moment, dt.timezone(dt.timedelta(hours=1))) == "25 Nov 2026 10:42 (UTC+01:00)"
    west = dt.timezone(dt.timedelta(hours=-9, minutes=-30))
    assert english.date_time(moment, west) == f"25 Nov 2026 00:12 (UTC{MINUS}09:30)"
    assert english.time(dt.time(9, 5)) == "09:05"


def test_a_moment_without_a_zone_is_refused(english: Language) -> None:
    with pytest.raises(ValueError, match="must bear its time zone"):
        english.date_time(dt.datetime(2026, 11, 25, 9, 42), dt.UTC)


def test_the_languages_of_a_folder_are_listed_english_first(tmp_path: Path) -> None:
    for tag in ("de", "ar", "en", "zh_Hans"):
        catalogue(tmp_path, tag, GERMAN)
    assert available(tmp_path) == ("en", "ar", "de", "zh-Hans")
    assert "en" in available()


@pytest.mark.parametrize(
    "form", ["von %(m)s", "%(n)s von %(m)", "%(n)s von %(m)s = 100 %", "%(n)s von %(m)s %(k)s"]
)
def test_a_translation_that_could_not_be_filled_in_is_refused(tmp_path: Path, form: str) -> None:
    catalogue(tmp_path, "de", GERMAN.replace("%(n)s von %(m)s", form))
    with pytest.raises(FaultyFile) as refused:
        load_language("de", tmp_path)
    assert [fault.value for fault in refused.value.faults] == [form]


@pytest.mark.parametrize("tag", ["xx", "", "../en", "en/../en", "EN!", "de"])
def test_a_language_without_a_catalogue_is_refused(tag: str, tmp_path: Path) -> None:
    catalogue(tmp_path, "en", GERMAN)
    with pytest.raises(Refused) as refused:
        load_language(tag, tmp_path)
    assert (refused.value.code, refused.value.values["tag"]) == ("language_unknown", tag)


def test_a_translation_that_loses_or_invents_a_value_is_refused_with_every_fault(tmp_path: Path) -> None:
    lost = GERMAN.replace("%(n)s von %(m)s", "%(n)s von allen").replace("Beginnen", "Beginnen %(wer)s")
    path = catalogue(tmp_path, "de", lost)
    with pytest.raises(FaultyFile) as refused:
        load_language("de", tmp_path)
    assert [fault.rule for fault in refused.value.faults] == ["must_keep_the_placeholders"] * 2
    assert {fault.value for fault in refused.value.faults} == {"%(n)s von allen", "Beginnen %(wer)s"}
    assert refused.value.faults[0].file == str(path)


@pytest.mark.parametrize("text", ["not a catalogue", 'msgid "a"\nmsgid "b"\nmsgid "c"\n'])
def test_a_file_that_is_no_catalogue_is_refused(tmp_path: Path, text: str) -> None:
    catalogue(tmp_path, "de", text)
    with pytest.raises(FaultyFile):
        load_language("de", tmp_path)


def test_an_unknown_status_is_refused(tmp_path: Path) -> None:
    catalogue(tmp_path, "de", GERMAN.replace("X-Status: draft", "X-Status: splendid"))
    with pytest.raises(FaultyFile) as refused:
        load_language("de", tmp_path)
    assert refused.value.faults[0].value == "splendid"


def test_the_adaptation_record_is_read_from_the_header(tmp_path: Path) -> None:
    record = header(catalogue(tmp_path, "de", GERMAN))
    assert record["X-Forward-Translator"] == "AB 2026-11-20"
    assert record["X-Status"] == "draft"


# Names of languages: Unicode CLDR, main/en.xml, main/de.xml, main/pl.xml (localeDisplayNames).
def test_languages_without_a_name_of_ours_have_that_of_cldr():
    assert load_language("en").name_of("pl") == "Polish"
    assert load_language("de").name_of("pl") == "Polnisch"
    assert own_name_of("pl") == "Polski"
    assert own_name_of("xq") == "xq"
