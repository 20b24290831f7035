"""`kiosk passport`: one page and one file of what was measured of the tablet."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from kiosk.app.store_opening import SignIn, open_store
from kiosk.cli.composition import machine
from kiosk.cli.main import main
from kiosk.touch.line_check import Line, LineFigures, check_lines

WORDS = "a lamp beside the harbour wall"


def passport(store: Path, words: Path, out: Path) -> int:
    return main(["passport", "--store", str(store), "--passphrase-file", str(words), "--out", str(out)])


def test_the_file_has_every_measurement_and_the_page_is_one(tmp_path: Path) -> None:
    store, words = tmp_path / "s.store", tmp_path / "w"
    words.write_text(WORDS + "\n")
    assert main(["demo", "--no-window", "--visits", "1", "--out", str(tmp_path / "out"), "--store",
                 str(store), "--passphrase-file", str(words)]) == 0
    archive = open_store(store, SignIn(WORDS), machine()).store
    device = archive.newest_device()
    calibration = archive.newest_calibration(device.id)
    archive.add_device(replace(device, latency_ms=61.0, latency_sd_ms=2.0, latency_method="operator_slide"))
    for jitter_mm in (0.2, 0.7):
        archive.add_line_check(device.id, calibration.id, check_lines(
            [LineFigures(line, 0.1 if line is Line.STILL else jitter_mm) for line in Line]))
    assert passport(store, words, tmp_path / "passport") == 0
    told = json.loads((tmp_path / "passport/passport.json").read_text("utf-8"))
    newest = {one["by"]: one["figures"] for one in told["newest"]}
    assert newest["slide"]["latency_ms"] == 61.0 and newest["lines"]["noise_mm"] == pytest.approx(0.7)
    changed = {one["figure"]: (one["before"], one["now"]) for one in told["changes"]}
    assert changed["noise_mm"] == pytest.approx((0.2, 0.7)) and "at_rest.jitter_mm" not in changed
    page = PdfReader(tmp_path / "passport/passport.pdf")
    text = " ".join(page.pages[0].extract_text().split())
    assert len(page.pages) == 1 and "61.0 ms" in text and "while the finger moves" in text


def test_a_store_in_which_nothing_was_measured_is_told(tmp_path: Path,
                                                       capsys: pytest.CaptureFixture[str]) -> None:
    store, words = tmp_path / "s.store", tmp_path / "w"
    words.write_text(WORDS + "\n")
    assert main(["staff", "set-up", "--store", str(store), "--passphrase-file", str(words)]) == 0
    assert passport(store, words, tmp_path / "passport") == 1
    assert not (tmp_path / "passport").exists()
