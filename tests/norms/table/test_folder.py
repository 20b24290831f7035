"""Table folders: a sound one is read, a broken one is refused with every fault named."""

import hashlib
import io
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from norms import Fault, TableFaults, fault_sentence, pack_folder, read_folder, read_zip, write_folder
from norms.table.table import Measure
from tests.norms.folders import EXAMPLE

CSVS = ("measures.csv", "table.csv", "retest.csv", "correlations.csv")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(EXAMPLE, tmp_path / "table"))


def sealed(folder: Path) -> Path:
    """Hash and bytes of the files as they now stand are put into the descriptor."""
    package = json.loads((folder / "datapackage.json").read_text())
    for resource in package["resources"]:
        data = (folder / resource["path"]).read_bytes()
        resource |= {"hash": "sha256:" + hashlib.sha256(data).hexdigest(), "bytes": len(data)}
    (folder / "datapackage.json").write_text(json.dumps(package))
    return folder


def faults(folder: Path) -> tuple[Fault, ...]:
    with pytest.raises(TableFaults) as caught:
        read_folder(folder)
    assert all(fault_sentence(fault).endswith(".") for fault in caught.value.faults)
    assert all("\n" not in fault_sentence(fault) for fault in caught.value.faults)
    return caught.value.faults


def edit(folder: Path, name: str, old: str, new: str) -> None:
    text = (folder / name).read_text()
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1))


def say(folder: Path, **said: object) -> None:
    package = json.loads((folder / "datapackage.json").read_text())
    package["reference_table"] |= said
    (folder / "datapackage.json").write_text(json.dumps(package))


def test_a_sound_folder_is_read_whole(folder: Path) -> None:
    table = read_folder(folder)
    assert (len(table.measures), len(table.rows), len(table.retest), len(table.correlations)) == (
        7,
        28,
        6,
        30,
    )
    row = table.rows_of_measure["wander.preferred.delay"][3]
    assert (row.age_from, row.age_to, row.n, row.mean, row.sd) == (75, 90, 170, 234.375, 35.625)
    assert table.looks(table.measure_by_name["steady.preferred.time_on_target"]) == 32
    assert table.sha256 == hashlib.sha256((folder / "datapackage.json").read_bytes()).hexdigest()


def test_follow_counts_20_looks_and_time_on_target_two_a_second() -> None:
    table = read_folder(EXAMPLE)
    follow = Measure("wander.preferred.follow", "%", "higher", "logit", 0)
    on_target = Measure("wander.preferred.time_on_target", "%", "higher", "logit", 0)
    scatter = Measure("wander.preferred.scatter", "mm", "lower", "log", 1)
    assert [table.looks(one) for one in (follow, on_target, scatter)] == [20, 40, 1]


def test_byte_order_mark_and_crlf_are_read_as_if_they_were_not_there(folder: Path) -> None:
    for name in CSVS:
        text = (folder / name).read_text()
        (folder / name).write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    plain, marked = read_folder(EXAMPLE), read_folder(sealed(folder))
    assert marked.rows == plain.rows and marked.measures == plain.measures
    assert marked.retest == plain.retest and marked.correlations == plain.correlations


def test_a_folder_without_studies_is_sound(folder: Path) -> None:
    package = json.loads((folder / "datapackage.json").read_text())
    package["resources"] = package["resources"][:2]
    (folder / "datapackage.json").write_text(json.dumps(package))
    for name in CSVS[2:]:
        (folder / name).unlink()
    table = read_folder(folder)
    assert table.retest == () and table.correlations == ()


def test_a_packed_folder_reads_the_same_and_packs_to_the_same_bytes(folder: Path) -> None:
    packed = pack_folder(folder)
    assert packed == pack_folder(EXAMPLE)
    assert read_zip(packed).sha256 == read_folder(EXAMPLE).sha256


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04rubbish", b"\0" * 200])
def test_what_is_no_zip_is_refused(data: bytes) -> None:
    with pytest.raises(TableFaults):
        read_zip(data)


def test_an_empty_zip_names_the_missing_files() -> None:
    packed = io.BytesIO()
    zipfile.ZipFile(packed, "w").close()
    with pytest.raises(TableFaults) as caught:
        read_zip(packed.getvalue())
    assert {fault.file for fault in caught.value.faults} == {"datapackage.json", "measures.csv", "table.csv"}


