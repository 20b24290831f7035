"""Verification of a table by local people: the rule of CLSI EP28-A3c, equivalence, power, the statement.

Outside: the published rule (2 of 20), scipy's binomial, chi-square and t, simulated samples.
"""

import csv
import json
from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from norms import TableFaults, read_folder
from norms.__main__ import main
from norms.judge.lookup import row_at
from norms.table.folder import folder_bytes, write_folder
from norms.table.table import value_at
from norms.table.verification import (
    CAUTION,
    MARGIN_MEAN,
    MARGIN_SD,
    NOT_USED,
    VERIFIED,
    LocalPeople,
    most_outside,
    sd_equivalence,
    verifications_of,
    verify,
)
from norms.worth.verification import power_of_verification
from tests.norms.folders import DEMO_NORMS
from tests.norms.sample_people import COLUMNS

MEASURES = ("steady.preferred.scatter", "wander.preferred.delay")
SEED = 20_261_201


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_folder(tmp_path / "table", folder_bytes(DEMO_NORMS))
    return tmp_path / "table"


def local_sample(folder: Path, n: int, shift: float = 0.0, ratio: float = 1.0, **cells: object) -> Path:
    """n local people whose scores lie at known z of the table; lower values are better."""
    table = read_folder(folder)
    rng, rows = np.random.default_rng([SEED, n]), []
    for person in range(n):
        age = 20 + (person * 7) % 68 + 0.5
        for name, z in zip(MEASURES, rng.standard_normal(len(MEASURES)), strict=True):
            row = row_at(table, name, "simulated", "not_asked", age)
            assert row is not None
            value = float(value_at(table, table.measure_by_name[name], row, shift + ratio * z))
            scaled = float(np.log(value)) if "scatter" in name else value
            facts = [f"L{person}", 1, "reference", "yes", age, "not_asked", "simulated", "finger", 0, 0,
                     "clinic", 1, 1, name, repr(value), repr(scaled), "", 1, ""]  # fmt: skip
            rows.append([cells.get(column, cell) for column, cell in zip(COLUMNS, facts, strict=True)])
    path = folder.parent / "local.csv"
    with path.open("w", newline="") as file:
        csv.writer(file).writerows([COLUMNS, *rows])
    return path


def run(sample: Path, folder: Path, *more: str) -> int:
    return main(["verify", str(sample), "--table", str(folder), *more])


# --- the rule ---


def test_two_of_twenty_may_lie_outside_as_published_and_more_people_are_refused_no_more_often() -> None:
    """CLSI EP28-A3c (2010): at most 2 of 20."""
    assert most_outside(20) == 2
    at_20 = stats.binom.sf(2, 20, 0.05)
    assert at_20 == pytest.approx(0.0755, abs=5e-5)
    for n in range(20, 300):
        assert stats.binom.sf(most_outside(n), n, 0.05) <= at_20 + 1e-12
        assert stats.binom.sf(most_outside(n) - 1, n, 0.05) > at_20


@pytest.mark.parametrize(
    ("people", "verdict", "against"),
    [
        (LocalPeople(20, 2, 0.0, 1.0), CAUTION, ()),
        (LocalPeople(20, 3, 0.0, 1.0), NOT_USED, ("too_many_outside",)),
        (LocalPeople(19, 0, 0.0, 1.0), NOT_USED, ("too_few_people",)),
        (LocalPeople(120, 6, 0.05, 1.02), VERIFIED, ()),
        (LocalPeople(120, 6, 0.25, 1.0), CAUTION, ()),
        (LocalPeople(120, 10, -0.6, 1.0), NOT_USED, ("mean_differs",)),
        (LocalPeople(120, 2, 0.0, 0.6), NOT_USED, ("sd_differs",)),
    ],
)
def test_numbers_decide_the_verdict(people: LocalPeople, verdict: str, against: tuple[str, ...]) -> None:
    found = verify(people)
    assert (found.verdict, found.against) == (verdict, against)


@pytest.mark.parametrize(("n", "sd"), [(20, 0.8), (60, 1.1), (200, 1.2)])
def test_the_sd_is_tested_by_chi_square(n: int, sd: float) -> None:
    found = sd_equivalence(n, sd)
    upper = stats.chi2.cdf((n - 1) * (sd / MARGIN_SD) ** 2, n - 1)
    lower = stats.chi2.sf((n - 1) * (sd * MARGIN_SD) ** 2, n - 1)
    assert (found.p_below_upper, found.p_above_lower) == pytest.approx((upper, lower), rel=1e-8, abs=1e-12)
    low, high = found.interval_90
    assert stats.chi2.cdf((n - 1) * (sd / high) ** 2, n - 1) == pytest.approx(0.05, abs=1e-9)
    assert stats.chi2.sf((n - 1) * (sd / low) ** 2, n - 1) == pytest.approx(0.05, abs=1e-9)


