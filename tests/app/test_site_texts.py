"""The site's own words beside its store: the leaflet's last sentence, a line a language, every fault told."""

import pytest

from kiosk.app.site_texts import LONGEST, own_sentences, sentences_beside
from kiosk.base.errors import FaultyFile
from kiosk.i18n.language import load_language
from kiosk.wording.reasons import fault_sentence


def written(folder, text):
    path = sentences_beside(folder / "kiosk.store")
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def rules(path):
    with pytest.raises(FaultyFile) as refused:
        own_sentences(path)
    return [(fault.row, fault.rule) for fault in refused.value.faults]


def test_the_file_stands_beside_the_store(tmp_path):
    assert sentences_beside(tmp_path / "kiosk.store") == tmp_path / "kiosk.rights"


def test_a_line_a_language_is_read_and_remarks_are_passed_over(tmp_path):
    path = written(tmp_path, "\ufeff# ours\nen: You may ask us: room 2.\n\nzh-Hans:您可以询问我们。\r\n")
    assert own_sentences(path) == {"en": "You may ask us: room 2.", "zh-Hans": "您可以询问我们。"}


def test_no_file_and_an_empty_one_leave_the_usual_sentence(tmp_path):
    assert own_sentences(tmp_path / "kiosk.rights") == own_sentences(written(tmp_path, "")) == {}


def test_all_faults_are_told_together_with_their_lines(tmp_path):
    path = written(tmp_path, f"no language here\nen: Ask.\nen: Ask again.\nde: {'a' * (LONGEST + 1)}\nfr:\n")
    assert rules(path) == [
        (1, "must_be_a_language_and_a_sentence"), (3, "must_name_a_language_once"),
        (4, "must_be_short_enough"), (5, "must_be_a_language_and_a_sentence")]


def test_other_text_than_utf8_and_a_folder_in_its_place_are_refused(tmp_path):
    assert rules(written(tmp_path, b"en: \xff\xfe")) == [(None, "must_be_utf8_text")]
    folder = tmp_path / "folder"
    folder.mkdir()
    assert rules(folder) == [(None, "cannot_be_read")]


def test_every_fault_has_a_plain_sentence(tmp_path):
    path = written(tmp_path, f"nothing\nen: A.\nen: B.\nde: {'a' * (LONGEST + 1)}\n")
    with pytest.raises(FaultyFile) as refused:
        own_sentences(path)
    told = [fault_sentence(fault, load_language("en")) for fault in refused.value.faults]
    assert told == [
        "kiosk.rights, row 1: must be a language, a colon and a sentence (en: ...), got nothing.",
        "kiosk.rights, row 3: the language stands twice, got en.",
        "kiosk.rights, row 4: must be at most 200 characters long, got 201."]