LAG_60 = "circles.preferred.lag,any,simulated,60,75,200,,,,76.5,29.705"
BROKEN = [
    # file, what is replaced, by what, row, column, word of the rule
    ("table.csv", "60,75,200,,,,1.6211", "59,75,200,,,,1.6211", 4, "age_from", "overlap"),
    ("table.csv", "60,75,200,,,,1.6211", "61,75,200,,,,1.6211", 4, "age_from", "gap"),
    ("table.csv", "60,75,200,,,,1.6211", "75,60,200,,,,1.6211", 4, "age_to", "above age_from"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", "NaN"), 12, "mean", "finite"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", "inf"), 12, "mean", "finite"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", "1e999"), 12, "mean", "finite"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", "1_000"), 12, "mean", "finite"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", "seventy"), 12, "mean", "finite"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", ""), 12, "mean", "empty"),
    ("table.csv", LAG_60, LAG_60.replace("29.705", "0"), 12, "sd", "above 0"),
    ("table.csv", LAG_60, LAG_60.replace("29.705", "1e-10"), 12, "sd", "1e-09 or more"),
    ("table.csv", LAG_60, LAG_60.replace("76.5", "2e9"), 12, "mean", "or less"),
    ("table.csv", "60,75,200,,,,1.6211", "60,75,200,,,,76.5", 4, "mean", "within 25 on a log scale"),
    ("table.csv", LAG_60, LAG_60.replace("200", "1"), 12, "n", "2 or more"),
    ("table.csv", LAG_60, LAG_60.replace("200", "200.5"), 12, "n", "whole number"),
    ("table.csv", LAG_60, LAG_60.replace(",any,", ",both,"), 12, "sex", "one of"),
    ("table.csv", LAG_60, LAG_60.replace("200,,", "200,72,"), 12, "n_mean", "empty"),
    ("table.csv", LAG_60, LAG_60.replace(",,,,", ",,,0.5,"), 12, "l", "lms"),
    ("table.csv", LAG_60, LAG_60 + ",7", 12, None, "11 cells"),
    ("table.csv", LAG_60, LAG_60.replace("60,75", "75,90"), 12, "age_from", "gap"),
    (
        "table.csv",
        LAG_60,
        LAG_60.replace("circles.preferred", "circles.other"),
        12,
        "measure",
        "measures.csv",
    ),
    ("table.csv", ",n_mean,df_sd", ",df_sd", 1, "n_mean", "missing"),
    ("table.csv", "measure,sex", "measure,sex,education", 1, "education", "not known"),
    ("table.csv", "measure,sex", "sex,measure", 1, None, "order"),
    ("table.csv", ",mean,sd", ",mean,sd,p02", 1, "p02", "all there or none"),
    ("measures.csv", "brisk.preferred.scatter", "Brisk preferred", 3, "measure", "match"),
    ("measures.csv", "circles.preferred.lag,ms", "circles.preferred.lag,seconds", 4, "unit", "one of"),
    ("measures.csv", "lower,identity,0,12", "lower,identity,5,12", 4, "decimals", "4 or less"),
    ("measures.csv", "brisk.preferred", "steady.preferred", 3, "measure", "unique"),
    (
        "measures.csv",
        "steady.preferred.time_on_target",
        "zigzag.preferred.time_on_target",
        8,
        "scale",
        "window_s",
    ),
    ("retest.csv", "simulated,120,0.8,", "simulated,120,1,", 2, "r", "below 1"),
    ("retest.csv", "simulated,120,0.8,", "simulated,3,0.8,", 2, "n", "4 or more"),
    ("retest.csv", "0.8,0.0,0.99", "0.8,0.0,0.009", 2, "sd_1", "0.01 or more"),
    ("retest.csv", "150,180,210,0", "150,220,210,0", 2, "days_median", "between"),
    ("correlations.csv", "800,0.65", "800,1.65", 2, "r", "1 or less"),
    (
        "correlations.csv",
        "steady.preferred.scatter,brisk.preferred.scatter",
        "brisk.preferred.scatter,steady.preferred.scatter",
        2,
        "measure_2",
        "after measure_1",
    ),
    ("correlations.csv", "visit,steady", "visits,steady", 2, "kind", "one of"),
    ("correlations.csv", "visit,steady", '"visit,steady', None, None, "plain CSV"),
]


@pytest.mark.parametrize(("name", "old", "new", "row", "column", "rule"), BROKEN)
def test_a_broken_cell_is_named_with_file_row_column_and_rule(
    folder: Path, name: str, old: str, new: str, row: int | None, column: str | None, rule: str
) -> None:
    edit(folder, name, old, new)
    found = faults(sealed(folder))
    assert any((one.file, one.row, one.column) == (name, row, column) and rule in one.rule for one in found)


