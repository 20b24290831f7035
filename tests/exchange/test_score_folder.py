"""`kiosk score FOLDER`: one tidy CSV, one row a trial and score; bad files are named and stop nothing."""

import csv
import io
import json

import numpy as np
import pytest

from kiosk.app import recordings
from kiosk.cli.main import main
from kiosk.cli.recordings import _counted
from kiosk.exchange.trial_csv import write_samples
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import move, typical_hand

TRIALS = (("steady", "preferred", 1), ("steady", "other", 1), ("wander", "preferred", 2))


def text_of(block, hand, number, form="A"):
    plan, rng = load_battery().plan(block, hand, number, form=form), np.random.default_rng(number)
    out = io.StringIO()
    write_samples(move(typical_hand(50, rng), plan, rng, 60.0), out)
    return out.getvalue()


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trials")
    for place, (block, hand, number) in enumerate(TRIALS, start=1):
        (folder / f"v1-{place:02d}-{block}-{hand}-{number}.csv").write_text(text_of(block, hand, number))
    return folder


@pytest.fixture
def folder(good, tmp_path):
    for file in good.iterdir():
        (tmp_path / file.name).write_text(file.read_text())
    return tmp_path


def scored(capsys, *arguments, code=0):
    assert main(["score", *map(str, arguments)]) == code
    out, err = capsys.readouterr()
    return list(csv.DictReader(io.StringIO(out))), err


def test_one_row_a_trial_and_score_with_the_numbers_of_a_single_recording(capsys, folder):
    rows, err = scored(capsys, folder, "--latency-ms", "40")
    assert err == "" and len({row["file"] for row in rows}) == 3
    alone = ["--block", "wander", "--hand", "preferred", "--trial", "2", "--latency-ms", "40", "--json"]
    assert main(["score", str(folder / "v1-03-wander-preferred-2.csv"), *alone]) == 0
    told = json.loads(capsys.readouterr().out)
    mine = {row["score"]: row for row in rows if row["block"] == "wander"}
    figures = {name: one for name, one in told.items() if isinstance(one, dict)}
    assert set(mine) == set(figures) and len(mine) > 15
    for name, row in mine.items():
        assert float(row["value"]) == figures[name]["value"] and row["unit"] == figures[name]["unit"]
        assert (row["se"] == "") == (figures[name]["se"] is None)
    assert {(row["hand"], row["side"], row["trial"]) for row in rows if row["block"] == "steady"} == {
        ("preferred", "right", "1"), ("other", "left", "1")}
    assert {row["valid"] for row in rows} == {"yes"} and {row["latency_ms"] for row in rows} == {"40.0"}


COLUMNS = "t_s, x_mm, y_mm and contact"
SPOILED = {
    "truncated in a row": (lambda text: text[:len(text) // 2].rstrip("\n").rpartition(",")[0], "fields"),
    "empty": (lambda text: "", "empty"),
    "a picture": (lambda text: b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "UTF-8"),
    "another kind of file": (lambda text: '{"visits": [1, 2],\n "format": 1}\n', COLUMNS),
    "a table of something else": (lambda text: "person,score\nA,1\nB,2\n", COLUMNS),
    "one corrupt byte": (lambda text: text.encode()[:900] + b"\xff" + text.encode()[901:], "UTF-8"),
}


@pytest.mark.parametrize("how", SPOILED)
def test_a_folder_with_one_bad_file_scores_the_others_and_names_it_in_one_sentence(capsys, folder, how):
    spoil, told = SPOILED[how]
    bad = folder / "v1-02-steady-other-1.csv"
    content = spoil(bad.read_text())
    bad.write_bytes(content if isinstance(content, bytes) else content.encode())
    rows, err = scored(capsys, folder, code=1)
    assert {row["file"][:5] for row in rows} == {"v1-01", "v1-03"}
    assert len(err.strip().splitlines()) == 1 and err.startswith(bad.name) and told in err
    assert main(["score", str(bad), "--block", "steady", "--hand", "other", "--trial", "1"]) == 1
    assert capsys.readouterr().err == err


def test_a_recording_cut_off_between_rows_is_told_unfit_and_not_refused(capsys, folder):
    bad = folder / "v1-02-steady-other-1.csv"
    bad.write_text("\n".join(bad.read_text().splitlines()[:600]) + "\n")
    rows, _ = scored(capsys, folder)
    mine = [row for row in rows if row["file"] == bad.name]
    assert {(row["valid"], row["reasons"]) for row in mine} == {("no", "window_cut_short")}
    assert {(row["value"], row["se"], row["reason"]) for row in mine} == {("", "", "window_cut_short")}


@pytest.mark.parametrize(
    "name", ["notes.csv", "v1-04-steady-preferred-9.csv", "v1-04-zigzag-preferred-1.csv"])
def test_a_file_that_names_no_trial_is_named_and_the_others_are_scored(capsys, folder, name):
    (folder / name).write_text(text_of("steady", "preferred", 1))
    rows, err = scored(capsys, folder, code=1)
    assert len({row["file"] for row in rows}) == 3
    assert len(err.strip().splitlines()) == 1 and "Traceback" not in err


def test_form_and_side_come_from_the_findings_beside_the_folder(capsys, folder):
    inside = folder / "trials"
    inside.mkdir()
    (inside / "v2-01-wander-preferred-1.csv").write_text(text_of("wander", "preferred", 1, form="B"))
    told = {"visits": [{"visit": {"form": "B"}, "trials": [
        {"file": "trials/v2-01-wander-preferred-1.csv", "side": "left"}]}]}
    (folder / "findings.json").write_text(json.dumps(told))
    rows, _ = scored(capsys, inside)
    assert {(row["form"], row["side"]) for row in rows} == {("B", "left")}
    assert float(next(row["value"] for row in rows if row["score"] == "follow")) > 60


def test_processes_give_the_same_rows_in_the_same_order(folder, monkeypatch):
    (folder / "v1-04-brisk-preferred-1.csv").write_text("t_s,x_mm\n")
    jobs = recordings.jobs_of(folder, form=None, side=None, latency_ms=None)
    alone = list(recordings.score_jobs(jobs, 1))
    monkeypatch.setattr(recordings, "WORTH_PROCESSES", 2)
    together = list(recordings.score_jobs(jobs, 2))
    assert len(alone) == 4
    for one, other in zip(alone, together, strict=True):
        if isinstance(one, recordings.ScoredRecording):
            assert list(one.rows()) == list(other.rows())
        else:
            assert str(one) == str(other) and type(one) is type(other)


def test_progress_is_shown_on_a_terminal_and_nowhere_else(capsys, monkeypatch):
    from kiosk.i18n.language import load_language

    assert list(_counted([1, 2, 3], 3, load_language("en"))) == [1, 2, 3]
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    list(_counted([1, 2, 3], 3, load_language("en")))
    assert capsys.readouterr().err == "\r1 of 3\r2 of 3\r3 of 3\n"
