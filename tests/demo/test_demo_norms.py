"""The demo's table is what its documented command makes of simulated people, number by number."""

import csv
import json
from pathlib import Path

import pytest

from kiosk.cli.main import main
from kiosk.demo.reference_sample import BANDS, PAIRS, PEOPLE, sample_csv
from kiosk.pursuit.battery import load_battery
from norms import read_folder
from norms.build.sample import read_sample
from tests.sources import ROOT

FILES = ("measures.csv", "table.csv", "retest.csv", "correlations.csv")


def cells(folder: Path, name: str) -> list[list[str]]:
    with (folder / name).open(newline="") as file:
        return list(csv.reader(file))


def same(one: str, other: str) -> bool:
    try:
        return float(other) == pytest.approx(float(one), rel=1e-9, abs=1e-12)
    except ValueError:
        return one == other


@pytest.mark.long
def test_the_documented_command_rebuilds_the_demo_table_to_nine_digits(tmp_path: Path) -> None:
    handbook = (ROOT / "kiosk/handbook/researcher.md").read_text("utf-8")
    assert "kiosk demo --norms demo_norms --seed 2026" in handbook
    assert main(["demo", "--norms", str(tmp_path), "--seed", "2026"]) == 0
    for name in FILES:
        made, kept = cells(tmp_path, name), cells(ROOT / "demo_norms", name)
        assert [len(row) for row in made] == [len(row) for row in kept]
        different = [
            (name, place, one, other)
            for place, (row, kept_row) in enumerate(zip(made, kept, strict=True))
            for one, other in zip(row, kept_row, strict=True)
            if not same(one, other)
        ]
        assert different == []
    about = [
        json.loads((folder / "datapackage.json").read_text()) for folder in (tmp_path, ROOT / "demo_norms")
    ]
    assert about[0]["reference_table"] == about[1]["reference_table"]


def test_the_demo_table_has_smooth_rows_of_a_year_over_the_ages_of_its_people() -> None:
    table = read_folder(ROOT / "demo_norms")
    assert (table.age_method, table.status, table.about["whole_n"]) == ("continuous", "synthetic", PEOPLE)
    for rows in table.rows_of_measure.values():
        assert (rows[0].age_from, rows[-1].age_to, len(rows)) == (BANDS[0], BANDS[-1], 73)
        assert min(row.n_of_mean for row in rows) >= table.floor_n
    assert {study.n for study in table.retest} == {PAIRS}


def test_a_simulated_sample_is_one_that_norms_accepts_whole() -> None:
    sample = read_sample("sample.csv", sample_csv(3, load_battery(), people=3, pairs=2).encode())
    assert sample.left_out == {} and len(sample.persons) == 5
    assert sorted(set(sample.visit[sample.again])) == [1, 2]
