"""A research package is a valid Data Package that says what the archive says, and nothing of who it was."""

import csv
import hashlib
import json
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from kiosk.app.research_export import visits_to_export
from kiosk.base.errors import Refused
from kiosk.exchange import research_package
from kiosk.exchange.research_package import age_band, write_package
from kiosk.exchange.research_rows import ROWS_OF
from kiosk.exchange.research_tables import TABLES
from tests.exchange.demo_archive import NOTE, demo_archive
from tests.storage.search import words


@pytest.fixture(scope="module")
def archive():
    return demo_archive()


def person_of(store):
    return store.people()[0]


def exported(store):
    return visits_to_export(store, store.visits_of(person_of(store).id), Counter())


@pytest.fixture(scope="module")
def folder(archive, tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("package") / "visits"
    write_package(exported(archive), made, "0.1.0")
    return made


def rows(folder: Path, table: str) -> list[dict[str, str]]:
    with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_general_validator_of_data_packages_accepts_it(folder):
    """frictionless: types, required cells, allowed values, primary keys, hashes and sizes of every table."""
    from frictionless import Package

    report = Package(str(folder / "datapackage.json")).validate()
    assert report.valid, report.flatten(["title", "message"])
    assert len(report.tasks) == len(TABLES) == 8


@pytest.mark.parametrize(("table", "column", "value"), [
    ("visits", "form", "C"), ("trials", "position", "two"), ("block_scores", "score", "elegance"),
    ("samples", "visit_id", "")])
def test_that_validator_sees_a_cell_that_breaks_the_description(folder, tmp_path, table, column, value):
    import shutil

    from frictionless import Package

    copy = shutil.copytree(folder, tmp_path / "copy")
    found = rows(copy, table)
    found[0][column] = value
    with (copy / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(found[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(found)
    assert not Package(str(copy / "datapackage.json")).validate().valid


def test_every_table_begins_with_whose_row_it_is(folder):
    for table in TABLES:
        found = rows(folder, table.name)
        assert found, table.name
        assert list(found[0])[:7] == ["visit_id", "person", "visit", "day", "age_years", "form",
                                      "device_class"]
        assert {(one["person"], one["visit"], one["form"]) for one in found} <= {
            ("P00001", "1", "A"), ("P00001", "2", "B")}
        if table.name != "changes":
            assert {one["day"] for one in found} == {"0.0", "180.0"}


def test_the_samples_are_those_of_the_archive_to_the_last_digit(archive, folder):
    found = rows(folder, "samples")
    for number, visit in enumerate(archive.visits_of(person_of(archive).id), start=1):
        for trial in archive.trials_of(visit.id):
            place = str(number), str(trial.position)
            here = [one for one in found if (one["visit"], one["position"]) == place]
            samples = trial.record.samples
            for column, wanted in (("t_s", samples.t_s), ("x_mm", samples.x_mm), ("y_mm", samples.y_mm)):
                assert np.array_equal([float(one[column]) for one in here], wanted)
            assert [one["contact"] == "1" for one in here] == samples.contact.tolist()
    first = next(one for one in found if one["block"] == "steady")
    assert float(first["target_y_mm"]) == 40.0  # rests at 12 o'clock, 40 mm above the centre
    assert abs(float(first["target_x_mm"])) < 1e-12


def test_scores_standings_and_changes_are_those_of_the_archive(archive, folder):
    blocks = {(one["visit"], one["measure"]): one for one in rows(folder, "block_scores")}
    standings = {(one["visit"], one["measure"]): one for one in rows(folder, "standings")}
    changes = {one["measure"]: one for one in rows(folder, "changes") if one["visit"] == "2"}
    for number, visit in enumerate(archive.visits_of(person_of(archive).id), start=1):
        for measure, block in archive.scores_of(visit.id).blocks.items():
            kept = blocks[str(number), measure]
            assert kept["value"] == ("" if block.value is None else repr(block.value))
            assert kept["unit"] == block.unit
        judged = json.loads(archive.findings_of(visit.id).content)
        for measure, found in judged["standings"].items():
            kept = standings[str(number), measure]
            if "refused" in found:
                assert kept["refused"] == found["refused"] and kept["z"] == ""
            else:
                assert (float(kept["z"]), kept["label"]) == (found["z"], found["label"])
                assert [float(kept[f"percentile_{end}"]) for end in ("low", "high")] == found["interval_95"]
        if number == 2:
            for measure, found in judged["changes"].items():
                assert float(changes[measure]["limit_low_z"]) == found["limits"][0]
                assert changes[measure]["reliable"] == found["reliable"]


def test_observations_come_with_the_trial_they_belong_to_and_without_their_notes(folder):
    found = rows(folder, "observations")
    assert [(one["position"], one["code"]) for one in found] == [("3", "talked"), ("", "interrupted")] * 2


def test_nothing_in_it_tells_who_it_was(archive, folder):
    """Codes, names, birth dates, notes, ids, dates, the place: as text, UTF-16, hexadecimal and base64."""
    person, content = person_of(archive), b"".join(path.read_bytes() for path in sorted(folder.iterdir()))
    visits = archive.visits_of(person.id)
    ids = [str(one) for one in (person.id, *(visit.id for visit in visits), visits[0].device_id)]
    moments = [visit.started_at.date().isoformat() for visit in visits]
    planted = words(person.code, person.birth_date, NOTE, "crimson", *ids, *moments, "Harbour Street")
    assert [what for what, piece in planted.items() if piece in content] == []
    assert b"P00001" in content


def test_the_dictionary_tells_every_column_once_and_the_tables_have_no_other(folder):
    told = [(one["table"], one["column"]) for one in csv.DictReader((folder / "data_dictionary.csv").open())]
    assert told == [(table.name, column) for table in TABLES for column in rows(folder, table.name)[0]]
    page = (folder / "data_dictionary.md").read_text("utf-8")
    assert all(f"| `{column}` |" in page for _, column in told)
    assert {table.name for table in TABLES} == {table.name for table in ROWS_OF}
    for table in TABLES:
        assert all(column.meaning for column in table.columns)
        assert set(table.key) <= {column.name for column in table.columns if column.required}


def test_the_manifest_holds_the_sha256_of_every_other_file(folder):
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    there = {path.name for path in folder.iterdir()} - {"manifest.json"}
    assert set(manifest["files"]) == there
    for name, told in manifest["files"].items():
        assert told["sha256"] == hashlib.sha256((folder / name).read_bytes()).hexdigest()
    assert manifest["versions"] == {"battery": ["clinic 1"], "kiosk": ["0.1.0"], "scoring": ["1"]}
    assert (manifest["visits"], manifest["people"]) == (2, 1)


def test_the_same_visits_give_the_same_bytes(archive, folder, tmp_path):
    write_package(exported(archive), tmp_path / "again", "0.1.0")
    assert {path.name: path.read_bytes() for path in (tmp_path / "again").iterdir()} == {
        path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_smallest_group_of_people_alike_is_told(folder):
    assert "age band and sex is 70-79 not_asked: 1." in (folder / "README.md").read_text("utf-8")
    assert [age_band(age) for age in (5, 18, 29.9, 30, 79.99, 80)] == [
        "under 18", "18-29", "18-29", "30-39", "70-79", "80-89"]


def test_a_disk_that_fills_up_leaves_no_half_package(archive, tmp_path, monkeypatch):
    """The write of the samples breaks off; nothing stands under the final name or beside it."""
    written, rest = research_package._write_rows, iter(range(9))

    def full(found, out):
        if next(rest) == 7:
            raise OSError(28, "No space left on device")
        return written(found, out)

    monkeypatch.setattr(research_package, "_write_rows", full)
    with pytest.raises(Refused) as refused:
        write_package(exported(archive), tmp_path / "visits", "0.1.0")
    assert refused.value.code == "cannot_write" and "No space" in str(dict(refused.value.values))
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_stands_there_is_never_written_over(archive, tmp_path):
    (tmp_path / "visits").mkdir()
    with pytest.raises(Refused, match="exists_already"):
        write_package(exported(archive), tmp_path / "visits", "0.1.0")


def test_no_visit_makes_no_package(tmp_path):
    with pytest.raises(Refused, match="nothing_for_research"):
        write_package([], tmp_path / "visits", "0.1.0")
    assert list(tmp_path.iterdir()) == []


def test_people_of_ninety_and_of_no_known_age_are_left_out_and_counted(archive, monkeypatch):
    person, left_out = person_of(archive), Counter()
    visits = archive.visits_of(person.id)
    for birth_date in ("1935-01-01", ""):
        monkeypatch.setattr(archive, "person", lambda _, born=birth_date: replace(person, birth_date=born))
        assert list(visits_to_export(archive, visits, left_out)) == []
    assert left_out == {"age_tells_who": 2, "age_not_known": 2}


def test_a_text_that_a_spreadsheet_would_run_does_not_run(archive, tmp_path):
    one = next(exported(archive))
    write_package([replace(one, device_class='=HYPERLINK("x")')], tmp_path / "visits", "0.1.0")
    assert rows(tmp_path / "visits", "visits")[0]["device_class"] == '\'=HYPERLINK("x")'
