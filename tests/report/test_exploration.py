"""The exploration sheet: what is drawn is what was recorded, as PDF, PNG and CSV."""

import csv
import io

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from kiosk.cli.main import main
from kiosk.exchange.trial_csv import write_samples
from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.simulated_hand import move, typical_hand
from kiosk.pursuit.trial import TrialFacts, TrialRecord
from kiosk.report.exploration import OVERSIZE, PX_PER_MM, explore
from kiosk.report.paper import DATA, LINE, PAPERS, TINT
from kiosk.scoring.score import score_trial
from kiosk.scoring.traces import traces_of
from kiosk.wording.exploration_words import exploration_words

PLAN = load_battery().plan("brisk", "preferred", 1)


def samples_of(plan=PLAN, age=75, seed=4):
    rng = np.random.default_rng(seed)
    made = move(typical_hand(age, rng), plan, rng)
    away = (made.t_s > 9.0) & (made.t_s < 9.6)
    return Samples(made.t_s, made.x_mm, made.y_mm, made.contact & ~away)


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    file = tmp_path_factory.mktemp("trial") / "v1-07-brisk-preferred-1.csv"
    with file.open("w") as out:
        write_samples(samples_of(), out)
    return file


TRIAL = ("--block", "brisk", "--hand", "preferred", "--trial", "1")


def plotted(recording, out, capsys, *options):
    assert main(["score", str(recording), *TRIAL, "--plot", str(out), *options]) == 0
    capsys.readouterr()
    return out


def test_the_pdf_bears_every_score_and_each_turn_by_itself(recording, tmp_path, capsys):
    reader = PdfReader(plotted(recording, tmp_path / "sheet.pdf", capsys, "--latency-ms", "35"))
    text = " ".join(reader.pages[0].extract_text().split())
    values = score_trial(TrialRecord(PLAN, samples_of(), TrialFacts(latency_ms=35.0))).values
    assert len(reader.pages) == 1
    assert all(f"Turn {turn} of 4" in text for turn in (1, 2, 3, 4))
    assert f"Scatter {values['scatter'].value:.2f} ± {values['scatter'].se:.2f} mm" in text
    assert f"Lag as recorded {values['lag'].value + 35:.1f}" in text and "latency of 35 ms taken off" in text
    assert reader.metadata.title == "Brisk circle 1"


def test_the_same_recording_gives_the_same_bytes(recording, tmp_path, capsys):
    for kind in ("pdf", "png"):
        first, second = (plotted(recording, tmp_path / f"{n}.{kind}", capsys).read_bytes() for n in (1, 2))
        assert first == second


def rgb(colour):
    return tuple(int(colour[at:at + 2], 16) for at in (1, 3, 5))


def test_what_is_shaded_is_the_time_off_the_disc(recording, tmp_path, capsys):
    """Counted in the picture: shaded columns of the distance plot against 100 % less time on target."""
    image = Image.open(plotted(recording, tmp_path / "sheet.png", capsys))
    picture = np.asarray(image.convert("RGB")).astype(int)
    paper = PAPERS["A4"]
    row = picture[round((paper.top_mm + 74.4) * PX_PER_MM)]
    left, right = (round((paper.side_mm + x) * PX_PER_MM) for x in (10.0, 177.5))
    shaded = np.abs(row[left:right] - rgb(TINT)).max(axis=1) < 12
    values = score_trial(TrialRecord(PLAN, samples_of(), TrialFacts())).values
    axis_s = 20.0
    off_percent = 100 * shaded.mean() * axis_s / 16.0
    assert values["time_on_target"].value < 90
    assert off_percent == pytest.approx(100 - values["time_on_target"].value, abs=4.0)


class Strokes:
    """A surface that only keeps what is drawn on it."""

    def __init__(self):
        self.lines, self.texts = [], []

    def text_width(self, text, style):
        return float(len(text))

    def write(self, x_mm, baseline_mm, text, style, align="left"):
        self.texts.append(text)
        return x_mm

    def polyline(self, points, width_mm, colour="#000000"):
        self.lines.append((colour, np.array(points)))

    def rectangle(self, *box):
        pass


def drawn(samples, plan=PLAN):
    record, language, surface = TrialRecord(plan, samples, TrialFacts()), load_language("en"), Strokes()
    traces = traces_of(record)
    explore(surface, traces, exploration_words("a.csv", traces, score_trial(record), language), language)
    return surface


