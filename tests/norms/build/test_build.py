"""A table built from a sample, against general statistics software and a general validator."""

import csv
import io
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from statistics import fmean, median, stdev

import numpy as np
import pytest
from scipy.stats import pearsonr

from norms import PRIMARY_MEASURES, ByHand, Standing, Table, TableFaults, read_folder, standing, write_folder
from norms.__main__ import main
from norms.build.build import build_table
from norms.build.sample import SAMPLE, read_sample
from norms.build.template import read_template, template

HEADER = [column.name for column in SAMPLE.columns]
CREATED = "2026-07-11T09:00:00Z"
BANDS = [20, 40, 60, 80]
MEASURES = (*PRIMARY_MEASURES, "steady.preferred.time_on_target")
SCALES = {
    "scatter": np.exp,
    "lag": lambda m: m,
    "delay": lambda m: m,
    "time_on_target": lambda m: 100 * np.clip((33 / (1 + np.exp(-m)) - 0.5) / 32, 0, 1),
}
LEVELS = {"scatter": (1.5, 0.3), "lag": (60, 25), "delay": (180, 30), "time_on_target": (1.5, 0.9)}

Record = dict[str, object]


def people(reference: int = 150, retest: int = 40, seed: int = 8) -> list[Record]:
    """Invented people: one visit of reference volunteers, two of the retest study."""
    rng = np.random.default_rng(seed)
    records: list[Record] = []
    for number in range(reference + retest):
        again = number >= reference
        age, common = float(rng.uniform(20, 79)), rng.normal()
        age = 39.8 if again and number % 4 == 0 else age  # crosses a band's edge between the visits
        gap = float(rng.integers(150, 211))
        for visit in (1, 2) if again else (1,):
            for measure in MEASURES:
                records.append(
                    record(
                        rng,
                        f"P{number:03d}",
                        visit,
                        "retest" if again else "reference",
                        age + (visit - 1) * gap / 365.25,
                        (visit - 1) * gap,
                        common,
                        measure,
                    )
                )
    return records


def record(
    rng: np.random.Generator,
    person: str,
    visit: int,
    purpose: str,
    age: float,
    day: float,
    common: float,
    measure: str,
) -> Record:
    score = measure.split(".")[-1]
    level, spread = LEVELS[score]
    scaled = level + 0.01 * spread * (age - 50) + spread * (0.8 * common + 0.6 * rng.normal())
    return dict(
        zip(
            HEADER,
            [
                person,
                visit,
                purpose,
                "yes",
                repr(age),
                "female",
                "simulated",
                "finger",
                day,
                visit - 1,
                "clinic",
                1,
                1,
                measure,
                repr(float(SCALES[score](scaled))),
                repr(float(scaled)),
                repr(float(rng.uniform(0.001, 0.1))),
                3,
            ],
            strict=True,
        )
    )


def as_csv(records: Iterable[Record]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, HEADER, lineterminator="\n")
    writer.writeheader()
    writer.writerows(records)
    return text.getvalue().encode()


def built(records: Iterable[Record], **said: object) -> Mapping[str, bytes]:
    said = {"method": "bands", "bands": BANDS, **said}
    return build_table(read_sample("sample.csv", as_csv(records)), template(said, CREATED)).files


def refused(records: Iterable[Record], **said: object) -> str:
    with pytest.raises(TableFaults) as caught:
        built(records, **said)
    return str(caught.value)


@pytest.fixture(scope="module")
def records() -> list[Record]:
    return people()


@pytest.fixture(scope="module")
def folder(records: list[Record], tmp_path_factory: pytest.TempPathFactory) -> Path:
    into = tmp_path_factory.mktemp("built") / "table"
    write_folder(into, built(records, reference_table={"status": "synthetic"}))
    return into


@pytest.fixture(scope="module")
def table(folder: Path) -> Table:
    return read_folder(folder)


