"""The demo: from first touch to printed page, the same way as at the kiosk, and the same bytes every time."""

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from kiosk.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
PRIMARY = (
    "steady.preferred.scatter",
    "brisk.preferred.scatter",
    "circles.preferred.lag",
    "wander.preferred.delay",
    "wander.preferred.scatter",
    "steady.other.scatter",
)
BLOCK_SCORES = ("scatter", "lag", "delay", "error_rms", "time_on_target", "along_sd", "across_sd")


def demo(out: Path, *options: str, seed: int = 7, visits: int = 1) -> Path:
    assert main(["demo", "--out", str(out), "--seed", str(seed), "--visits", str(visits), *options]) == 0
    return out


@pytest.fixture(scope="module")
def three_visits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo(tmp_path_factory.mktemp("demo"), "--no-window", visits=3)


@pytest.fixture(scope="module")
def one_visit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo(tmp_path_factory.mktemp("demo"), "--no-window")


def findings(out: Path) -> list[dict]:
    return json.loads((out / "findings.json").read_text("utf-8"))["visits"]


def page_text(out: Path) -> str:
    reader = PdfReader(out / "report.pdf")
    assert len(reader.pages) == 1
    return " ".join(reader.pages[0].extract_text().split())


def digests(out: Path) -> tuple[str, ...]:
    return tuple(
        hashlib.sha256((out / name).read_bytes()).hexdigest() for name in ("report.pdf", "findings.json")
    )


def test_three_visits_give_a_page_the_findings_and_a_csv_of_every_trial(three_visits: Path) -> None:
    visits = findings(three_visits)
    told = [trial["file"] for visit in visits for trial in visit["trials"]]
    kept = sorted(f"trials/{path.name}" for path in (three_visits / "trials").iterdir())
    assert len(visits) == 3 and sorted(told) == kept and len(kept) >= 33
    assert sum(trial["scored"] for visit in visits for trial in visit["trials"]) >= 30
    assert [visit["visit"]["form"] for visit in visits] == ["A", "B", "A"]
    assert "trials/v1-02-steady-preferred-1.csv" in kept


def test_the_visits_lie_180_days_apart_and_begin_in_the_clinics_morning(three_visits: Path) -> None:
    began = [visit["visit"]["started_at"] for visit in findings(three_visits)]
    assert [one[:16] for one in began] == ["2026-01-12T09:00", "2026-07-11T09:00", "2027-01-07T09:00"]


def test_scores_and_z_recomputed_from_outside_agree(three_visits: Path) -> None:
    """tests/outside/recompute.py imports nothing of ours; 0.1 % of every block score, 0.002 of every z."""
    script = ROOT / "tests" / "outside" / "recompute.py"
    assert "kiosk" not in {
        line.split()[1].split(".")[0]
        for line in script.read_text("utf-8").splitlines()
        if line.startswith(("import ", "from "))
    }
    ran = subprocess.run(
        [sys.executable, "-I", str(script), str(three_visits), str(ROOT / "demo_norms")],
        capture_output=True,
        text=True,
        check=True,
    )
    visits, answers = findings(three_visits), json.loads(ran.stdout)
    for visit, answer in zip(visits, answers, strict=True):
        blocks = {m for m in visit["block_scores"] if m.rpartition(".")[2] in BLOCK_SCORES}
        assert set(answer["blocks"]) == blocks and len(blocks) == 25
        for measure, value in answer["blocks"].items():
            assert visit["block_scores"][measure]["value"] == pytest.approx(value, rel=1e-3), measure
        for measure in PRIMARY:
            assert visit["standings"][measure]["z"] == pytest.approx(answer["z"][measure], abs=0.002), measure


def test_the_page_bears_the_primary_values_and_percentiles_of_the_findings(three_visits: Path) -> None:
    text, last = page_text(three_visits), findings(three_visits)[-1]
    for measure in PRIMARY:
        value, unit = (last["block_scores"][measure][name] for name in ("value", "unit"))
        usual, close = (1, 2) if unit == "mm" else (0, 1)
        shown = [f"{abs(value):.{decimals}f} {unit}" for decimals in (usual, close)]  # more beside a limit
        percentile = last["standings"][measure]["percentile"]
        assert any(one in text for one in shown), measure
        near = {str(int(np.floor(percentile))), str(int(np.ceil(percentile)))}
        assert any(f" {one} (" in text for one in near), measure


