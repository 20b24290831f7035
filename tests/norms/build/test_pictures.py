"""Pictures of a table: plain SVG that shows what the table answers."""

import itertools
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from norms import ByHand, Standing, Table, read_folder, standing
from norms.__main__ import main
from norms.build.chart import Chart, ticks
from norms.build.pictures import CENTILES, centile_values, table_pictures
from tests.norms.folders import EXAMPLE
from tests.norms.table.test_percentiles import LAG, LEVELS, with_columns

SVG = "{http" + "://www.w3.org/2000/svg}"
SCATTER = "brisk.preferred.scatter"


@pytest.fixture(scope="module")
def table() -> Table:
    return read_folder(EXAMPLE)


def lines(picture: str) -> list[list[tuple[float, float]]]:
    tree = ElementTree.fromstring(picture)
    return [
        [tuple(map(float, point.split(","))) for point in (one.get("points") or "").split()]  # type: ignore
        for one in tree.iter(f"{SVG}polyline")
    ]


def test_a_value_on_a_curve_stands_at_its_percentile(table: Table) -> None:
    for which, measure in (
        (table, SCATTER),
        (table, LAG),
        (table, "steady.preferred.time_on_target"),
        (with_columns(table), LAG),
    ):
        row = which.rows_of_measure[measure][2]
        for percent, value in zip(
            CENTILES, centile_values(which, which.measure_by_name[measure], row), strict=True
        ):
            found = standing(which, measure, value, ByHand((row.age_from + row.age_to) / 2))
            assert isinstance(found, Standing)
            assert found.percentile == pytest.approx(percent, abs=1e-6)


def test_every_measure_has_a_picture_of_centiles_and_one_of_people(table: Table) -> None:
    pictures = table_pictures(table)
    assert len(pictures) == 2 * len(table.measures)
    for measure in table.measures:
        centiles = lines(pictures[f"{measure.name}-any-simulated-centiles.svg"])
        assert len(centiles) == len(CENTILES)
        tree = ElementTree.fromstring(pictures[f"{measure.name}-any-simulated-people.svg"])
        assert len(tree.findall(f"{SVG}rect")) == 1 + len(table.rows_of_measure[measure.name])


def test_bands_are_drawn_as_steps_and_smoothed_rows_as_lines(table: Table) -> None:
    smooth = replace(table, age_method="smoothed_bands")
    rows = len(table.rows_of_measure[SCATTER])
    name = f"{SCATTER}-any-simulated-centiles.svg"
    steps, curve = (lines(table_pictures(one)[name])[0] for one in (table, smooth))
    assert (len(steps), len(curve)) == (2 * rows, rows)
    assert all(first[1] == second[1] for first, second in zip(steps[::2], steps[1::2], strict=True))


def test_poorer_centiles_of_scatter_lie_higher_and_curves_never_cross(table: Table) -> None:
    curves = lines(table_pictures(table)[f"{SCATTER}-any-simulated-centiles.svg"])
    for poorer, better in itertools.pairwise(curves):
        assert all(
            one[1] < other[1] for one, other in zip(poorer, better, strict=True)
        )  # pixels grow downwards


def test_words_are_escaped_and_do_not_stand_on_each_other() -> None:
    chart = Chart("a < b & c", "x", "y", (0, 1), (0, 1))
    for height in (0.5, 0.505, 0.51):
        chart.words_right(height, "here")
    tree = ElementTree.fromstring(chart.svg())
    assert any(one.text == "a < b & c" for one in tree.iter(f"{SVG}text"))
    tops = sorted(float(one.get("y") or 0) for one in tree.iter(f"{SVG}text") if one.text == "here")
    assert all(second - first >= 13 for first, second in itertools.pairwise(tops))


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        (18, 91, [20, 40, 60, 80]),
        (0, 1, [0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        (-3, 3, [-3, -2, -1, 0, 1, 2, 3]),
        (0.011, 0.019, [0.012, 0.014, 0.016, 0.018]),
    ],
)
def test_ticks_are_round_numbers_inside(low: float, high: float, found: list[float]) -> None:
    assert ticks(low, high) == pytest.approx(found)


def test_one_value_for_all_makes_a_picture_all_the_same(table: Table) -> None:
    flat = with_columns(table, levels=(76.0,) * len(LEVELS))
    ElementTree.fromstring(table_pictures(flat)[f"{LAG}-any-simulated-centiles.svg"])


def test_show_writes_the_pictures_and_says_grade_and_columns(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", str(EXAMPLE), "--pictures", str(tmp_path / "new" / "pictures")]) == 0
    out = capsys.readouterr().out
    assert "sample size grade 1 of 4 (inadequate)" in out and "correlations of change: 15 pairs" in out
    written = sorted(path.name for path in (tmp_path / "new" / "pictures").iterdir())
    assert written == sorted(table_pictures(read_folder(EXAMPLE)))


def test_words_beside_close_lines_stand_in_the_order_of_the_lines() -> None:
    chart = Chart("t", "x", "y", (0.0, 1.0), (0.0, 100.0))
    for value, words in ((60.0, "fifty"), (50.0, "seventy-five"), (49.0, "ninety"), (48.5, "ninety-five")):
        chart.words_right(value, words)
    found = re.findall(r'y="([\d.]+)"[^>]*>([a-z-]+)<', chart.svg())
    places = {words: float(top) for top, words in found}
    tops = [places[words] for words in ("fifty", "seventy-five", "ninety", "ninety-five")]
    assert all(after - before >= 13 for before, after in itertools.pairwise(tops))