def scaled(
    records: list[Record], measure: str, purpose: str, visit: int = 1
) -> dict[str, tuple[float, float]]:
    """Person -> age, scaled value."""
    return {
        str(one["person"]): (float(str(one["age_years"])), float(str(one["scaled"])))
        for one in records
        if (one["measure"], one["purpose"], one["visit"]) == (measure, purpose, visit)
    }


def test_the_general_validator_of_data_packages_accepts_what_is_built(folder: Path) -> None:
    from frictionless import Package

    report = Package(str(folder / "datapackage.json")).validate()
    assert report.valid, report.flatten(["title", "message"])


def test_each_band_holds_number_mean_and_sd_of_its_reference_people(
    records: list[Record], table: Table
) -> None:
    for row in table.rows:
        here = [
            value
            for age, value in scaled(records, row.measure, "reference").values()
            if row.age_from <= age < row.age_to
        ]
        assert row.n == len(here)
        assert (row.mean, row.sd) == pytest.approx((fmean(here), stdev(here)), rel=1e-9)
    assert len(table.rows) == 7 * 3


def test_trial_sd_is_pooled_over_blocks_by_their_degrees_of_freedom(
    records: list[Record], table: Table
) -> None:
    for measure in table.measures:
        variances = [float(str(one["trial_variance"])) for one in records if one["measure"] == measure.name]
        assert measure.trial_sd == pytest.approx(fmean(variances) ** 0.5, rel=1e-9)


def test_blocks_of_more_trials_weigh_more_and_single_trials_nothing() -> None:
    some = people(150, 0)
    for number, one in enumerate(one for one in some if one["measure"] == MEASURES[0]):
        trials, variance = ((3, 0.04), (2, 0.10), (1, ""))[number % 3]
        one |= {"n_trials": trials, "trial_variance": variance}
    text = built(some)["measures.csv"].decode()
    # By hand, per three people: (2 x .04 + 1 x .10) / 3 = .06.
    assert float(text.splitlines()[1].split(",")[-1]) == pytest.approx(0.06**0.5, rel=1e-9)


def test_the_retest_study_stands_on_z_of_this_very_table_by_the_later_row(
    records: list[Record], table: Table
) -> None:
    for study in table.retest:
        rows = table.rows_of_measure[study.measure]
        sign = 1 if study.measure.endswith("on_target") else -1
        first, second = (scaled(records, study.measure, "retest", visit) for visit in (1, 2))
        z = []
        for person, (age, later) in second.items():
            row = next((row for row in rows if row.age_from <= age < row.age_to), None)
            if row is not None:
                z.append([sign * (value - row.mean) / row.sd for value in (first[person][1], later)])
        one, two = zip(*z, strict=True)
        assert study.n == len(z)
        assert (study.mean_1, study.sd_1, study.mean_2, study.sd_2, study.r) == pytest.approx(
            (fmean(one), stdev(one), fmean(two), stdev(two), pearsonr(one, two)[0]), rel=1e-8, abs=1e-8
        )
    assert len(table.retest) == 7


def test_days_and_earlier_visits_of_the_study_are_those_of_its_pairs(
    records: list[Record], table: Table
) -> None:
    days = [float(str(one["day"])) for one in records if one["visit"] == 2 and one["measure"] == MEASURES[0]]
    study = table.retest[0]
    assert (study.days_min, study.days_median, study.days_max) == (min(days), median(days), max(days))
    assert study.earlier_visits == 0


def test_correlations_of_both_kinds_are_those_of_z_and_of_its_change(
    records: list[Record], table: Table
) -> None:
    first, second = PRIMARY_MEASURES[0], PRIMARY_MEASURES[3]

    def z_of(measure: str, purpose: str, visit: int) -> dict[str, float]:
        later = scaled(records, measure, purpose, 2 if purpose == "retest" else 1)
        rows = table.rows_of_measure[measure]
        found = {}
        for person, (_, value) in scaled(records, measure, purpose, visit).items():
            row = next((row for row in rows if row.age_from <= later[person][0] < row.age_to), None)
            if row is not None:
                found[person] = -(value - row.mean) / row.sd
        return found

    for kind in ("visit", "change"):
        if kind == "visit":
            one, two = (z_of(measure, "reference", 1) for measure in (first, second))
        else:
            one, two = (
                {
                    person: after - z_of(measure, "retest", 1)[person]
                    for person, after in z_of(measure, "retest", 2).items()
                }
                for measure in (first, second)
            )
        known = next(
            each
            for each in table.correlations
            if (each.kind, each.measure_1, each.measure_2) == (kind, first, second)
        )
        assert known.n == len(one)
        assert known.r == pytest.approx(pearsonr(list(one.values()), [two[key] for key in one])[0], rel=1e-8)
    assert len(table.correlations) == 30