def test_no_turn_is_drawn_over_another_and_a_lift_breaks_the_line():
    """Paths lie in the first 62 mm: four discs; the hand's lines never run into a neighbour."""
    paths = [(colour, line) for colour, line in drawn(samples_of()).lines if line[:, 1].max() < 63]
    discs = [line for colour, line in paths if colour == LINE]
    hands = [line for colour, line in paths if colour == DATA]
    assert len(discs) == 4 and len(hands) >= 5
    for place, line in enumerate(discs):
        assert place * 45.6 <= line[:, 0].min() and line[:, 0].max() <= place * 45.6 + 43
        assert np.ptp(line[:, 0]) == pytest.approx(80 * 43 / 120, abs=0.2)
    assert all(np.ptp(line[:, 0]) < 44 for line in hands)


def test_a_wandering_path_is_drawn_in_stretches_of_five_seconds():
    plan = load_battery().plan("wander", "preferred", 1)
    texts = drawn(samples_of(plan), plan).texts
    assert [one for one in texts if one.startswith("Seconds ")] == [
        "Seconds 2 to 7", "Seconds 7 to 12", "Seconds 12 to 17", "Seconds 17 to 22"]


def test_with_too_little_contact_the_sheet_says_what_it_cannot_show():
    made = samples_of()
    half = Samples(made.t_s, made.x_mm, made.y_mm, made.contact & ((made.t_s < 8) | (made.t_s > 14)))
    assert drawn(half).texts.count("Too little contact to show this.") == 3


def test_the_tables_hold_the_instants_from_which_the_scores_follow(recording, tmp_path, capsys):
    """Recomputed from the CSV alone: error, time on target, scatter's two parts, power."""
    out = plotted(recording, tmp_path / "sheet.csv", capsys)
    rows = list(csv.DictReader(io.StringIO(out.read_text())))
    values = score_trial(TrialRecord(PLAN, samples_of(), TrialFacts())).values
    distance = np.array([float(row["distance_mm"]) for row in rows])
    assert len(rows) == 16 * 240
    assert np.sqrt(np.mean(np.minimum(distance, 40) ** 2)) == pytest.approx(values["error_rms"].value)
    on = 100 * np.mean([row["on_target"] == "1" for row in rows])
    assert on == pytest.approx(values["time_on_target"].value)
    for name in ("along", "across"):
        known = [float(row[f"{name}_mm"]) for row in rows if row["contact"] == "1"]
        assert np.sqrt(np.mean(np.square(known))) == pytest.approx(values[f"{name}_sd"].value)
    spectrum = list(csv.DictReader((tmp_path / "sheet-spectrum.csv").open()))
    assert [float(row["f_hz"]) for row in spectrum] == [0.25 * k for k in range(2, 81)]


def test_a_folder_gives_one_page_for_each_trial(recording, tmp_path, capsys):
    (recording.parent / "v1-08-brisk-preferred-2.csv").write_text("t_s\n")
    out = tmp_path / "all.pdf"
    assert main(["score", str(recording.parent), "--plot", str(out)]) == 1
    assert "v1-08-brisk-preferred-2.csv" in capsys.readouterr().err
    assert len(PdfReader(out).pages) == 1


@pytest.mark.parametrize(("name", "code"), [("sheet.svg", 2), ("nowhere/sheet.pdf", 1)])
def test_a_plot_that_cannot_be_made_is_refused_in_one_sentence(recording, tmp_path, capsys, name, code):
    assert main(["score", str(recording), *TRIAL, "--plot", str(tmp_path / name)]) == code
    out, err = capsys.readouterr()
    assert out == "" and len(err.strip().splitlines()) == 1 and list(tmp_path.iterdir()) == []


def test_a_recording_that_does_not_cover_the_window_is_not_plotted(tmp_path, capsys):
    short = tmp_path / "short.csv"
    short.write_text("t_s,x_mm,y_mm,contact\n" + "".join(f"{k / 100},0,40,1\n" for k in range(500)))
    assert main(["score", str(short), *TRIAL, "--plot", str(tmp_path / "sheet.pdf")]) == 1
    assert "short.csv" in capsys.readouterr().err and not (tmp_path / "sheet.pdf").exists()


def test_a_picture_is_as_large_as_the_sheet():
    assert (PX_PER_MM, OVERSIZE) == (6, 2)
