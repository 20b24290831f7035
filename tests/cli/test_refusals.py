"""What the command line refuses: one plain sentence naming thing, rule and value, and no traceback.

Exit 1 for what is refused, 2 for wrong usage; nothing is written.
"""

import os
import shutil
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from kiosk.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
HEADER = "t_s,x_mm,y_mm,contact\n"
ROWS = "0.0,0.0,40.0,1\n0.1,0.1,40.0,1\n"
TRIAL = ("--block", "steady", "--hand", "preferred", "--trial", "1")
Captured = pytest.CaptureFixture[str]


def refused(capsys: Captured, *arguments: str, code: int = 1) -> str:
    """The sentences on standard error."""
    assert main(arguments) == code
    out, err = capsys.readouterr()
    assert out == "" and err.strip() and "Traceback" not in err and "Error(" not in err
    assert all(line.endswith(".") for line in err.strip().splitlines())
    return err


@pytest.mark.parametrize(("content", "named"), [
    (b"", ("empty",)),
    (b"t_s,x_mm,contact\n0,0,1\n1,0,1\n", ("row 1", "y_mm")),
    ((HEADER + "0.0,0,40,1\n0.1,here,40,1\n").encode(), ("row 3", "x_mm", "here")),
    ((HEADER + "0.0,0,40,1\n0.1,NaN,40,1\n").encode(), ("row 3", "x_mm", "NaN")),
    ((HEADER + "0.0,0,40,1\n0.1,inf,40,1\n").encode(), ("row 3", "x_mm", "inf")),
    ((HEADER + "0.2,0,40,1\n0.1,0,40,1\n").encode(), ("row 3", "t_s", "0.1")),
    ((HEADER + "0.0,0,40,1\n").encode(), ("two samples", "1")),
    ((HEADER + "0.0,0,40,1\n0.1,0,40,7\n").encode(), ("row 3", "contact", "7")),
    (bytes(range(256)) * 8, ("UTF-8",)),
    ((HEADER + ROWS).encode("utf-16"), ("UTF-8",)),
], ids=["empty", "missing column", "text", "NaN", "inf", "backwards", "one sample", "contact 7", "binary",
        "UTF-16"])
def test_a_recording_that_is_not_one_is_refused(
        capsys: Captured, tmp_path: Path, content: bytes, named: tuple[str, ...]) -> None:
    file = tmp_path / "recording.csv"
    file.write_bytes(content)
    said = refused(capsys, "score", str(file), *TRIAL)
    assert said.startswith("recording.csv") and all(word in said for word in named), said


def test_all_faults_of_a_recording_are_named_together(capsys: Captured, tmp_path: Path) -> None:
    file = tmp_path / "recording.csv"
    file.write_text(HEADER + "0.0,a,40,1\n0.1,0,inf,1\n0.05,0,40,7\n")
    said = refused(capsys, "score", str(file), *TRIAL)
    assert len(said.strip().splitlines()) == 4


def test_a_recording_that_is_not_there_is_named(capsys: Captured, tmp_path: Path) -> None:
    assert "nowhere.csv" in refused(capsys, "score", str(tmp_path / "nowhere.csv"), *TRIAL)


def test_a_folder_without_recordings_is_refused(capsys: Captured, tmp_path: Path) -> None:
    assert tmp_path.name in refused(capsys, "score", str(tmp_path))


@pytest.mark.parametrize("arguments", [
    ("target", "--block", "zigzag", "--hand", "preferred", "--trial", "1"),
    ("target", "--block", "steady", "--hand", "preferred", "--trial", "99"),
    ("target", "--block", "wander", "--hand", "other", "--trial", "1"),
    ("target", "--block", "steady", "--hand", "preferred", "--trial", "first"),
    ("target", "--block", "steady", "--hand", "preferred", "--trial", "1", "--rate", "0"),
    ("score", "recording.csv", "--block", "steady"),
    ("score", "recording.csv", *TRIAL, "--latency-ms", "nan"),
    ("demo", "--visits", "0"),
    ("dance",),
])
def test_wrong_usage_is_told_in_one_sentence(capsys: Captured, arguments: tuple[str, ...]) -> None:
    assert len(refused(capsys, *arguments, code=2).strip().splitlines()) == 1


def test_an_age_outside_the_table_is_refused_with_the_ages_it_has(capsys: Captured) -> None:
    said = refused(capsys, "norms", "compare", "--table", str(ROOT / "demo_norms"), "--measure",
                   "steady.preferred.scatter", "--value", "5", "--age", "12")
    assert "12" in said and "18" in said and "91" in said


def damaged(change: Callable[[str], str], into: Path) -> Path:
    """The demo's table with table.csv changed; hash and size left as they were."""
    shutil.copytree(ROOT / "demo_norms", into)
    table = into / "table.csv"
    table.write_text(change(table.read_text("utf-8")), "utf-8")
    return into


@pytest.mark.parametrize(("change", "named"), [
    (lambda text: text.replace(",18,19,", ",18,22,", 1), ("table.csv", "overlap")),
    (lambda text: text.replace(",18,19,", ",18,18.5,", 1), ("table.csv", "gap")),
    (lambda text: text.replace("720", "721", 1), ("table.csv", "sha256")),
], ids=["overlap", "gap", "wrong sha256"])
def test_a_faulty_table_is_refused_with_file_and_rule(
        capsys: Captured, tmp_path: Path, change: Callable[[str], str], named: tuple[str, ...]) -> None:
    said = refused(capsys, "norms", "check", str(damaged(change, tmp_path / "table")))
    assert all(word in said.lower() for word in named), said


def test_a_folder_that_cannot_be_written_is_refused_before_anything_is_done(
        capsys: Captured, tmp_path: Path) -> None:
    if os.geteuid() == 0:
        taken = tmp_path / "out"
        taken.write_text("a file where the folder should be")
        assert "out" in refused(capsys, "demo", "--out", str(taken), "--no-window")
        assert taken.read_text() == "a file where the folder should be"
        return
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    assert "out" in refused(capsys, "demo", "--out", str(tmp_path / "out"), "--no-window")
    assert list(tmp_path.iterdir()) == []


def test_start_without_a_display_is_refused(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    """It would run invisibly."""
    monkeypatch.delenv("DISPLAY", raising=False)
    assert len(refused(capsys, "start").strip().splitlines()) == 1


def test_a_store_that_is_none_is_refused(capsys: Captured, tmp_path: Path) -> None:
    file, words = tmp_path / "store.db", tmp_path / "words.txt"
    words.write_text("a lamp beside the harbour wall")
    asked = ("report", "XY-34", "--store", str(file), "--passphrase-file", str(words))
    assert "store.db" in refused(capsys, *asked)
    file.write_bytes(b"something else entirely" * 100)
    assert "store.db" in refused(capsys, *asked)
    assert "nowhere.txt" in refused(capsys, *asked[:-1], str(tmp_path / "nowhere.txt"))