def test_the_reference_sample_itself_scores_mean_0_and_sd_1(records: list[Record], table: Table) -> None:
    z = []
    for one in records:
        if one["purpose"] == "reference" and one["measure"] == PRIMARY_MEASURES[4]:
            found = standing(
                table, str(one["measure"]), float(str(one["value"])), ByHand(float(str(one["age_years"])))
            )
            assert isinstance(found, Standing)
            z.append(found.z)
    assert fmean(z) == pytest.approx(0, abs=1e-9) and stdev(z) == pytest.approx(1, abs=0.02)


def test_the_order_of_the_lines_changes_nothing(records: list[Record]) -> None:
    mixed = [records[place] for place in np.random.default_rng(3).permutation(len(records))]
    assert built(mixed)["measures.csv"].split(b"\n")[0] == built(records)["measures.csv"].split(b"\n")[0]
    for name, data in built(records).items():
        if name.endswith(".csv"):
            assert as_numbers(built(mixed)[name]) == as_numbers(data)


def as_numbers(data: bytes) -> list[list[object]]:
    rows = [line.split(",") for line in data.decode().splitlines()]
    return [
        [
            pytest.approx(float(cell), rel=1e-6, abs=1e-9)
            if cell.replace(".", "").replace("-", "").isdigit()
            else cell
            for cell in row
        ]
        for row in rows
    ]


def test_only_real_panels_make_a_local_table(records: list[Record]) -> None:
    """Simulated people make a synthetic table, whatever the template says of its status."""
    of = {"reference_table": {"status": "local"}}
    simulated, real = built(records, **of), built([{**one, "device_class": "t10"} for one in records], **of)
    said = [json.loads(files["datapackage.json"])["reference_table"]["status"] for files in (simulated, real)]
    assert said == ["synthetic", "local"]


def test_other_purposes_and_people_who_did_not_agree_are_left_out_and_counted(records: list[Record]) -> None:
    extra = [
        {
            **one,
            "person": f"X{number}",
            **({"purpose": "care"} if number % 2 else {"research_use": "no"}),
        }
        for number, one in enumerate(records[:14])
    ]
    sample = read_sample("sample.csv", as_csv([*records, *extra]))
    assert sample.left_out == {"research use not agreed": 7, "purpose neither reference nor retest": 7}
    assert built([*records, *extra]) == built(records)


def test_the_descriptor_says_what_the_template_says(records: list[Record]) -> None:
    files = built(records, name="harbour-1", reference_table={"population": "invented adults"})
    package = json.loads(files["datapackage.json"])
    said = package["reference_table"]
    assert (package["name"], package["created"]) == ("harbour-1", CREATED)
    assert (said["population"], said["status"], said["input"]) == ("invented adults", "synthetic", "finger")
    assert (said["battery"], said["battery_version"], said["tested_to"]) == ("clinic", 1, "2026-07-11")


@pytest.mark.parametrize(
    ("field", "value", "named"),
    [
        ("battery_version", 2, "battery_version"),
        ("scoring_version", 2, "scoring_version"),
        ("input", "stylus", "input"),
        ("device_class", "t10", "device_class"),
        ("age_years", -1, "age_years"),
        ("age_years", 121, "age_years"),
        ("value", "inf", "value"),
        ("scaled", "", "scaled"),
        ("visit", 100, "visit"),
    ],
)
def test_mixed_or_impossible_lines_are_refused_by_row(
    records: list[Record], field: str, value: object, named: str
) -> None:
    broken = [dict(one) for one in records]
    broken[5][field] = value
    message = refused(broken)
    assert f"sample.csv row 7, {named}" in message


