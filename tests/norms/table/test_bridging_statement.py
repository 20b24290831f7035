"""The signed statement: what it opens, that nothing opens without it, and that a changed one opens none."""

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from norms import (
    ByHand,
    Change,
    Occasion,
    Refusal,
    Sitting,
    Standing,
    Table,
    TableFaults,
    change,
    read_folder,
    series,
    standing,
    visits_bridged,
)
from norms.__main__ import main
from norms.judge.lookup import row_at
from norms.table.datapackage import hash_of
from norms.table.folder import folder_bytes, pack_folder, read_zip, write_folder
from norms.table.table import value_at
from tests.norms.folders import EXAMPLE

MEASURE, OTHER = "steady.preferred.scatter", "brisk.preferred.scatter"
SHARE = "steady.preferred.time_on_target"
HEAD = ["person", "measure", "age_years", "sex", "first_on", "table_value", "other_value"]


def pairs_of(table: Table, measure: str, n: int = 60, bias: float = 0.0, r: float = 0.95) -> list[list[str]]:
    """n invented people on both panels, half beginning on each."""
    rng = np.random.default_rng(20_261_125)
    lines = []
    for k in range(n):
        age = 25 + k % 60
        first, noise = rng.standard_normal(2)
        row = row_at(table, measure, "simulated", "not_asked", age)
        assert row is not None
        z = (first, bias + r * first + (1 - r**2) ** 0.5 * noise)
        values = [repr(float(value_at(table, table.measure_by_name[measure], row, one))) for one in z]
        lines.append([f"p{k}", measure, str(age), "not_asked", ("table", "other")[k % 2], *values])
    return lines


def write_pairs(path: Path, lines: list[list[str]], head: list[str] | None = None) -> Path:
    with path.open("w", newline="") as file:
        csv.writer(file).writerows([head or HEAD, *lines])
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_folder(tmp_path / "table", folder_bytes(EXAMPLE))
    return tmp_path / "table"


@pytest.fixture
def bridged(folder: Path) -> Path:
    """One measure carried over with its visits, one without equivalence, one without a retest study."""
    table = read_folder(folder)
    lines = [*pairs_of(table, MEASURE), *pairs_of(table, OTHER, bias=-0.5), *pairs_of(table, SHARE)]
    assert run(folder, write_pairs(folder.parent / "pairs.csv", lines), "--sign", "site_lead") == 0
    return folder


def run(folder: Path, pairs: Path, *more: str, device_class: str = "panel_b") -> int:
    return main(["bridge", str(pairs), "--table", str(folder), "--device-class", device_class, *more])


def visit(device_class: str = "simulated", used: str = "finger", day: int = 200) -> Sitting:
    return Sitting(
        "demo",
        date(2026, 1, 1 + day % 20),
        "clinic",
        1,
        1,
        used,
        device_class,
        "female",
        True,
        "en",
        age_years=70.0 + day / 365,
    )


def judged(table: Table, measure: str, before: Sitting | ByHand, after: Sitting | ByHand) -> Change | Refusal:
    return change(table, measure, Occasion(6.0, before), Occasion(9.0, after), 180)


def code(found: object) -> str:
    assert isinstance(found, Refusal), found
    return found.code


# --- with a statement, and without ---


def test_another_panel_is_read_by_the_table_only_with_a_statement(folder: Path) -> None:
    without = read_folder(folder)
    assert code(standing(without, MEASURE, 6.0, visit("panel_b"))) == "other_device_class"
    assert code(judged(without, MEASURE, visit(), visit("panel_b"))) == "other_device_class"
    assert code(judged(without, MEASURE, visit("panel_b"), visit())) == "not_comparable"


def test_with_a_statement_a_value_is_placed_as_on_the_tables_own_panel_and_the_answer_says_so(
    bridged: Path,
) -> None:
    table = read_folder(bridged)
    there, here = (standing(table, MEASURE, 6.0, visit(panel)) for panel in ("panel_b", "simulated"))
    assert isinstance(there, Standing) and isinstance(here, Standing)
    assert "carried_over" in there.warnings and "carried_over" not in here.warnings
    assert replace(there, warnings=()) == replace(here, warnings=())