@pytest.mark.parametrize("n", [20, 40, 100, 150])
@pytest.mark.parametrize("shift", [0.0, 0.5])
def test_the_power_told_is_how_often_drawn_samples_pass(n: int, shift: float) -> None:
    """4,000 samples a cell: Monte Carlo SE at most .8 in 100."""
    z = shift + np.random.default_rng([SEED, n, int(10 * shift)]).standard_normal((4_000, n))
    mean, sd, told = z.mean(1), z.std(1, ddof=1), power_of_verification(n, shift)
    outside = (np.abs(z) > stats.norm.ppf(0.975)).sum(1)
    reach = stats.t.ppf(0.95, n - 1) * sd / sqrt(n)
    equivalent = np.mean(np.abs(mean) + reach < MARGIN_MEAN)
    narrow = np.mean([sd_equivalence(n, float(one)).shown for one in sd[:1_000]])
    print(f"n {n}, shift {shift}: count {told.count_passes:.1f}, mean {told.mean_equivalent:.1f}, SD "
          f"{told.sd_equivalent:.1f}")  # fmt: skip
    assert told.count_passes == pytest.approx(100 * np.mean(outside <= most_outside(n)), abs=2.4)
    assert told.mean_equivalent == pytest.approx(100 * equivalent, abs=2.4)
    assert told.sd_equivalent == pytest.approx(100 * narrow, abs=4.8)


# --- the command ---


def test_local_people_like_the_tables_verify_it_and_the_statement_goes_into_the_folder(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(local_sample(folder, 160), folder, "--sign", "site_lead") == 0
    said = capsys.readouterr().out
    assert said.count("  may be used here\n") == 2
    assert "Of 100 samples of 160 whose true mean lies 0.5 SD off, about" in said
    (statement,) = verifications_of(read_folder(folder).about)
    assert {one.measure: one.verdict for one in statement.measures} == dict.fromkeys(MEASURES, VERIFIED)
    assert (statement.role, statement.device_class) == ("site_lead", "simulated")
    assert main(["show", str(folder)]) == 0
    assert "verified by local people on simulated, input finger: signed" in capsys.readouterr().out
    assert run(folder.parent / "local.csv", folder, "--sign", "researcher") == 0
    assert [one.role for one in verifications_of(read_folder(folder).about)] == ["researcher"]


def test_people_of_another_clinic_half_an_sd_and_more_off_are_not_to_be_read_by_it(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(local_sample(folder, 120, shift=-0.8), folder) == 1
    told = capsys.readouterr()
    assert told.out.count("not to be used here: ") == 2
    assert told.err == "No measure of the table is to be used here.\n"
    assert "verified" not in json.loads((folder / "datapackage.json").read_text())["reference_table"]


def test_json_is_the_same_unrounded(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(local_sample(folder, 25), folder, "--json") == 0
    said = json.loads(capsys.readouterr().out)
    assert said["measures"][MEASURES[0]]["people"]["n"] == 25 and said["left_out"] == {}


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"battery": "other"}, "battery: must be the table's, clinic"),
        ({"input": "stylus"}, "input: must be the table's, finger"),
        ({"scaled": "3"}, "must be the natural logarithm of the value"),
        ({"purpose": "care"}, "holds no line of purpose reference or retest"),
    ],
)
def test_a_sample_that_does_not_fit_is_refused_in_a_sentence(
    folder: Path, capsys: pytest.CaptureFixture[str], cells: dict[str, object], words: str
) -> None:
    assert run(local_sample(folder, 25, **cells), folder) == 1
    assert words in capsys.readouterr().err


def changed(folder: Path, keys: Sequence[str | int], value: object) -> str:
    package = json.loads((folder / "datapackage.json").read_text())
    inner = package["reference_table"]["verified"][0]
    for key in keys[:-1]:
        inner = inner[key]
    inner[keys[-1]] = value
    (folder / "datapackage.json").write_text(json.dumps(package))
    with pytest.raises(TableFaults) as caught:
        read_folder(folder)
    return str(caught.value)


@pytest.mark.parametrize(
    ("keys", "value", "words"),
    [
        (["role"], "director", "role, must be one of site_lead, researcher"),
        (["date"], "yesterday", "must be as norms verify writes it"),
        (["measures", 0, "verdict"], CAUTION, "must say no more than its numbers carry"),
        (["measures", 0, "people", "outside"], 0, "sha256 must be that of the statement"),
        (["measures", 0, "people", "n"], "many", "people, must hold numbers"),
        (["of", "table.csv"], "sha256:0", "must be of the table's files as they are"),
    ],
)
def test_a_statement_that_was_changed_is_a_fault_and_the_folder_answers_nothing(
    folder: Path, keys: list[str | int], value: object, words: str
) -> None:
    assert run(local_sample(folder, 160), folder, "--sign", "site_lead") == 0
    assert words in changed(folder, keys, value)


def test_more_people_never_allow_a_larger_share_outside() -> None:
    shares = [most_outside(n) / n for n in (20, 60, 120, 240)]
    assert shares == sorted(shares, reverse=True)
    assert verify(replace(verify(LocalPeople(20, 2, 0, 1)).people, n=400, outside=40)).verdict == NOT_USED
