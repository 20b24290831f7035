"""A BIDS dataset that the official validator passes, and whose samples score as the archive scored them."""

import csv
import json
import shutil
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from kiosk.app.research_export import visits_to_export
from kiosk.base.errors import Refused
from kiosk.exchange.bids import CHANNELS, write_bids
from kiosk.pursuit.samples import Samples
from kiosk.pursuit.trial import TrialRecord
from kiosk.scoring.grid import GRID_HZ
from kiosk.scoring.score import score_trial
from tests.exchange.demo_archive import NOTE, demo_archive
from tests.storage.search import words


@pytest.fixture(scope="module")
def archive():
    return demo_archive()


def visits(archive):
    return archive.visits_of(archive.people()[0].id)


@pytest.fixture(scope="module")
def dataset(archive, tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("bids") / "dataset"
    assert write_bids(visits_to_export(archive, visits(archive), Counter()), made, "0.1.0") == (2, 1)
    return made


def issues(folder: Path) -> list[dict]:
    """What bids-validator-deno says, the validator of the BIDS maintainers."""
    validator = Path(sys.executable).with_name("bids-validator-deno")
    command = [str(validator), "--format", "json", "--max-rows", "-1", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True)
    return json.loads(done.stdout)["issues"]["issues"]


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t"))


def motion(path: Path) -> np.ndarray:
    return np.genfromtxt(path, delimiter="\t", missing_values="n/a", filling_values=np.nan)


def test_the_official_validator_finds_no_error(dataset):
    found = issues(dataset)
    assert [one for one in found if one["severity"] == "error"] == []
    recommended = {one["code"] for one in found}
    assert recommended <= {"SIDECAR_KEY_RECOMMENDED", "JSON_KEY_RECOMMENDED", "TOO_FEW_AUTHORS"}


@pytest.mark.parametrize("spoil", [
    lambda folder: next(folder.rglob("*_motion.json")).write_text('{"TaskName": "steady"}'),
    lambda folder: (folder / "participants.tsv").write_text("person\tage\nsub-P00001\t71\n"),
    lambda folder: next(folder.rglob("*_channels.tsv")).write_text("name\ttype\nx\tFOO\n")])
def test_that_validator_sees_a_dataset_that_is_none(dataset, tmp_path, spoil):
    copy = shutil.copytree(dataset, tmp_path / "copy")
    spoil(copy)
    assert [one for one in issues(copy) if one["severity"] == "error"]


def test_each_trial_stands_there_as_recorded_and_on_even_instants(archive, dataset):
    for number, visit in enumerate(visits(archive), start=1):
        session = dataset / "sub-P00001" / f"ses-{number:02d}"
        scans = table(next(session.glob("*_scans.tsv")))
        trials = archive.trials_of(visit.id)
        assert len(scans) == 2 * len(trials)
        for trial, recorded, even in zip(trials, scans[::2], scans[1::2], strict=True):
            samples, plan = trial.record.samples, trial.record.plan
            assert (recorded["block"], recorded["hand"], recorded["trial"]) == (
                plan.block, plan.hand, str(plan.number))
            found = motion(session / recorded["filename"])
            assert found.shape == (samples.t_s.size, len(CHANNELS))
            assert np.array_equal(found[:, 1], samples.x_mm) and np.array_equal(found[:, 2], samples.y_mm)
            assert np.array_equal(found[:, 0], samples.t_s - samples.t_s[0])
            assert motion(session / even["filename"]).shape == (round(GRID_HZ * plan.window_s), len(CHANNELS))


def test_scores_of_the_dataset_s_samples_are_those_of_the_archive(archive, dataset):
    """Read back with numpy alone: times from the events file, the plan from the battery's own definition."""
    visit = visits(archive)[0]
    session, scores = dataset / "sub-P00001" / "ses-01", archive.scores_of(visit.id)
    scans = table(next(session.glob("*_scans.tsv")))[::2]
    for trial, scan in zip(archive.trials_of(visit.id), scans, strict=True):
        found, path = motion(session / scan["filename"]), session / scan["filename"]
        events = table(Path(str(path).replace("_tracksys-touch", "").replace("_motion.tsv", "_events.tsv")))
        set_off_s = next(float(one["onset"]) for one in events if one["trial_type"] == "run_in")
        samples = Samples(found[:, 0] - set_off_s, found[:, 1], found[:, 2], found[:, 3] == 1.0)
        again = score_trial(TrialRecord(trial.record.plan, samples, trial.record.facts))
        for name, kept in scores.trials[trial.id].values.items():
            value = again.values[name].value
            assert (value is None) == (kept.value is None)
            assert value is None or value == pytest.approx(kept.value, rel=1e-9, abs=1e-9)


def test_a_lift_is_n_a_on_even_instants_and_an_event_of_the_recording(archive, tmp_path):
    one = next(visits_to_export(archive, visits(archive)[:1], Counter()))
    trial = one.trials[1]
    samples = trial.record.samples
    down = samples.contact & ~((samples.t_s > 8.0) & (samples.t_s < 8.5))
    lifted = replace(trial, record=replace(
        trial.record, samples=Samples(samples.t_s, samples.x_mm, samples.y_mm, down)))
    write_bids([replace(one, trials=[lifted])], tmp_path / "dataset", "0.1.0")
    even = motion(next(tmp_path.rglob("*even240*_motion.tsv")))
    assert np.isnan(even[:, 1]).mean() == pytest.approx(0.5 / 16, abs=0.01) and not np.isnan(even[:, 4]).any()
    lifts = [one for one in table(next(tmp_path.rglob("*_events.tsv"))) if one["trial_type"] == "lift"]
    assert float(lifts[0]["duration"]) == pytest.approx(0.5, abs=0.02)


def test_nothing_in_it_tells_who_it_was(archive, dataset):
    person = archive.people()[0]
    content = b"".join(path.read_bytes() for path in sorted(dataset.rglob("*")) if path.is_file())
    names = " ".join(str(path) for path in dataset.rglob("*")).encode()
    ids = [str(one) for one in (person.id, *(visit.id for visit in visits(archive)))]
    moments = [visit.started_at.date().isoformat() for visit in visits(archive)]
    planted = words(person.code, person.birth_date, NOTE, "crimson", *ids, *moments, "Harbour Street")
    assert [what for what, piece in planted.items() if piece in content or piece in names] == []


def test_a_dataset_is_whole_or_not_there(archive, tmp_path, monkeypatch):
    def full(*given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kiosk.exchange.bids._write_top", full)
    with pytest.raises(Refused, match="cannot_write"):
        write_bids(visits_to_export(archive, visits(archive), Counter()), tmp_path / "dataset", "0.1.0")
    with pytest.raises(Refused, match="nothing_for_research"):
        write_bids([], tmp_path / "dataset", "0.1.0")
    assert list(tmp_path.iterdir()) == []
