"""The figures of a calibrated table in its folder: stored, shown, and held to the files they belong to."""

import hashlib
import json
import tracemalloc
from dataclasses import replace
from pathlib import Path
from time import perf_counter

import pytest

from norms import TableFaults, read_folder
from norms.__main__ import main
from norms.table.folder import folder_bytes, write_folder
from norms.worth.calibration import calibrate_folder, calibration_figures, calibration_of
from tests.norms.folders import DEMO_NORMS, EXAMPLE


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_folder(tmp_path / "table", folder_bytes(EXAMPLE))
    return tmp_path / "table"


def package(folder: Path) -> dict[str, object]:
    return json.loads((folder / "datapackage.json").read_text("utf-8"))


def rewrite(folder: Path, said: object) -> None:
    (folder / "datapackage.json").write_text(json.dumps(said), "utf-8")


def faults(folder: Path) -> str:
    with pytest.raises(TableFaults) as refused:
        read_folder(folder)
    return str(refused.value)


def test_the_figures_are_stored_in_the_folder_and_read_back_as_they_were(folder: Path) -> None:
    found = calibrate_folder(folder, "2026-11-25", 7, 200)
    assert calibration_of(read_folder(folder)) == found
    assert (found.seed, found.worlds, found.date) == (7, 200, "2026-11-25")
    assert [one.measure for one in found.rows][:2] == ["steady.preferred.scatter", "brisk.preferred.scatter"]


def test_a_calibrated_table_bears_the_hash_of_its_new_descriptor_and_keeps_those_of_its_files(
    folder: Path,
) -> None:
    before, table = package(folder), read_folder(folder)
    calibrate_folder(folder, "2026-11-25", 7, 200)
    after, now = package(folder), read_folder(folder)
    assert after["resources"] == before["resources"]
    described = (folder / "datapackage.json").read_bytes()
    assert now.sha256 == hashlib.sha256(described).hexdigest() != table.sha256
    assert (now.rows, now.retest, now.measures) == (table.rows, table.retest, table.measures)


def test_calibrating_twice_with_one_seed_gives_the_same_bytes(folder: Path) -> None:
    calibrate_folder(folder, "2026-11-25", 7, 200)
    once = folder_bytes(folder)
    calibrate_folder(folder, "2026-11-25", 7, 200)
    assert folder_bytes(folder) == once


def test_figures_of_other_numbers_are_a_fault_until_the_table_is_calibrated_again(folder: Path) -> None:
    calibrate_folder(folder, "2026-11-25", 7, 200)
    rows = (folder / "table.csv").read_bytes().replace(b",210,", b",90,", 1)
    (folder / "table.csv").write_bytes(rows)
    said = package(folder)
    for one in said["resources"]:  # type: ignore[attr-defined]
        if one["path"] == "table.csv":
            one |= {"hash": "sha256:" + hashlib.sha256(rows).hexdigest(), "bytes": len(rows)}
    rewrite(folder, said)
    assert "must be of the files as they are: calibrate again" in faults(folder)
    again = calibrate_folder(folder, "2026-11-26", 7, 200)
    assert calibration_of(read_folder(folder)) == again
    assert again.rows[0].standings[0].n_mean == 90


@pytest.mark.parametrize(
    "broken",
    [
        {},
        {"seed": 1, "date": "2026-01-01", "rows": []},
        {"rows": [None]},
        {"rows": "text"},
        {"worlds": True},
        {"changes_sd": [0.5]},
        {"of": ["table.csv"]},
        {"rows": [{"measure": "steady.preferred.scatter"}]},
    ],
)
def test_figures_of_another_form_are_a_fault_not_a_traceback(folder: Path, broken: dict[str, object]) -> None:
    calibrate_folder(folder, "2026-11-25", 7, 200)
    said = package(folder)
    reference = said["reference_table"]
    reference["calibration"] = {**reference["calibration"], **broken} if broken else {}  # type: ignore[index]
    if "seed" in broken:
        reference["calibration"] = broken  # type: ignore[index]
    rewrite(folder, said)
    assert "must be as norms calibrate writes it" in faults(folder)


@pytest.mark.parametrize("share", [-1, 101, "5", None, 1e400])
def test_a_share_outside_0_to_100_is_a_fault(folder: Path, share: object) -> None:
    calibrate_folder(folder, "2026-11-25", 7, 200)
    said = package(folder)
    low = said["reference_table"]["calibration"]["rows"][0]["standings"][0]["called_low"]  # type: ignore[index]
    low["high"] = share
    rewrite(folder, said)
    assert faults(folder)


def test_the_command_prints_and_stores_what_show_prints_later(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", str(folder)]) == 0
    assert "not calibrated" in capsys.readouterr().out
    assert main(["calibrate", str(folder), "--seed", "7", "--worlds", "200"]) == 0
    told = capsys.readouterr()
    assert "calibrated 7 of 7" in told.err
    assert "healthy people called low 8." in told.out
    assert "people who are stably at z -2: unchanged, called poorer" in told.out
    assert main(["show", str(folder)]) == 0
    assert capsys.readouterr().out.endswith(told.out)


def test_json_holds_the_figures_unrounded_as_they_are_stored(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["calibrate", str(folder), "--worlds", "200", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said == package(folder)["reference_table"]["calibration"]  # type: ignore[index]
    assert said["seed"] == 2026


@pytest.mark.parametrize("worlds", ["0", "99", "100001", "-5", "many", "9" * 5000])
def test_too_few_or_too_many_worlds_are_wrong_usage(
    folder: Path, worlds: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["calibrate", str(folder), "--worlds", worlds]) == 2
    assert "must be a whole number from 100 to 100000" in capsys.readouterr().err


def test_a_faulty_folder_is_not_calibrated(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "table.csv").write_bytes(b"measure\n")
    before = (folder / "datapackage.json").read_bytes()
    assert main(["calibrate", str(folder)]) == 1
    assert (folder / "datapackage.json").read_bytes() == before


def test_the_demo_table_takes_less_than_a_minute() -> None:
    begun = perf_counter()
    calibration_figures(read_folder(DEMO_NORMS))
    seconds = perf_counter() - begun
    print(f"2,000 worlds of the demo table in {seconds:.1f} s")
    assert seconds < 60


def test_memory_stays_bounded_however_many_rows_a_table_has() -> None:
    table = read_folder(EXAMPLE)
    first = table.rows[0]
    years = tuple(replace(first, age_from=20 + k / 10, age_to=20 + (k + 1) / 10) for k in range(700))
    tracemalloc.start()
    calibration_figures(replace(table, rows=years, age_method="bands"))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 60e6