@pytest.mark.parametrize(
    ("power", "variation", "column"),
    [("2", "0.17", "sd"), ("-2", "0.17", "sd"), ("0.1", "6", "sd"), ("2", "0.16", None)],
)
def test_an_lms_row_must_have_values_out_to_3_sd(
    folder: Path, power: str, variation: str, column: str | None
) -> None:
    # 1 + 3 L S must stay above 0 on both sides: 2 x .17 x 3 = 1.02 does not, 2 x .16 x 3 = .96 does.
    edit(
        folder,
        "measures.csv",
        "circles.preferred.lag,ms,lower,identity",
        "circles.preferred.lag,ms,lower,lms",
    )
    for line in (folder / "table.csv").read_text().splitlines():
        if line.startswith("circles.preferred.lag"):
            edit(folder, "table.csv", line, ",".join([*line.split(",")[:8], power, "76.5", variation]))
    if column is None:
        assert read_folder(sealed(folder)).rows_of_measure["circles.preferred.lag"][0].lms_l == 2
    else:
        assert {one.column for one in faults(sealed(folder))} == {column}


def test_all_faults_of_all_files_are_named_together(folder: Path) -> None:
    edit(folder, "table.csv", LAG_60, LAG_60.replace("76.5", "NaN"))
    edit(folder, "table.csv", "1.6211,0.3199", "1.6211,-1")
    edit(folder, "retest.csv", "simulated,120,0.8,", "simulated,2,0.8,")
    found = faults(folder)
    assert {(one.file, one.row, one.column) for one in found} >= {
        ("table.csv", 12, "mean"),
        ("table.csv", 4, "sd"),
        ("retest.csv", 2, "n"),
    }
    assert sum("sha256" in one.rule for one in found) == 2


def test_one_changed_digit_breaks_the_hash(folder: Path) -> None:
    edit(folder, "table.csv", "1.6211", "1.6212")
    assert [(one.file, "sha256" in one.rule) for one in faults(folder)] == [("table.csv", True)]


def test_one_byte_more_breaks_hash_and_count(folder: Path) -> None:
    (folder / "retest.csv").write_bytes((folder / "retest.csv").read_bytes() + b"\n")
    assert {one.rule.split()[0] for one in faults(folder)} >= {"sha256", "number"}


@pytest.mark.parametrize(
    "write",
    [
        lambda text: text.encode("utf-16"),
        lambda text: text.encode("utf-16-le"),
        lambda text: b"\x89PNG\r\n\0" * 9,
        lambda text: text.encode() + b"\xff\xfe",
        lambda text: b"",
    ],
    ids=["utf-16", "utf-16-le", "binary", "bad byte", "empty"],
)
@pytest.mark.parametrize("name", ["table.csv", "datapackage.json"])
def test_what_is_no_utf_8_text_is_refused(folder: Path, name: str, write: Callable[[str], bytes]) -> None:
    data = write((folder / name).read_text())
    (folder / name).write_bytes(data)
    found = faults(folder if name == "datapackage.json" else sealed(folder))
    assert any(one.file == name for one in found)


@pytest.mark.parametrize(
    ("said", "column"),
    [
        ({"format": 2}, "format"),
        ({"status": "approved"}, "status"),
        ({"battery_version": "1"}, "battery_version"),
        ({"battery_version": True}, "battery_version"),
        ({"window_s": {"steady": 0}}, "window_s"),
        ({"expires": "tomorrow"}, "expires"),
        ({"languages": "en"}, "languages"),
        ({"age_method": "bins"}, "age_method"),
        ({"floor_n": 0}, "floor_n"),
        ({"input": "nose"}, "input"),
        ({"measures_use": {"x": "y"}}, "measures_use"),
        ({"tested_from": "2026-02-30"}, "tested_from"),
        ({"tested_to": "20260228"}, "tested_to"),
        ({"whole_n": True}, "whole_n"),
        ({"carried_over": {}}, "carried_over"),
        ({"calibration": []}, "calibration"),
    ],
)
def test_a_wrong_statement_of_the_descriptor_is_named(folder: Path, said: dict, column: str) -> None:
    say(folder, **said)
    assert [one.column for one in faults(folder)] == [f"reference_table.{column}"]


@pytest.mark.parametrize("text", ["[]", "{", '{"name": NaN}', "null", "[" * 100_000, '"x"'])
def test_a_descriptor_that_is_no_json_object_is_refused(folder: Path, text: str) -> None:
    (folder / "datapackage.json").write_text(text)
    assert faults(folder)[0].file == "datapackage.json"