def test_the_page_says_what_every_page_must_say(three_visits: Path) -> None:
    text, last = page_text(three_visits), findings(three_visits)[-1]
    low, chance = last["profile"]["n_low"], last["profile"]["chance_percent"]
    worse = last["change_profile"]["n_worse"]
    assert f"{low or 'None'} of 6 scores" in text
    assert f"About {chance:.0f} in 100 people of the reference group" in text
    assert f"{worse or 'None'} of 6" in text and "reliably poorer than at visit 2" in text
    assert "in 100 people who have not changed show" in text
    assert "It does not diagnose or rule out anything" in text
    assert "SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE." in text
    assert last["standings"][PRIMARY[0]]["label"] in text
    assert "Not yet reviewed" in text


def test_the_same_seed_gives_the_same_bytes_in_another_process_and_time_zone(
    one_visit: Path, tmp_path: Path
) -> None:
    command = [
        sys.executable,
        "-m",
        "kiosk",
        "demo",
        "--out",
        str(tmp_path),
        "--seed",
        "7",
        "--visits",
        "1",
        "--no-window",
    ]
    subprocess.run(
        command,
        check=True,
        cwd=ROOT,
        env=os.environ | {"TZ": "Pacific/Auckland", "LC_ALL": "C"},
        capture_output=True,
    )
    assert digests(tmp_path) == digests(one_visit)


def test_another_seed_gives_other_bytes(one_visit: Path, tmp_path: Path) -> None:
    other = digests(demo(tmp_path, "--no-window", seed=8))
    assert all(new != old for new, old in zip(other, digests(one_visit), strict=True))


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, set[str]]]:
    """By screen name, digests of the pixels of the first frames of it."""
    from kiosk.screens.stage import Stage

    seen: dict[str, set[str]] = {}
    draw: Callable[[Stage], None] = Stage.draw

    def looked_at(stage: Stage) -> None:
        draw(stage)
        if len(seen.setdefault(stage.shown, set())) < 2:
            seen[stage.shown].add(hashlib.sha256(stage.pixels()).hexdigest())

    monkeypatch.setattr(Stage, "draw", looked_at)
    yield seen


def test_a_window_changes_no_byte_and_at_least_six_different_screens_are_drawn(
    one_visit: Path, tmp_path: Path, drawn: dict[str, set[str]]
) -> None:
    assert digests(demo(tmp_path)) == digests(one_visit)
    pictures = set().union(*drawn.values())
    assert len(drawn) >= 6 and len(pictures) >= 6
    assert {"welcome", "demonstration", "instruction", "trial", "rest", "thanks"} <= set(drawn)


def test_the_demo_fails_with_the_scoring(tmp_path: Path) -> None:
    """The demo scores by the same room as a visit: break it and the demo ends with an error and no page."""
    program = (
        "import sys, kiosk.app.visit_runner, kiosk.cli.main\n"
        "def broken(record, observations=()):\n    raise ZeroDivisionError('scoring is broken')\n"
        "kiosk.app.visit_runner.score_trial = broken\n"
        f"sys.exit(kiosk.cli.main.main(['demo', '--out', {str(tmp_path)!r}, '--no-window', '--visits', '1']))"
    )
    ran = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True)
    assert ran.returncode != 0 and "scoring is broken" in ran.stderr
    assert not (tmp_path / "report.pdf").exists()


def test_a_stored_visit_gives_its_page_again_by_id_and_by_tag(tmp_path: Path) -> None:
    store = tmp_path / "store.db"
    words = tmp_path / "words.txt"
    words.write_text("a lamp beside the harbour wall\n")
    kept = ("--store", str(store), "--passphrase-file", str(words))
    out = demo(tmp_path / "out", "--no-window", *kept, visits=2)
    visit = findings(out)[-1]["visit"]["id"]
    again = tmp_path / "again.pdf"
    assert main(["report", visit, *kept, "--out", str(again)]) == 0
    plain = " ".join(PdfReader(again).pages[0].extract_text().split())
    told, made = page_text(out), " made "
    assert plain.split(made)[0] == told.split(made)[0]
