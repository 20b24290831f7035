"""Percentile columns: published percentiles instead of a mean and an SD."""

import hashlib
import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from norms import (
    ByHand,
    Change,
    Occasion,
    Profile,
    Refusal,
    Standing,
    Table,
    TableFaults,
    change,
    printed_percentile,
    profile,
    read_folder,
    standing,
)
from norms.cli.formatting import standing_lines
from norms.table.percentiles import COLUMNS, jeffreys, value_of_z, z_of_value
from tests.norms.folders import EXAMPLE

LAG, DELAY = "circles.preferred.lag", "wander.preferred.delay"
LEVELS = (20.0, 28.0, 36.0, 46.0, 56.0, 76.0, 98.0, 108.0, 118.0, 128.0, 140.0)


def with_columns(table: Table, measure: str = LAG, levels: tuple[float, ...] = LEVELS, n: int = 200) -> Table:
    rows = tuple(
        replace(row, percentiles=levels, n=n) if row.measure == measure else row for row in table.rows
    )
    return replace(table, rows=rows, measures_use={measure: "percentiles"})


@pytest.fixture(scope="module")
def plain() -> Table:
    return read_folder(EXAMPLE)


@pytest.fixture(scope="module")
def table(plain: Table) -> Table:
    return with_columns(plain)


def stand(table: Table, value: float, measure: str = LAG) -> Standing:
    found = standing(table, measure, value, ByHand(70.0))
    assert isinstance(found, Standing)
    return found


# --- laws ---


def test_at_a_column_the_percentile_is_the_columns_own(table: Table) -> None:
    for percent, value in zip(COLUMNS, LEVELS, strict=True):
        assert stand(table, value).percentile == pytest.approx(100 - percent)  # a lag: lower is better
    higher = replace(table, measures=tuple(replace(one, better="higher") for one in table.measures))
    for percent, value in zip(COLUMNS, LEVELS, strict=True):
        assert stand(higher, value).percentile == pytest.approx(percent)


def test_between_columns_the_deviate_runs_straight_in_the_value() -> None:
    # By hand: half way from percentile 50 (76) to 75 (98): z = .67449 / 2, percentile 63.20.
    z = float(z_of_value(LEVELS, 87.0))
    assert z == pytest.approx(0.674490 / 2, abs=1e-6)
    assert 100 * stats.norm.cdf(z) == pytest.approx(63.20, abs=0.005)


def test_more_is_never_lower_and_values_turn_back() -> None:
    values = np.linspace(20, 140, 241)
    z = z_of_value(LEVELS, values)
    assert np.all(np.diff(z) > 0)
    assert np.allclose(value_of_z(LEVELS, z), values)


def test_a_value_that_fills_several_columns_lies_in_their_middle() -> None:
    # p16 = p25 = p50 = 46: percentile (16 + 50) / 2; its neighbours stay where they were.
    tied = (20.0, 28.0, 36.0, 46.0, 46.0, 46.0, 98.0, 108.0, 118.0, 128.0, 140.0)
    z = z_of_value(tied, [41.0, 46.0, 72.0])
    assert 100 * stats.norm.cdf(z[1]) == pytest.approx(33.0)
    assert z[0] == pytest.approx((stats.norm.ppf(0.09) + stats.norm.ppf(0.16)) / 2)
    assert z[2] == pytest.approx(stats.norm.ppf(0.75) / 2)
    assert np.all(np.diff(z_of_value(tied, np.linspace(20, 140, 481))) >= 0)


# --- published and recomputed numbers ---


def test_the_interval_is_that_of_jeffreys() -> None:
    # 5 of 100: 1.93 to 10.61 (Beta(m + .5, n - m + .5), recomputed).
    assert [100 * end for end in jeffreys(0.05, 100)] == pytest.approx([1.93, 10.61], abs=0.005)


def test_the_interval_of_a_standing_is_that_of_its_percentile_and_n(table: Table) -> None:
    found = stand(table, 118.0)  # percentile 91 of the value, 9 of the performance, n 200: 18 below
    assert found.percentile == pytest.approx(9)
    assert found.interval_95 == pytest.approx(
        tuple(100 * stats.beta(18.5, 182.5).ppf([0.025, 0.975])), abs=1e-6
    )
    assert found.z_star == pytest.approx(stats.norm.ppf(0.09))
    assert found.usual_range == pytest.approx(
        tuple(np.interp(stats.norm.ppf([0.1, 0.9]), stats.norm.ppf(np.array(COLUMNS) / 100), LEVELS))
    )


def test_labels_are_those_of_scores_that_are_not_normal(table: Table) -> None:
    labels = {value: stand(table, value).label for value in (140.0, 122.0, 104.0, 76.0, 40.0, 22.0)}
    assert labels == {
        140.0: "Exceptionally low",
        122.0: "Below average",
        104.0: "Low average",
        76.0: "Within normal limits",
        40.0: "Within normal limits",
        22.0: "Within normal limits",
    }