def test_with_a_statement_a_change_across_panels_is_judged_as_on_one(bridged: Path) -> None:
    table = read_folder(bridged)
    plain = judged(table, MEASURE, visit(), visit())
    assert isinstance(plain, Change) and "carried_over" not in plain.warnings
    for before, after in (("simulated", "panel_b"), ("panel_b", "simulated"), ("panel_b", "panel_b")):
        found = judged(table, MEASURE, visit(before), visit(after))
        assert isinstance(found, Change) and "carried_over" in found.warnings
        assert (found.reliable, found.limits, found.z_after) == (plain.reliable, plain.limits, plain.z_after)
    by_hand = judged(
        table, MEASURE, ByHand(69.5, device_class="panel_b"), ByHand(70.0, device_class="panel_b")
    )
    assert isinstance(by_hand, Change)


def test_a_series_across_panels_is_judged_with_a_statement_and_refused_without(
    bridged: Path, folder: Path
) -> None:
    at = [Occasion(6.0, visit()), Occasion(6.2, visit("panel_b")), Occasion(6.1, visit("panel_b"))]
    assert not isinstance(series(read_folder(bridged), MEASURE, at, [0, 180, 360]), Refusal)
    assert code(series(read_folder(EXAMPLE), MEASURE, at, [0, 180, 360])) == "other_device_class"


def test_a_measure_whose_study_did_not_hold_stays_refused(bridged: Path) -> None:
    table = read_folder(bridged)
    assert code(standing(table, OTHER, 9.0, visit("panel_b"))) == "other_device_class"
    assert code(judged(table, OTHER, visit("panel_b"), visit("panel_b"))) == "other_device_class"


def test_a_measure_without_visits_carried_over_has_a_standing_and_no_change(bridged: Path) -> None:
    table = read_folder(bridged)
    assert isinstance(standing(table, SHARE, 60.0, visit("panel_b")), Standing)
    assert (
        code(change(table, SHARE, Occasion(60.0, visit("panel_b")), Occasion(40.0, visit("panel_b")), 180))
        == "change_not_bridged"
    )


def test_a_third_panel_or_another_input_stays_refused(bridged: Path) -> None:
    table = read_folder(bridged)
    assert code(standing(table, MEASURE, 6.0, visit("panel_c"))) == "other_device_class"
    assert code(standing(table, MEASURE, 6.0, visit("panel_b", "mouse"))) == "other_input"
    assert code(standing(table, MEASURE, 6.0, visit("simulated", "mouse"))) == "other_input"


def test_another_input_on_the_same_panel_is_carried_over_by_its_own_statement(folder: Path) -> None:
    pairs = write_pairs(folder.parent / "pairs.csv", pairs_of(read_folder(folder), MEASURE))
    assert run(folder, pairs, "--input", "mouse", "--sign", "researcher", device_class="simulated") == 0
    table = read_folder(folder)
    assert isinstance(standing(table, MEASURE, 6.0, visit(used="mouse")), Standing)
    assert isinstance(judged(table, MEASURE, visit(), visit(used="mouse")), Change)
    assert code(standing(table, MEASURE, 6.0, visit("panel_b", "mouse"))) == "other_input"


def test_which_visits_are_bridged_is_told_for_two_panels(bridged: Path) -> None:
    table = read_folder(bridged)
    assert visits_bridged(table, ("finger", "simulated"), ("finger", "panel_b"))
    assert visits_bridged(table, ("finger", "panel_b"), ("finger", "panel_b"))
    assert not visits_bridged(table, ("finger", "simulated"), ("finger", "panel_c"))
    assert not visits_bridged(read_folder(EXAMPLE), ("finger", "simulated"), ("finger", "panel_b"))


# --- the statement itself ---


def statement(folder: Path) -> dict[str, Any]:
    package = json.loads((folder / "datapackage.json").read_text("utf-8"))
    found: dict[str, Any] = package["reference_table"]["carried_over"][0]
    return found


def test_a_statement_says_who_by_role_when_by_which_numbers_and_of_which_files(bridged: Path) -> None:
    said = statement(bridged)
    assert (said["role"], said["device_class"], said["from_device_class"], said["input"]) == (
        "site_lead",
        "panel_b",
        "simulated",
        "finger",
    )
    assert date.fromisoformat(said["date"])
    assert said["study_sha256"] == hash_of((bridged.parent / "pairs.csv").read_bytes())
    files = folder_bytes(bridged)
    assert said["of"] == {name: hash_of(data) for name, data in files.items() if name.endswith(".csv")}
    first = said["measures"][0]
    assert (first["measure"], first["table"], first["visits"], first["study"]["n"]) == (
        MEASURE,
        True,
        True,
        60,
    )
    assert [one["table"] for one in said["measures"]] == [True, False, True]


