"""A catalogue through a spreadsheet and back: nothing lost, locked columns held, formulas never run."""

import csv
import io

import pytest

from kiosk.base.errors import FaultyFile
from kiosk.cli.main import main
from kiosk.i18n.catalogue_file import read_catalogue
from kiosk.i18n.catalogue_update import update
from kiosk.i18n.checking import check
from kiosk.i18n.extraction import SourceMessage
from kiosk.i18n.language import load_language
from kiosk.i18n.spreadsheet import AGAIN, COLUMNS, defused, restored, sheet_text, take_back
from tests.i18n.sample_catalogue import GERMAN, SOURCE, fill, german, write_source

FORMULA = (*SOURCE, SourceMessage("", "+ more", "", ("c.py",)), SourceMessage("", "'tis", "", ("c.py",)))


def rows_of(text):
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline="")))


def written(tmp_path, rows, columns=COLUMNS):
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    path = tmp_path / "sheet.csv"
    path.write_text(out.getvalue(), "utf-8", newline="")
    return path


def faults_of(tmp_path, rows, **changed):
    with pytest.raises(FaultyFile) as refused:
        take_back("de", tmp_path, written(tmp_path, rows, **changed))
    return [(fault.row, fault.column, fault.rule) for fault in refused.value.faults]


def test_a_sheet_that_nobody_changed_changes_nothing(tmp_path):
    path = german(tmp_path)
    before = path.read_bytes()
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(sheet_text("de", tmp_path), "utf-8", newline="")
    assert take_back("de", tmp_path, sheet) == (0, 0)
    assert path.read_bytes() == before


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_it_comes_back_as_spreadsheet_programs_save_it(tmp_path, separator, encoding):
    """Semicolons where the decimal sign is a comma, tabs with "Unicode text" (common practice, no source)."""
    german(tmp_path)
    rows = rows_of(sheet_text("de", tmp_path))
    next(row for row in rows if row["english"] == "Begin")["translation"] = "Los; jetzt, Anfang"
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, delimiter=separator)
    writer.writeheader()
    writer.writerows(rows)
    mark = "\ufeff" if encoding == "utf-16-le" else ""
    (tmp_path / "sheet.csv").write_text(mark + out.getvalue(), encoding, newline="")
    assert take_back("de", tmp_path, tmp_path / "sheet.csv") == (1, 0)
    assert load_language("de", tmp_path).say("Begin") == "Los; jetzt, Anfang"


def test_a_row_that_is_gone_leaves_its_message_and_is_counted(tmp_path):
    path = german(tmp_path)
    before = path.read_bytes()
    rows = [row for row in rows_of(sheet_text("de", tmp_path)) if row["english"] != "Begin"]
    assert take_back("de", tmp_path, written(tmp_path, rows)) == (0, 1)
    assert path.read_bytes() == before


def test_every_message_is_filled_from_a_sheet(tmp_path):
    write_source(tmp_path)
    update("de", tmp_path, SOURCE)
    rows = rows_of(sheet_text("de", tmp_path))
    assert len(rows) == len(SOURCE) + 1  # one message has two forms
    for row in rows:
        given = GERMAN[row["english"]] if row["english"] in GERMAN else GERMAN["one trial"]
        row["translation"] = given if isinstance(given, str) else given[int(row["form"])]
    assert take_back("de", tmp_path, written(tmp_path, rows)) == (len(SOURCE), 0)
    language = load_language("de", tmp_path)
    assert language.say_in("button", "Stop") == "Halt"
    assert language.say_n("one trial", "%(n)d trials", 3) == "3 Durchgänge"


def test_a_lost_placeholder_is_told_with_its_row_and_nothing_is_taken(tmp_path):
    path = german(tmp_path)
    before = path.read_bytes()
    rows = rows_of(sheet_text("de", tmp_path))
    spoiled = [row for row in rows if "%(m)s" in row["english"]]
    spoiled[0]["translation"] = "%(n)s von allen"
    rows[0]["translation"] = "Los"
    line = rows.index(spoiled[0]) + 2
    assert faults_of(tmp_path, rows) == [(line, "translation", "must_keep_the_placeholders")]
    assert path.read_bytes() == before


@pytest.mark.parametrize(("column", "rule"), [
    ("english", "must_be_left_as_it_was"), ("context", "must_be_left_as_it_was"),
    ("key", "must_stand_in_the_catalogue"), ("form", "must_stand_in_the_catalogue"),
])  # fmt: skip
def test_a_locked_column_that_was_changed_is_told(tmp_path, column, rule):
    german(tmp_path)
    rows = rows_of(sheet_text("de", tmp_path))
    rows[1][column] = "another"
    assert [(row, found) for row, _, found in faults_of(tmp_path, rows)] == [(3, rule)]


