"""The command line of norms: answers, one sentence for every fault, exit codes, nothing written."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from norms import write_folder
from norms.__main__ import main
from norms.table.datapackage import hash_of
from tests.norms.folders import EXAMPLE
from tests.sources import ROOT

COMPARE = ["compare", "--table", str(EXAMPLE), "--measure", "brisk.preferred.scatter"]
CHANGE = ["change", "--table", str(EXAMPLE), "--measure", "brisk.preferred.scatter", "--age", "70"]
SERIES = ["series", *CHANGE[1:], "--visits"]
Captured = pytest.CaptureFixture[str]


def told(capsys: Captured, *argv: str) -> tuple[int, str, str]:
    code = main(list(argv))
    out, err = capsys.readouterr()
    return code, out, err


def test_compare_prints_percentile_interval_label_and_the_synthetic_note(capsys: Captured) -> None:
    code, out, err = told(capsys, *COMPARE, "--value", "11.6", "--age", "70")
    assert (code, err) == (0, "")
    assert "percentile 15" in out and "11 to 19" in out and "Low average (standard score 84)" in out
    assert "usual (80 of 100): 5.5 mm to 12.6 mm" in out and "NOT FOR USE WITH REAL PEOPLE" in out


def test_compare_gives_one_json_object_with_the_fields_of_a_standing(capsys: Captured) -> None:
    code, out, _ = told(capsys, *COMPARE, "--value", "11.6", "--age", "70", "--json")
    found = json.loads(out)
    assert code == 0 and found["warnings"] == ["synthetic"]
    assert found["z"] == pytest.approx(-1.0422166, abs=1e-6)  # by hand: -(ln 11.6 - 2.1176) / .3199
    assert {
        "measure",
        "value",
        "scaled",
        "z",
        "t_n",
        "percentile",
        "interval_95",
        "standard_score",
        "label",
        "n",
        "row",
        "neighbours",
        "warnings",
    } <= found.keys()
    assert found["row"]["age_from"] == 60


def test_change_gives_limits_and_the_word(capsys: Captured) -> None:
    code, out, _ = told(capsys, *CHANGE, "--before", "8", "--after", "11.6", "--days", "180")
    assert code == 0 and "reliably poorer" in out and "5.4 mm to 10.8 mm" in out
    code, out, _ = told(
        capsys,
        *CHANGE,
        "--before",
        "8",
        "--after",
        "11.6",
        "--days",
        "180",
        "--json",
        "--earlier-visits",
        "2",
    )
    found = json.loads(out)
    assert (code, found["reliable"]) == (0, "worse")
    assert set(found["warnings"]) == {"synthetic", "practice_beyond_study"}


def test_series_judges_each_visit_against_those_before_it_and_gives_a_slope(capsys: Captured) -> None:
    code, out, err = told(capsys, *SERIES, "0=8", "180=8.2", "360=8.1", "540=15")
    assert (code, err) == (0, "")
    assert "limits widened for 3 comparisons" in out
    assert "day 540, against the mean of 3 before: poorer than the limits" in out
    assert "slope -" in out and "below 0 = getting poorer" in out
    code, out, _ = told(capsys, *SERIES, "0=8", "180=8.2", "1000=8.1", "--json")
    found = json.loads(out)
    assert (code, found["n_comparisons"], found["slope"]) == (0, 1, None)
    assert found["comparisons"][1]["code"] == "interval_outside_study"
    assert found["level"] == pytest.approx(0.9)
    code, out, err = told(capsys, *SERIES, "0=8", "180=8.2")
    assert (code, out) == (1, "") and "needs 3 visits" in err


def test_classical_indices_come_by_name_and_only_when_asked_for(capsys: Captured) -> None:
    asked = [*CHANGE, "--before", "8", "--after", "11.6", "--days", "180"]
    assert "truax" not in told(capsys, *asked)[1] and "classical" not in told(capsys, *asked, "--json")[1]
    out = told(capsys, *asked, "--classical")[1]
    names = ("jacobson truax: ", "practice adjusted: ", "both sd: ", "difference z: ", "regression z: ")
    assert all(name in out for name in names)
    found = json.loads(told(capsys, *asked, "--classical", "--json")[1])["classical"]
    assert {name.replace("_", " ") + ": " for name in found} == set(names)


def test_a_profile_in_json_holds_the_distance_of_all_measures(capsys: Captured) -> None:
    asked = ["profile", "--table", str(EXAMPLE), "--age", "70", "--json", "--values"]
    code, out, _ = told(capsys, *asked, "brisk.preferred.scatter=14", "wander.preferred.delay=300")
    distance = json.loads(out)["distance"]
    assert code == 0 and (distance["df_1"], distance["df_2"]) == (2, 198)
    assert (
        "distance"
        not in told(capsys, *[one for one in asked if one != "--json"], "wander.preferred.delay=300")[1]
    )


def test_a_lag_says_behind_or_ahead(capsys: Captured) -> None:
    _, out, _ = told(
        capsys,
        "compare",
        "--table",
        str(EXAMPLE),
        "--measure",
        "circles.preferred.lag",
        "--value",
        "-12",
        "--age",
        "70",
    )
    assert "12 ms ahead" in out and "further ahead than most" in out


def test_profile_counts_and_gives_the_chance(capsys: Captured) -> None:
    asked = [
        "profile",
        "--table",
        str(EXAMPLE),
        "--age",
        "70",
        "--values",
        "brisk.preferred.scatter=14",
        "wander.preferred.delay=300",
        "steady.other.scatter=6",
    ]
    code, out, _ = told(capsys, *asked)
    assert code == 0 and out.startswith("2 of 3 are low")
    code, out, _ = told(capsys, *asked, "--json")
    found = json.loads(out)
    assert (found["n_low"], len(found["chances_percent"])) == (2, 3)
    assert found["chance_percent"] == found["chances_percent"][1]


def test_check_and_show_say_what_a_folder_holds(capsys: Captured) -> None:
    assert told(capsys, "check", str(EXAMPLE)) == (
        0,
        "example-clinic-1: no fault found in 7 measures and 28 rows.\n",
        "",
    )
    code, out, _ = told(capsys, "show", str(EXAMPLE))
    assert code == 0 and "retest n 120, r 0.70, 150 to 210 days" in out and "ages 20 to 90 in 4 rows" in out


REFUSED = [
    ([*COMPARE, "--value", "9", "--age", "95"], "age_outside"),
    ([*COMPARE, "--value", "-1", "--age", "70"], "value_outside_scale"),
    ([*COMPARE, "--value", "9", "--age", "70", "--device-class", "t10"], "other_device_class"),
    (
        ["compare", "--table", str(EXAMPLE), "--measure", "x", "--value", "1", "--age", "70"],
        "measure_missing",
    ),
    ([*CHANGE, "--before", "8", "--after", "9", "--days", "20"], "interval_outside_study"),
    ([*CHANGE, "--before", "8", "--after", "9", "--days", "-20"], "later_before_earlier"),
    (
        [
            "profile",
            "--table",
            str(EXAMPLE),
            "--age",
            "70",
            "--values",
            "steady.preferred.time_on_target=90",
            "brisk.preferred.scatter=9",
        ],
        "correlation_missing",
    ),
    (
        ["profile", "--table", str(EXAMPLE), "--age", "95", "--values", "brisk.preferred.scatter=9"],
        "age_outside",
    ),
]


@pytest.mark.parametrize(("argv", "refusal"), REFUSED)
def test_a_refusal_is_one_sentence_exit_1_and_its_code_in_json(
    capsys: Captured, argv: list[str], refusal: str
) -> None:
    code, out, err = told(capsys, *argv)
    assert (code, out) == (1, "")
    assert err.count("\n") == 1 and err.endswith(".\n")
    code, out, _ = told(capsys, *argv, "--json")
    assert code == 1 and json.loads(out)["refused"] == refusal


WRONG = [
    [],
    ["weigh"],
    ["compare"],
    [*COMPARE, "--value", "many", "--age", "70"],
    [*COMPARE, "--value", "nan", "--age", "70"],
    [*COMPARE, "--value", "9", "--age", "inf"],
    [*COMPARE, "--value", "9", "--age", "70", "--sex", "both"],
    [*CHANGE, "--before", "8", "--after", "9", "--days", "180", "--earlier-visits", "-1"],
    ["profile", "--table", str(EXAMPLE), "--age", "70", "--values", "brisk.preferred.scatter"],
    ["profile", "--table", str(EXAMPLE), "--age", "70", "--values", "a.other.b=1", "a.other.b=2"],
    ["check"],
    ["build", "sample.csv"],
    [*SERIES, "0=8", "180=8", "100=8"],
    [*SERIES, "0=8", "many=8", "400=8"],
    [*SERIES, "0=8", "180", "400=8"],
]


@pytest.mark.parametrize("argv", WRONG, ids=lambda argv: " ".join(argv[:1] + argv[5:]) or "nothing")
def test_wrong_usage_is_one_sentence_and_exit_2(capsys: Captured, argv: list[str]) -> None:
    code, out, err = told(capsys, *argv)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and err.startswith("norms") and err.endswith(".\n")


def test_check_names_every_fault_on_its_own_line(capsys: Captured, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "table"))
    text = (folder / "table.csv").read_text().replace("60,75,200,,,,76.5", "59,75,200,,,,NaN")
    (folder / "table.csv").write_text(text)
    code, out, err = told(capsys, "check", str(folder))
    assert (code, out) == (1, "")
    assert 'table.csv row 12, mean: must be a finite number, found "NaN".\n' in err
    assert "sha256 must be the one in datapackage.json" in err
    assert all(line.endswith(".") for line in err.splitlines()) and len(err.splitlines()) >= 3


@pytest.mark.parametrize(
    "content",
    [b"", b"person,visit\n", b"\x00\x01\x02" * 50, "person,visit\n1,2\n".encode("utf-16")],
    ids=["empty", "missing columns", "binary", "utf-16"],
)
def test_a_broken_sample_is_refused_and_nothing_is_written(
    capsys: Captured, tmp_path: Path, content: bytes
) -> None:
    (tmp_path / "sample.csv").write_bytes(content)
    code, out, err = told(capsys, "build", str(tmp_path / "sample.csv"), "--out", str(tmp_path / "out"))
    assert (code, out) == (1, "") and "sample.csv" in err and "Traceback" not in err
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_not_there_is_named(capsys: Captured, tmp_path: Path) -> None:
    code, _, err = told(capsys, "build", str(tmp_path / "none.csv"), "--out", str(tmp_path / "out"))
    assert code == 1 and err.startswith("none.csv could not be read") and err.count("\n") == 1


def test_the_folder_runs_as_a_module_and_loads_no_heavy_library_before_it_is_needed(tmp_path: Path) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    run = subprocess.run(
        [sys.executable, "-m", "norms", "check", str(tmp_path / "nowhere")],
        env=env,
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (run.returncode, run.stdout, run.stderr) == (1, "", "nowhere: must be a folder.\n")
    asked = "import sys, norms; print(sorted({'scipy', 'pandas', 'kiosk'} & set(sys.modules)))"
    run = subprocess.run(
        [sys.executable, "-c", asked], env=env, cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert run.stdout == "[]\n"
    assert list(tmp_path.iterdir()) == []


def test_the_age_is_that_of_the_later_visit(capsys: Captured, tmp_path: Path) -> None:
    files = {path.name: path.read_bytes() for path in EXAMPLE.iterdir()}
    files["retest.csv"] = files["retest.csv"].replace(b"150,180,210", b"150,180,900")
    package = json.loads(files["datapackage.json"])
    resource = next(one for one in package["resources"] if one["path"] == "retest.csv")
    resource |= {"hash": hash_of(files["retest.csv"]), "bytes": len(files["retest.csv"])}
    write_folder(tmp_path / "table", {**files, "datapackage.json": json.dumps(package).encode()})
    asked = ["change", "--table", str(tmp_path / "table"), "--measure", "brisk.preferred.scatter"]
    asked += ["--before", "8", "--after", "9", "--days", "800", "--json", "--age"]
    assert main([*asked, "76"]) == 1  # 73.8 and 76 lie in the bands 60 to 75 and 75 to 90
    assert json.loads(capsys.readouterr().out)["refused"] == "age_band_between"
    assert main([*asked, "78"]) == 0


@pytest.mark.parametrize("value", ["1e-300", "1e-9", "0", "100", "1e9", "1e300", "-1e300", "-1e5"])
@pytest.mark.parametrize(
    "measure", ["brisk.preferred.scatter", "circles.preferred.lag", "steady.preferred.time_on_target"]
)
@pytest.mark.filterwarnings("error")
def test_absurd_values_give_an_answer_or_a_sentence(capsys: Captured, measure: str, value: str) -> None:
    table = ["--table", str(EXAMPLE), "--age", "70", "--measure", measure]
    for more in ([], ["--json"]):
        for argv in (
            ["compare", *table, f"--value={value}"],
            ["change", *table, f"--before={value}", "--after=9", "--days=180"],
            ["change", *table, "--before=9", f"--after={value}", "--days=180"],
        ):
            code, out, err = told(capsys, *argv, *more)
            assert code in (0, 1) and err.count("\n") == (code == 1)
            assert not more or isinstance(json.loads(out), dict)