def test_a_new_statement_for_the_same_panel_takes_the_place_of_the_old(bridged: Path) -> None:
    pairs = write_pairs(bridged.parent / "again.csv", pairs_of(read_folder(bridged), OTHER))
    assert run(bridged, pairs, "--sign", "site_lead") == 0
    table = read_folder(bridged)
    assert [one.measure for said in table.carried_over for one in said.measures] == [OTHER]
    assert code(standing(table, MEASURE, 6.0, visit("panel_b"))) == "other_device_class"


def test_a_statement_travels_with_the_packed_table(bridged: Path) -> None:
    assert read_zip(pack_folder(bridged)).carried_over == read_folder(bridged).carried_over != ()


TAMPERING: dict[str, Callable[[dict[str, Any]], object]] = {
    "another panel": lambda said: said.update(device_class="panel_c"),
    "another input": lambda said: said.update(input="mouse"),
    "another role": lambda said: said.update(role="researcher"),
    "another day": lambda said: said.update(date="2026-01-01"),
    "a smaller bias": lambda said: said["measures"][1]["study"].update(bias=0.0),
    "a measure opened": lambda said: said["measures"][1].update(table=True, visits=True),
    "another measure": lambda said: said["measures"][0].update(measure=OTHER),
    "more people": lambda said: said["measures"][0]["study"].update(n=600),
    "no hash": lambda said: said.pop("sha256"),
    "another hash": lambda said: said.update(sha256="sha256:" + 64 * "0"),
    "no numbers": lambda said: said["measures"][0].update(study={}),
    "numbers that are none": lambda said: said["measures"][0]["study"].update(bias="0"),
    "no person": lambda said: said["measures"][0]["study"].update(n=0),
    "a spread beyond all numbers": lambda said: said["measures"][0]["study"].update(sd_table=1e308),
    "a spread of almost none": lambda said: said["measures"][0]["study"].update(sd_other=5e-324),
    "a person for every atom": lambda said: said["measures"][0]["study"].update(n=10**400),
    "a role that is none": lambda said: said.update(role="somebody"),
    "a list for the files": lambda said: said.update(of=[]),
    "no measures": lambda said: said.update(measures=None),
    "nothing at all": lambda said: said.clear(),
}


@pytest.mark.parametrize("how", TAMPERING)
def test_a_statement_that_was_changed_is_a_fault_and_the_table_answers_nothing(
    bridged: Path, how: str
) -> None:
    path = bridged / "datapackage.json"
    package = json.loads(path.read_text("utf-8"))
    TAMPERING[how](package["reference_table"]["carried_over"][0])
    path.write_text(json.dumps(package), "utf-8")
    with pytest.raises(TableFaults) as refused:
        read_folder(bridged)
    assert all(one.column == "reference_table.carried_over 1" for one in refused.value.faults)


def resigned(said: dict[str, Any]) -> dict[str, Any]:
    """The statement with a hash that fits again, made here without our code."""
    from hashlib import sha256

    plain = {key: value for key, value in said.items() if key != "sha256"}
    text = json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return {**plain, "sha256": "sha256:" + sha256(text.encode()).hexdigest()}


def test_a_statement_that_says_more_than_its_numbers_carry_is_a_fault_though_its_hash_fits(
    bridged: Path,
) -> None:
    path = bridged / "datapackage.json"
    package = json.loads(path.read_text("utf-8"))
    said = package["reference_table"]["carried_over"][0]
    assert resigned(said) == said
    said["measures"][1].update(table=True, visits=True)
    package["reference_table"]["carried_over"][0] = resigned(said)
    path.write_text(json.dumps(package), "utf-8")
    with pytest.raises(TableFaults, match="must say no more than its numbers carry"):
        read_folder(bridged)


def test_a_statement_of_another_table_is_a_fault(bridged: Path, tmp_path: Path) -> None:
    rows = (bridged / "table.csv").read_bytes().replace(b",210,", b",211,", 1)
    (bridged / "table.csv").write_bytes(rows)
    path = bridged / "datapackage.json"
    package = json.loads(path.read_text("utf-8"))
    for one in package["resources"]:
        if one["path"] == "table.csv":
            one |= {"hash": hash_of(rows), "bytes": len(rows)}
    path.write_text(json.dumps(package), "utf-8")
    with pytest.raises(TableFaults, match="must be of the table's files as they are"):
        read_folder(bridged)


