"""A visit given in one language and reported in another: the words change, no number does."""

import json
import re

import pytest
from pypdf import PdfReader

from kiosk.cli.main import main
from kiosk.i18n.language import load_language
from kiosk.wording.circumstances import language_words

PAIRS = [("ar", "de"), ("hi", "en")]


@pytest.fixture(scope="module")
def visits(tmp_path_factory):
    """By the languages it was given and read in: the page, its text, and the findings of one visit."""
    found = {}
    for spoken, read in (("en", "en"), *PAIRS):
        out = tmp_path_factory.mktemp(f"{spoken}-{read}")
        asked = ["demo", "--no-window", "--visits", "1", "--seed", "5", "--language", spoken]
        assert main([*asked, "--page-language", read, "--out", str(out)]) == 0
        page = PdfReader(out / "report.pdf")
        text = re.sub(r"\s+", " ", page.pages[0].extract_text())
        findings = json.loads((out / "findings.json").read_text("utf-8"))["visits"][-1]
        found[spoken, read] = page, text, findings
    return found


@pytest.mark.parametrize(("spoken", "read"), PAIRS)
def test_the_page_speaks_its_readers_language_and_names_the_visits(visits, spoken, read):
    page, text, _ = visits[spoken, read]
    readers = load_language(read)
    named = language_words(spoken, readers)
    assert page.trailer["/Root"]["/Lang"] == read
    unchecked = "The %(language)s instructions have not been checked by a second translator."
    for said in (
        readers.say("Visually guided hand movement"),
        readers.say(unchecked, language=named),
        readers.say("Not yet reviewed"),
    ):
        assert said in text
    assert named in text


@pytest.mark.parametrize(("spoken", "read"), PAIRS)
def test_a_language_outside_the_tables_scope_only_warns(visits, spoken, read):
    found, in_english = visits[spoken, read][2], visits["en", "en"][2]
    assert found["visit"]["language"] == spoken
    assert found["standings"].keys() == in_english["standings"].keys()
    for measure, standing in found["standings"].items():
        same = in_english["standings"][measure]
        assert "language_not_listed" in standing["warnings"]
        assert "language_not_listed" not in same["warnings"]
        assert {name: value for name, value in standing.items() if name != "warnings"} == {
            name: value for name, value in same.items() if name != "warnings"
        }
