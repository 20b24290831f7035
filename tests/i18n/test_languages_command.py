"""`kiosk languages` from the outside: a ninth language from nothing, and what is refused."""

import re
import shutil

import pytest
from pypdf import PdfReader

from kiosk.base.settings import locales_folder
from kiosk.cli.main import main
from kiosk.i18n.catalogue_file import catalogue_path, forms_of, header, read_catalogue
from kiosk.i18n.catalogue_update import catalogue_text
from kiosk.i18n.language import load_language


def run(capsys, *arguments):
    code = main(["languages", *map(str, arguments)])
    told = capsys.readouterr()
    return code, told.out, told.err


ACCENTS = re.compile(r"(%\(\w+\)[a-z]|%%)")
ACCENTED = str.maketrans("aeiouAEIOU", "àéíóúÀÉÍÓÚ")


def accented(text):
    """English with accents on its vowels, placeholders left alone: as long as English, and never the same."""
    return "".join(part if n % 2 else part.translate(ACCENTED) for n, part in enumerate(ACCENTS.split(text)))


def pseudo_translate(path):
    """Fill every form and say how people are addressed, as a translator would in the file."""
    catalogue = read_catalogue(path)
    for message in catalogue:
        if message.id:
            one, *many = map(accented, forms_of(message.id))
            message.string = [one, *many * (catalogue.num_plurals - 1)] if many else one
    record = {**header(path), "X-Address": "formal, Pan or Pani"}
    path.write_text(catalogue_text(catalogue, record, "# Polish\n"), "utf-8")


# The steps of README.md, "A language of your own"; nothing in the code knows Polish.
@pytest.mark.parametrize("checked", [["--words-only"], pytest.param([], marks=pytest.mark.long)])
def test_a_ninth_language_is_added_from_nothing_and_a_visit_given_in_it(
    tmp_path, capsys, monkeypatch, checked
):
    shutil.copytree(locales_folder() / "en", tmp_path / "en")
    assert run(capsys, "template", "--folder", tmp_path)[0] == 0
    assert run(capsys, "update", "pl", "--folder", tmp_path)[0] == 0
    code, _, told = run(capsys, "check", "pl", "--folder", tmp_path, "--words-only")
    assert code == 1
    assert "pl: kiosk.po, row" in told
    assert "must be translated, got Begin." in told
    pseudo_translate(catalogue_path("pl", tmp_path))
    assert run(capsys, "update", "pl", "--folder", tmp_path)[0] == 0
    assert run(capsys, "check", "pl", "--folder", tmp_path, *checked)[::2] == (0, "")
    signing = ("--role", "forward-translator", "--by", "AB", "--date", "2026-11-25", "--folder", tmp_path)
    assert run(capsys, "approve", "pl", *signing)[0] == 0
    language = load_language("pl", tmp_path)
    assert (language.status, language.say_in("button", "Begin")) == ("draft", accented("Begin"))
    assert language.number(1.5, 1) == "1,5"
    monkeypatch.setenv("PURSUIT_LOCALES", str(tmp_path))
    asked = ["demo", "--no-window", "--visits", "1", "--language", "pl", "--page-language", "pl"]
    assert main([*asked, "--out", str(tmp_path / "out")]) == 0
    page = PdfReader(tmp_path / "out" / "report.pdf").pages[0].extract_text()
    assert accented("Visually guided hand movement") in page


def test_a_catalogue_with_faults_is_not_signed(tmp_path, capsys):
    run(capsys, "template", "--folder", tmp_path)
    run(capsys, "update", "pl", "--folder", tmp_path)
    signing = ("--role", "forward-translator", "--by", "AB", "--date", "2026-11-25", "--folder", tmp_path)
    code, _, told = run(capsys, "approve", "pl", *signing)
    assert (code, told.count("\n")) == (1, 1)
    assert "languages check names them" in told


@pytest.mark.parametrize(
    "arguments",
    [["approve", "ar", "--role", "king", "--by", "A", "--date", "2026-11-25"], [], ["approve", "ar"],
     ["approve", "ar", "--role", "pilot", "--by", "A", "--date", "soon"]],
)  # fmt: skip
def test_wrong_usage_is_told_in_a_sentence(capsys, arguments):
    code, _, told = run(capsys, *arguments)
    assert code == 2
    assert "Traceback" not in told


def test_a_language_that_is_not_there_is_refused(tmp_path, capsys):
    code, _, told = run(capsys, "check", "de", "--folder", tmp_path)
    assert (code, told) == (1, "There is no catalogue for the language de.\n")