@pytest.mark.parametrize(
    ("value", "printed", "label"), [(150.0, "<2", "Exceptionally low"), (10.0, ">98", "Within normal limits")]
)
def test_outside_the_columns_only_the_side_is_told(
    table: Table, value: float, printed: str, label: str
) -> None:
    found = stand(table, value)
    said = printed_percentile(found)
    assert (f"{said.sign}{said.number:.{said.decimals}f}", found.label) == (printed, label)
    assert found.percentile == pytest.approx(2 if found.beyond < 0 else 98)
    assert found.interval_95[0 if found.beyond < 0 else 1] == (0 if found.beyond < 0 else 100)
    assert np.all(np.isfinite(found.z_interval_95))
    assert f"percentile {printed} " in standing_lines(table, found)[1]


# --- change and profile ---


def moved(table: Table, before: float, after: float) -> Change | Refusal:
    return change(table, LAG, Occasion(before, ByHand(69.5)), Occasion(after, ByHand(70)), 180)


def test_a_change_is_on_the_deviate_of_the_percentile_and_turned_back_by_the_columns(table: Table) -> None:
    found = moved(table, 76.0, 98.0)
    assert isinstance(found, Change)
    assert (found.z_before, found.z_after) == pytest.approx((0.0, -0.674490), abs=1e-6)
    low, high = found.limits_value
    assert LEVELS[0] <= low < high <= LEVELS[-1]


def test_word_and_limits_agree_inside_the_columns(table: Table) -> None:
    words = set()
    for before in (46.0, 76.0, 118.0):
        for after in np.linspace(20, 140, 61):
            found = moved(table, before, float(after))
            assert isinstance(found, Change)
            low, high = found.limits_value
            word = "worse" if after > high else "better" if after < low else "none"
            assert found.reliable == word
            words.add(word)
    assert words == {"worse", "better", "none"}


@pytest.mark.parametrize(("before", "after"), [(150.0, 76.0), (76.0, 150.0), (10.0, 76.0), (76.0, 10.0)])
def test_a_change_from_or_to_outside_the_columns_is_refused(
    table: Table, before: float, after: float
) -> None:
    found = moved(table, before, after)
    assert isinstance(found, Refusal) and found.code == "beyond_percentiles"


def test_a_low_percentile_counts_as_low_in_the_profile(table: Table) -> None:
    found = profile(table, [stand(table, 150.0), stand(table, 200.0, DELAY)])
    assert isinstance(found, Profile) and found.low == (LAG,)


def test_columns_that_are_not_used_change_nothing(plain: Table) -> None:
    other = replace(with_columns(plain), measures_use={LAG: "scale"})
    assert stand(other, 76.0).percentile == stand(plain, 76.0).percentile


# --- refusals ---


@pytest.mark.parametrize(("n", "refused"), [(48, True), (49, False)])
def test_the_outer_columns_need_49_people(plain: Table, n: int, refused: bool) -> None:
    # 1 / (n + 1) must not exceed 2 %.
    found = standing(with_columns(plain, n=n), LAG, 76.0, ByHand(70))
    assert isinstance(found, Refusal) == refused
    if isinstance(found, Refusal):
        assert (found.code, found.values["floor_n"]) == ("n_below_floor", 49)


def folder_with_columns(tmp_path: Path, measure: str, columns: bool) -> Path:
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "table"))
    if columns:
        head, *lines = (folder / "table.csv").read_text().splitlines()
        names = ",".join(f"p{percent:02d}" for percent in COLUMNS)
        levels = ",".join(f"{level:g}" for level in LEVELS)
        (folder / "table.csv").write_text(
            "\n".join([f"{head},{names}", *(f"{line},{levels}" for line in lines)]) + "\n"
        )
    package = json.loads((folder / "datapackage.json").read_text())
    package["reference_table"]["measures_use"] = {measure: "percentiles"}
    for resource in package["resources"]:
        data = (folder / resource["path"]).read_bytes()
        resource |= {"hash": "sha256:" + hashlib.sha256(data).hexdigest(), "bytes": len(data)}
    (folder / "datapackage.json").write_text(json.dumps(package))
    return folder


def test_a_folder_with_columns_is_read_and_answers(tmp_path: Path) -> None:
    table = read_folder(folder_with_columns(tmp_path, LAG, columns=True))
    assert stand(table, 118.0).percentile == pytest.approx(9)
    assert stand(table, 11.6, "brisk.preferred.scatter").by_percentiles is False


@pytest.mark.parametrize(
    ("measure", "columns", "rule"),
    [
        (LAG, False, "must be given where percentiles are used"),
        ("brisk.preferred.scatter", True, "must be identity where percentiles are used"),
        ("brisk.other.lag", True, "must name measures of measures.csv"),
    ],
)
def test_a_folder_that_cannot_use_its_columns_is_refused(
    tmp_path: Path, measure: str, columns: bool, rule: str
) -> None:
    with pytest.raises(TableFaults) as caught:
        read_folder(folder_with_columns(tmp_path, measure, columns))
    assert any(fault.rule == rule for fault in caught.value.faults)