def test_a_person_twice_is_refused(records: list[Record]) -> None:
    assert "unique" in refused([*records, records[3]])


def test_a_raw_band_of_one_person_makes_no_table() -> None:
    assert "needs 2 persons or more" in refused(people(12, 0), bands=[20, 25, 30, 35, 40, 45, 50, 55, 60, 80])


def test_people_who_are_all_the_same_make_no_table(records: list[Record]) -> None:
    same = [
        {**one, "scaled": 1.5, "value": float(SCALES[str(one["measure"]).split(".")[-1]](1.5))}
        for one in records
    ]
    assert "values that differ" in refused(same)


def test_an_unknown_score_asks_the_template(records: list[Record]) -> None:
    odd = [
        {**one, "measure": "steady.preferred.roundness", "scaled": one["value"]}
        if one["measure"] == MEASURES[6]
        else one
        for one in records
    ]
    assert "roundness" in refused(odd)
    files = built(odd, scores={"roundness": ["ratio", "higher", "identity", 2]})
    assert b"steady.preferred.roundness,ratio,higher,identity,2" in files["measures.csv"]


@pytest.mark.parametrize(
    "said",
    [
        {"bands": [40, 20]},
        {"bands": [20]},
        {"bands": "all"},
        {"bands": [20, float("nan")]},
        {"colour": "red"},
        {"reference_table": []},
        {"scores": {"x": ["mm"]}},
        {"reference_table": {"status": "approved"}},
        {"reference_table": {"floor_n": "many"}},
        {"method": "guessed"},
        {"lms": "always"},
        {"name": ""},
        {"version": "one"},
    ],
)
def test_a_template_that_cannot_be_is_refused(records: list[Record], said: dict) -> None:
    assert refused(records, **said)


@pytest.mark.parametrize("data", [b"", b"[]", b"{", b"\xff\xfe{}"])
def test_what_is_no_template_file_is_refused(data: bytes) -> None:
    with pytest.raises(TableFaults):
        read_template(data)


def test_the_command_builds_a_folder_that_it_then_finds_sound(
    records: list[Record], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sample.csv").write_bytes(
        as_csv([*records, {**records[0], "person": "X", "purpose": "care"}])
    )
    (tmp_path / "say.json").write_text(json.dumps({"created": CREATED, "title": "Invented"}))
    code = main(
        [
            "build",
            str(tmp_path / "sample.csv"),
            "--out",
            str(tmp_path / "out"),
            "--bands",
            "20,40,60,80",
            "--method",
            "bands",
            "--template",
            str(tmp_path / "say.json"),
            "--status",
            "synthetic",
            "--name",
            "harbour",
        ]
    )
    out, err = capsys.readouterr()
    assert code == 0 and "Traceback" not in err
    assert (
        "Left out: 1 lines, purpose neither reference nor retest." in out and "harbour 1.0.0: Invented" in out
    )
    assert main(["check", str(tmp_path / "out")]) == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "checks",
        "correlations.csv",
        "datapackage.json",
        "measures.csv",
        "retest.csv",
        "table.csv",
    ]


@pytest.mark.parametrize("more", [["--bands", "20,x"], ["--bands", "nan,40"], ["--status", "approved"]])
def test_wrong_bands_and_status_are_wrong_usage(
    more: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", str(tmp_path / "sample.csv"), "--out", str(tmp_path / "out"), *more]) in (1, 2)
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_an_out_that_cannot_be_a_folder_is_refused_by_name(
    records: list[Record], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sample.csv").write_bytes(as_csv(records))
    for out in (tmp_path / "sample.csv", tmp_path / "sample.csv" / "below"):
        assert main(["build", str(tmp_path / "sample.csv"), "--out", str(out), "--method", "bands"]) == 1
        err = capsys.readouterr().err
        assert err.count("\n") == 1 and "Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["sample.csv"]
