"""Reference and retest visits leave the store as a sample, only of those who agreed, and norms reads it."""

import csv
import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from kiosk.app.store_opening import SignIn, open_store
from kiosk.cli.composition import machine
from kiosk.cli.main import main
from kiosk.scoring.catalogue import KINDS, PRIMARY
from kiosk.scoring.trial_scores import BlockScore
from kiosk.storage.store import Store
from kiosk.visits.visit import Visit
from norms.build.sample import read_sample
from tests.storage.examples import BEGINS, Examples

WORDS = "a lamp beside the harbour wall"
STORE = ("--store", "s.store", "--passphrase-file", "w")


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.chdir(tmp_path)
    Path("w").write_text(WORDS + "\n")
    assert main(["staff", "set-up", *STORE]) == 0
    return open_store(Path("s.store"), SignIn(WORDS), machine()).store


def keep(store: Store, example: Examples, days: int, purpose: str, use: str = "yes", **more: object) -> Visit:
    """A scored visit of a person who is in the store."""
    visit = replace(
        example.visit,
        id=example.new_id(),
        purpose=purpose,
        research_use=use,
        started_at=BEGINS + timedelta(days=days),
        **more,
    )
    store.begin_visit(visit)
    blocks = [
        BlockScore(measure, 5.0 + days / 100, 1.6 + days / 100, 0.1, 3, KINDS[measure.split(".")[-1]].unit)
        for measure in (*PRIMARY, "steady.preferred.gain")
    ]
    store.add_scores(visit.id, 1, [], [*blocks, BlockScore("brisk.preferred.lag", None, None, None, 1, "ms")])
    return visit


def person(store: Store, seed: int, **details: object) -> Examples:
    example = Examples(seed)
    example.person = replace(example.person, code=f"K-{seed}", family_name="Invented", **details)
    example.begin(store)
    return example


def exported() -> list[dict[str, str]]:
    with Path("sample.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def test_only_reference_and_retest_visits_of_those_who_agreed_are_written(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    one, other = person(store, 11, sex="male"), person(store, 12)
    keep(store, one, 0, "reference")
    keep(store, one, 180, "retest", earlier_visits=1)
    keep(store, other, 3, "reference", use="no")
    keep(store, other, 4, "care")
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    rows = exported()
    assert {(row["person"], row["visit"], row["purpose"]) for row in rows} == {
        ("P00001", "1", "reference"),
        ("P00001", "2", "retest"),
    }
    assert sorted({row["measure"] for row in rows}) == sorted(PRIMARY)  # no facts, nothing unscored
    assert {row["day"] for row in rows} == {"0.0", "180.0"} and {row["sex"] for row in rows} == {"male"}
    assert "12 lines of 1 people are in sample.csv." in capsys.readouterr().out


def test_norms_reads_what_is_exported_bit_for_bit(store: Store) -> None:
    example = person(store, 11)
    keep(store, example, 0, "reference")
    keep(store, example, 180, "retest", earlier_visits=1)
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    sample = read_sample("sample.csv", Path("sample.csv").read_bytes())
    assert sample.left_out == {} and len(sample.person) == 12
    assert set(sample.value) == {5.0, 5.0 + 180 / 100} and set(sample.education_years) == {11.5}
    assert sample.common["device_class"] == "T10" and list(sample.again) == [False] * 6 + [True] * 6
    # Born 1954-05, taken as the 15th: 71 years and 242 of 365 days on 12 January 2026, by hand.
    assert sample.age_years[0] == round(71 + 242 / 365, 2)


def test_neither_code_nor_name_nor_a_date_is_in_the_sample(store: Store) -> None:
    keep(store, person(store, 11), 0, "reference")
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    text = Path("sample.csv").read_text()
    assert not any(word in text for word in ("K-11", "Invented", "2026", "1954"))
    assert Path("sample.csv").stat().st_mode & 0o077 == 0


def test_people_of_ninety_and_more_and_scores_without_latency_stay_behind_by_count(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    keep(store, person(store, 11, birth_date="1930-01"), 0, "reference")
    keep(store, person(store, 12), 0, "reference", latency_ms=None, latency_source=None)
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    told = capsys.readouterr().out
    assert "Left out: 1 visits at 90 years or more." in told
    assert "Left out: 2 scores that need the device's latency." in told
    assert {row["measure"].split(".")[-1] for row in exported()} == {"scatter"}


def test_visits_on_a_panel_nobody_named_stay_behind(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    """start without --device-class: the panel could be any, so it belongs to no table."""
    named, unnamed = person(store, 11), Examples(12)
    unnamed.device = replace(unnamed.device, device_class="not named")
    unnamed.begin(store)
    keep(store, named, 0, "reference")
    keep(store, unnamed, 0, "reference")
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    assert "Left out: 1 visits on a tablet whose kind of panel is not named." in capsys.readouterr().out
    assert {row["device_class"] for row in exported()} == {"T10"}


def test_the_questions_come_with_the_dates_of_testing_and_the_languages(store: Store) -> None:
    example = person(store, 11)
    keep(store, example, 0, "reference")
    keep(store, example, 180, "retest", earlier_visits=1)
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    asked = json.loads(Path("sample.questions.json").read_text())["reference_table"]
    assert (asked["tested_from"], asked["tested_to"]) == ("2026-01-12", "2026-07-11")
    assert asked["languages"] == ["en"] and asked["population"] == "not stated"


def test_nothing_to_export_is_one_sentence(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    keep(store, person(store, 11), 0, "care")
    capsys.readouterr()
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 1
    assert capsys.readouterr().err.count("\n") == 1 and not Path("sample.csv").exists()


def test_the_audit_tells_who_took_a_sample_out(store: Store) -> None:
    keep(store, person(store, 11), 0, "reference")
    assert main(["export", "all", "--to", "sample", "--out", "sample.csv", *STORE]) == 0
    assert main(["audit", "verify", *STORE]) == 0