def test_markup_that_the_english_has_not_is_told(tmp_path):
    german(tmp_path)
    rows = rows_of(sheet_text("de", tmp_path))
    rows[0]["translation"] = "<b>Los</b>"
    assert faults_of(tmp_path, rows) == [(2, "translation", "must_keep_the_marks")]


def test_a_sheet_without_its_columns_or_not_in_utf8_is_refused(tmp_path):
    german(tmp_path)
    rows = rows_of(sheet_text("de", tmp_path))
    assert faults_of(tmp_path, rows, columns=COLUMNS[:4]) == [(1, None, "must_have_the_columns")]
    (tmp_path / "sheet.csv").write_bytes("käse".encode("latin-1"))
    with pytest.raises(FaultyFile, match="must_be_saved_as_csv"):
        take_back("de", tmp_path, tmp_path / "sheet.csv")


# What a spreadsheet runs: OWASP, "CSV Injection": cells that begin with = + - @, tab or carriage return.
@pytest.mark.parametrize(
    "cell", ["=1+1", "+1", "-1", "@a", "\tx", "\rx", "'quoted", "''twice", "plain", "", "a=b"]
)
def test_a_formula_is_defused_and_comes_back_as_it_was(cell):
    assert not defused(cell).startswith(("=", "+", "-", "@", "\t", "\r"))
    assert restored(defused(cell)) == cell


def test_messages_that_look_like_formulas_survive_the_way(tmp_path):
    write_source(tmp_path, FORMULA)
    update("de", tmp_path, FORMULA)
    fill(tmp_path, "de", {**GERMAN, "+ more": "=mehr", "'tis": "'s ist"}, FORMULA)
    text = sheet_text("de", tmp_path)
    assert "\n=" not in text and ",=" not in text and ",+" not in text
    path = tmp_path / "sheet.csv"
    path.write_text(text, "utf-8", newline="")
    assert take_back("de", tmp_path, path) == (0, 0)
    assert load_language("de", tmp_path).say("+ more") == "=mehr"


def test_a_message_to_be_looked_at_again_is_so_until_its_state_is_cleared(tmp_path):
    path = german(tmp_path)
    catalogue = read_catalogue(path)
    text = path.read_text("utf-8").replace('msgid "Begin"', '#, fuzzy\nmsgid "Begin"')
    path.write_text(text, "utf-8")
    rows = rows_of(sheet_text("de", tmp_path))
    assert [row["english"] for row in rows if row["state"] == AGAIN] == ["Begin"]
    for row in rows:
        row["state"] = ""
    assert take_back("de", tmp_path, written(tmp_path, rows)) == (1, 0)
    assert not any(message.fuzzy for message in read_catalogue(path) if message.id)
    assert len(list(read_catalogue(path))) == len(list(catalogue))


def test_the_commands_write_a_sheet_and_take_it_back(tmp_path, capsys):
    german(tmp_path)
    sheet = tmp_path / "de.csv"
    assert main(["languages", "sheet", "de", "--folder", str(tmp_path), "--out", str(sheet)]) == 0
    assert sheet.read_bytes()[:3] == b"\xef\xbb\xbf"
    sheet.write_text(sheet.read_text("utf-8-sig").replace("Beginnen", "Los"), "utf-8", newline="")
    assert main(["languages", "take", "de", str(sheet), "--folder", str(tmp_path)]) == 0
    assert load_language("de", tmp_path).say("Begin") == "Los"
    sheet.write_text(sheet.read_text("utf-8").replace("%(n)s von", "von"), "utf-8", newline="")
    capsys.readouterr()
    assert main(["languages", "take", "de", str(sheet), "--folder", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    assert "de.csv, row" in told and "must keep the placeholders" in told


def test_marks_steering_letters_and_a_missing_address_are_faults_of_a_catalogue(tmp_path):
    path = german(tmp_path)
    text = path.read_text("utf-8")
    spoiled = text.replace('"Beginnen"', '"[b]Los[/b]"').replace('"Halt"', '"Halt\u202e"')
    path.write_text(spoiled.replace("X-Address: formal, Sie", "X-Address: "), "utf-8")
    rules = {fault.rule for fault in check("de", tmp_path, SOURCE).faults}
    assert {"must_keep_the_marks", "must_not_steer_the_order_of_letters"} <= rules
    assert "must_say_how_people_are_addressed" in rules