@pytest.mark.parametrize("name", ["datapackage.json", "measures.csv", "table.csv", "retest.csv"])
def test_a_missing_file_is_named(folder: Path, name: str) -> None:
    (folder / name).unlink()
    assert any(one.file == name and "missing" in one.rule for one in faults(folder))


def test_what_is_no_folder_is_refused(tmp_path: Path) -> None:
    assert faults(tmp_path / "nowhere")[0].rule == "must be a folder"


def test_no_damage_to_a_folder_gives_anything_but_faults(folder: Path) -> None:
    """200 seeded damages of bytes and lines: a table only where the files are as described."""
    rng = np.random.default_rng(12)
    sound = {name: (folder / name).read_bytes() for name in (*CSVS, "datapackage.json")}
    for _ in range(200):
        name = str(rng.choice(list(sound)))
        data = bytearray(sound[name])
        place = int(rng.integers(len(data)))
        data[place : place + int(rng.integers(0, 40))] = (
            rng.integers(0, 256, int(rng.integers(0, 6))).astype("u1").tobytes()
        )
        (folder / name).write_bytes(bytes(data))
        if name != "datapackage.json":
            sealed(folder)
        try:
            read_folder(folder)
        except TableFaults as found:
            assert found.faults
        for one, original in sound.items():
            (folder / one).write_bytes(original)


def test_files_are_written_all_or_none(folder: Path, tmp_path: Path) -> None:
    files = {name: (folder / name).read_bytes() for name in (*CSVS, "datapackage.json")}
    write_folder(tmp_path / "new" / "table", files)
    assert sorted(path.name for path in (tmp_path / "new" / "table").iterdir()) == sorted(files)
    assert read_folder(tmp_path / "new" / "table").sha256 == read_folder(folder).sha256


def test_the_general_validator_of_data_packages_accepts_the_example() -> None:
    from frictionless import Package

    report = Package(str(EXAMPLE / "datapackage.json")).validate()
    assert report.valid, report.flatten(["title", "message"])


@pytest.mark.parametrize("name", ["table.csv", "measures.csv"])
def test_a_file_of_a_header_alone_is_a_fault(folder: Path, name: str) -> None:
    header = (folder / name).read_text().splitlines()[0]
    (folder / name).write_text(header + "\n")
    found = faults(sealed(folder))
    assert (name, "must hold a row below its header") in {(fault.file, fault.rule) for fault in found}


@pytest.mark.parametrize(
    ("column", "value", "rule"),
    [
        ("n_mean", "1e308", "must not be above 720, as the row rests on n 720"),
        ("n_mean", "721", "must not be above 720, as the row rests on n 720"),
        ("df_sd", "720", "must not be above 719, as the row rests on n 720"),
        ("n", "999999999999", "must be 1e+07 or less"),
    ],
)
def test_a_row_is_worth_no_more_people_than_stand_behind_it(
    tmp_path: Path, column: str, value: str, rule: str
) -> None:
    folder = Path(shutil.copytree(EXAMPLE.parents[2] / "demo_norms", tmp_path / "table"))
    header, first, *rest = (folder / "table.csv").read_text().splitlines()
    cells = dict(zip(header.split(","), first.split(","), strict=True)) | {column: value}
    (folder / "table.csv").write_text("\n".join([header, ",".join(cells.values()), *rest, ""]))
    assert (2, column, rule) in {(fault.row, fault.column, fault.rule) for fault in faults(sealed(folder))}


@pytest.mark.parametrize(
    "said", [{"retest_design": "yes"}, {"retest_design": {"people": ""}}, {"retest_design": {"other": "x"}},
             {"population": "a\0b"}, {"setting": "  "}],
)  # fmt: skip
def test_what_is_said_of_people_and_design_is_text_or_a_fault(folder: Path, said: dict[str, object]) -> None:
    say(folder, **said)
    assert {fault.column for fault in faults(folder)} == {f"reference_table.{name}" for name in said}


def test_a_table_names_what_it_does_not_say(folder: Path) -> None:
    say(folder, population="not stated", exclusions="Unknown", status="local")
    untold = ("population", "exclusions", "retest_people", "retest_interval", "retest_blinding")
    assert read_folder(folder).not_stated == untold
    say(folder, retest_design={"people": "stable", "interval": "half a year", "blinding": "yes"})
    assert read_folder(folder).not_stated == ("population", "exclusions")