# --- the command ---


def test_the_command_says_what_is_carried_over_and_signs_only_when_asked(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pairs = write_pairs(folder.parent / "pairs.csv", pairs_of(read_folder(folder), MEASURE))
    before = folder_bytes(folder)
    assert run(folder, pairs, "--pictures", str(folder.parent / "pictures")) == 0
    told = capsys.readouterr().out
    assert "60 people, 30 began on the table's panel" in told
    assert "table: carried over" in told and "earlier visits: carried over" in told
    assert folder_bytes(folder) == before
    assert (folder.parent / "pictures" / f"{MEASURE}.svg").read_text("utf-8").startswith("<svg")
    assert run(folder, pairs, "--sign", "site_lead") == 0
    assert main(["show", str(folder)]) == 0
    assert "carried over from simulated to panel_b, input finger: signed" in capsys.readouterr().out


def test_nothing_is_signed_where_nothing_is_carried_over(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = pairs_of(read_folder(folder), MEASURE, n=30, bias=-0.3, r=0.6)
    before = folder_bytes(folder)
    assert run(folder, write_pairs(folder.parent / "pairs.csv", lines), "--sign", "site_lead") == 1
    told = capsys.readouterr()
    assert "Nothing may be carried over, so nothing is signed." in told.err
    assert "not carried over: the bias is not shown to lie within the margin" in told.out
    assert "people show equivalence 8 times of 10" in told.out
    assert folder_bytes(folder) == before


def test_json_holds_every_number_unrounded(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pairs = write_pairs(folder.parent / "pairs.csv", pairs_of(read_folder(folder), MEASURE))
    assert run(folder, pairs, "--json") == 0
    said = json.loads(capsys.readouterr().out)
    one = said["measures"][MEASURE]
    assert (one["table"], one["visits"], one["study"]["n"], one["equivalence"]["margin"]) == (
        True,
        True,
        60,
        0.3,
    )
    assert one["agreement"]["icc_2_1"]["low"] < one["study"]["icc_2_1"]


@pytest.mark.parametrize(
    ("change_line", "told"),
    [
        (lambda line: [*line[:5], "-1", line[6]], "must lie on the measure's scale"),
        (lambda line: [*line[:4], "both", *line[5:]], "must be one of table, other"),
        (lambda line: [line[0], "steady.both.scatter", *line[2:]], "must be a measure of the table"),
        (lambda line: [*line[:6], "inf"], "must be a finite number"),
        (lambda line: ["p1", *line[1:]], "must be unique"),
    ],
)
def test_a_line_the_table_cannot_read_is_named(
    folder: Path, change_line: Callable[[list[str]], list[str]], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = pairs_of(read_folder(folder), MEASURE)
    lines[7] = change_line(lines[7])
    assert run(folder, write_pairs(folder.parent / "pairs.csv", lines)) == 1
    error = capsys.readouterr().err
    assert told in error and "row 9" in error and "Traceback" not in error


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xfe", b"person\n", b"\0", b'"', ",".join(HEAD).encode() + b"\n"]
)
def test_a_file_that_is_no_study_gives_faults_not_a_traceback(
    folder: Path, data: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder.parent / "pairs.csv"
    path.write_bytes(data)
    assert run(folder, path) == 1
    assert capsys.readouterr().err.startswith("pairs.csv")


def test_the_tables_own_panel_is_not_carried_over_to_itself(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pairs = write_pairs(folder.parent / "pairs.csv", pairs_of(read_folder(folder), MEASURE))
    assert run(folder, pairs, device_class="simulated") == 1
    assert "must be another than the table's for the same input" in capsys.readouterr().err
    assert run(folder, pairs, "--from-class", "panel_x") == 1
    assert run(folder, pairs, "--sign", "A. Person") == 2


def test_calibrating_a_bridged_table_keeps_its_statement(bridged: Path) -> None:
    assert main(["calibrate", str(bridged), "--worlds", "100"]) == 0
    assert isinstance(standing(read_folder(bridged), MEASURE, 6.0, visit("panel_b")), Standing)
