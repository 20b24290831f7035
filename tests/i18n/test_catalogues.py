"""Our own catalogues: the template is fresh, every language complete, and screens ask for nothing else."""

import re
import subprocess
from dataclasses import replace

import pytest
from PIL import ImageFont

from kiosk.base.settings import locales_folder
from kiosk.i18n.catalogue_file import catalogue_path, forms_of, header, read_catalogue
from kiosk.i18n.catalogue_update import template_text
from kiosk.i18n.checking import check
from kiosk.i18n.extraction import own_messages
from kiosk.i18n.fonts import font_file
from kiosk.i18n.language import available, load_language
from kiosk.i18n.pseudo_localisation import PSEUDO_TAG, longer
from kiosk.wording.instructions import stop_word
from tests.needed_packages import needs

TAGS = [tag for tag in available() if tag != "en"]
PERSON_LONGEST = 63  # SCREENS.md: sentences for the person
MESSAGES = own_messages()


def test_the_template_is_what_the_source_says_now():
    """Red? `python3 kiosk languages update` brings template and catalogues up to date."""
    assert (locales_folder() / "kiosk.pot").read_text("utf-8") == template_text(MESSAGES)


def test_english_is_the_source_and_needs_no_entries():
    path = catalogue_path("en", locales_folder())
    assert header(path)["X-Status"] == "source"
    assert [message for message in read_catalogue(path) if message.id] == []


def test_arabic_is_kept():
    assert "ar" in TAGS


@pytest.mark.parametrize("tag", TAGS)
def test_a_catalogue_of_ours_has_no_fault(tag):
    found = check(tag, locales_folder(), MESSAGES)
    assert [(fault.row, fault.rule, fault.value) for fault in found.faults] == []


@pytest.mark.parametrize("tag", TAGS)
def test_a_catalogue_of_ours_says_that_nobody_has_checked_it_yet(tag):
    record = header(catalogue_path(tag, locales_folder()))
    assert load_language(tag).status == "draft"
    assert record["X-Address"]
    assert [record[f"X-{who}"] for who in ("Forward-Translator", "Back-Translator", "Reviewer", "Pilot")] == [
        ""
    ] * 4


@needs("gettext")
@pytest.mark.parametrize("tag", [*TAGS, "template"])
def test_the_compiler_of_gettext_accepts_it(tag):
    folder = locales_folder()
    path = folder / "kiosk.pot" if tag == "template" else catalogue_path(tag, folder)
    ran = subprocess.run(["msgfmt", "-c", "-o", "-", str(path)], capture_output=True, check=False)
    assert ran.returncode == 0, ran.stderr.decode()


# Plural categories and their samples: Unicode CLDR, supplemental/plurals.xml (integer samples).
CLDR = {
    "ar": [(0,), (1,), (2,), (3, 10, 103, 110), (11, 26, 99, 111), (100, 101, 102, 200, 1000)],
    "de": [(1,), (0, 2, 16, 100, 1000)],
    "es": [(1,), (0, 2, 16, 100, 1000)],
    "fr": [(0, 1), (2, 17, 100, 1000)],
    "pt": [(0, 1), (2, 17, 100, 1000)],
    "hi": [(0, 1), (2, 17, 100, 1000)],
    "zh-Hans": [(0, 1, 15, 100, 1000)],
}


@pytest.mark.parametrize("tag", TAGS)
def test_a_count_takes_the_form_of_its_class(tag, tmp_path):
    text = catalogue_path(tag, locales_folder()).read_text("utf-8").split("\n\n")[0]
    forms = "".join(f'msgstr[{n}] "form {n}"\n' for n in range(len(CLDR[tag])))
    path = catalogue_path(tag, tmp_path)
    path.parent.mkdir(parents=True)
    path.write_text(f'{text}\n\nmsgid "one"\nmsgid_plural "many"\n{forms}', "utf-8")
    language = load_language(tag, tmp_path)
    for n, samples in enumerate(CLDR[tag]):
        assert {language.say_n("one", "many", count) for count in samples} == {f"form {n}"}


@pytest.mark.parametrize("tag", TAGS)
def test_what_the_person_reads_stays_short(tag):
    said = [
        (form, message.one)
        for message in MESSAGES
        if "wording/instructions.py" in message.files
        for form in forms_of(read_entry(tag, message).string)
        if len(message.one) <= PERSON_LONGEST < len(form)
    ]
    assert said == []


CATALOGUES = {tag: read_catalogue(catalogue_path(tag, locales_folder())) for tag in TAGS}


def read_entry(tag, message):
    entry = CATALOGUES[tag].get(message.one, context=message.context or None)
    assert entry is not None, message
    return entry


STOP_WIDEST_MM, CAP_MM, CAP_HEIGHT = 23.0, 4.0, 0.714  # LOOK.md 9; Noto Sans: capitals 714 of 1000


@pytest.mark.parametrize("tag", ["en", *TAGS, PSEUDO_TAG])
def test_the_word_on_stop_fits_its_button(tag):
    language = load_language(tag)
    em_mm = CAP_MM / CAP_HEIGHT
    font = ImageFont.truetype(str(font_file(language.script, 600)), 1000)
    assert font.getlength(stop_word(language)) * em_mm / 1000 <= STOP_WIDEST_MM


# AACN 2020 (Guilmette et al.), the seven labels; their English stands in kiosk.wording.labels too.
AACN = ("Exceptionally low", "Below average", "Low average", "Average", "High average", "Above average",
        "Exceptionally high")  # fmt: skip


@pytest.mark.parametrize("tag", TAGS)
def test_the_published_labels_keep_the_english_behind_a_draft(tag):
    from kiosk.wording.labels import label_words

    draft = load_language(tag)
    said = {label_words(label, draft) for label in AACN}
    assert said == {f"{draft.say(label)} [{label}]" for label in AACN} and len(said) == 7
    approved = replace(draft, status="approved")
    assert {label_words(label, approved) for label in AACN} == {draft.say(label) for label in AACN}
    assert all(draft.say(label) != label for label in AACN)


def test_longer_words_keep_placeholders_and_are_longer():
    placeholders = r"%\(\w+\)[a-z]|%%"
    for text in (text for message in MESSAGES for text in (message.one, message.many) if text):
        bare, made = re.sub(placeholders, "", text), re.sub(placeholders, "", longer(text))
        assert re.findall(placeholders, longer(text)) == re.findall(placeholders, text)
        assert len(made) >= 1.4 * len(bare) or not re.search("[aeiouAEIOU]", bare), text


def test_longer_words_are_given_as_a_language_that_is_always_complete():
    made = load_language(PSEUDO_TAG)
    assert (made.status, made.script, made.direction) == ("draft", "latin", "ltr")
    assert made.say("Begin") == longer("Begin") != "Begin"
    assert made.say_n("1 day", "%(n)d days", 3) == longer("%(n)d days") % {"n": 3}
    assert made.number(1234.5, 1) == "1234.5"
    font = ImageFont.truetype(str(font_file("latin", 400)), 100)
    said = ["Put your finger on the disc.", "Summary for a qualified clinician"]
    assert all(font.getlength(made.say(text)) >= 1.38 * font.getlength(text) for text in said)
