"""Pictures of a table, of the sample behind it and of a reliability study, as SVG text by file name.

Centile curves over age show the values at which the table itself answers percentile 5 to 95 (so with the t
of its sample, not with the plain normal curve): steps for bands, lines for smoothed and continuous tables.
People over age show how many people a row is worth. The sample over age is drawn over the centile curves;
the quantiles of z stand against those of the normal curve, where people of a table that fits lie along the
line. Of many people an evenly spread 1,500 are drawn.
"""

from collections.abc import Mapping
from itertools import chain

import numpy as np

from norms.build.chart import Chart, ends
from norms.build.fit_checks import quantile_pairs
from norms.build.retest_study import RowsByMeasure, performance
from norms.build.sample import Sample
from norms.table.distributions import normal_point, t_point
from norms.table.scale import Floats
from norms.table.table import Measure, Row, Table, value_at
from norms.worth.reliability import Reliability, Repeats

CENTILES = (5, 10, 25, 50, 75, 90, 95)
Stratum = tuple[str, str, str]


def table_pictures(table: Table) -> Mapping[str, str]:
    """Two pictures for each measure, sex and device class: centile curves, and people."""
    pictures = {}
    for (name, sex, device_class), rows in _strata(table).items():
        stem = f"{name}-{sex}-{device_class}"
        measure = table.measure_by_name[name]
        pictures[f"{stem}-centiles.svg"] = _centile_picture(table, measure, rows, sex, device_class)
        pictures[f"{stem}-people.svg"] = _people_picture(rows, f"{name}, {sex} sex, {device_class}")
    return pictures


def centile_values(table: Table, measure: Measure, row: Row) -> tuple[float, ...]:
    """The values at percentile 5 to 95 of a row, as a standing places them."""
    p = np.array(CENTILES) / 100
    if table.by_percentiles(measure.name):
        z = normal_point(p)
    else:
        z = t_point(p, row.df_of_sd) * np.sqrt(1 + 1 / row.n_of_mean)
    return tuple(float(value) for value in value_at(table, measure, row, z))


def agreement_picture(pairs: Repeats, found: Reliability) -> str:
    """Second minus first over the mean of both, with bias, limits of agreement and their intervals."""
    means, differences = (pairs.first + pairs.second) / 2, pairs.second - pairs.first
    lines = ((found.agreement_upper, "upper limit"), (found.bias, "bias"),
             (found.agreement_lower, "lower limit"))
    reach = [*differences.tolist(), *chain.from_iterable((one.low, one.high) for one, _ in lines)]
    chart = Chart("Agreement of two measurements", "mean of both", "second minus first",
                  ends(means.tolist()), ends(reach))
    for one, _ in lines:
        chart.band(one.low, one.high)
    for one, words in lines:
        chart.line([(chart.x[0], one.value), (chart.x[1], one.value)], "" if words == "bias" else "6 4")
        chart.words_right(one.value, f"{words} {one.value:.4g}")
    for mean, difference in zip(means, differences, strict=True):
        chart.dot(float(mean), float(difference))
    return chart.svg()


def _strata(table: Table) -> Mapping[Stratum, list[Row]]:
    strata: dict[Stratum, list[Row]] = {}
    for row in table.rows:
        strata.setdefault((row.measure, row.sex, row.device_class), []).append(row)
    return strata


def _centile_picture(table: Table, measure: Measure, rows: list[Row], sex: str, device_class: str) -> str:
    values = [centile_values(table, measure, row) for row in rows]
    chart = Chart(f"{measure.name}, {sex} sex, {device_class}: values at percentile 5 to 95", "age in years",
                  measure.unit, (rows[0].age_from, rows[-1].age_to), ends(chain.from_iterable(values)))
    steps = table.age_method == "bands"
    for place, percent in enumerate(CENTILES):
        points = [point for row, of_row in zip(rows, values, strict=True)
                  for point in _points(row, of_row[place], steps)]
        chart.line(points, "" if percent == 50 else "5 3" if percent in (25, 75) else "2 3",
                   2.4 if percent == 50 else 1.4)
        chart.words_right(values[-1][place], f"percentile {percent}")
    return chart.svg()


def _points(row: Row, value: float, steps: bool) -> list[tuple[float, float]]:
    if steps:
        return [(row.age_from, value), (row.age_to, value)]
    return [((row.age_from + row.age_to) / 2, value)]


def _people_picture(rows: list[Row], title: str) -> str:
    highest = max(row.n_of_mean for row in rows)
    chart = Chart(f"{title}: people a row is as good as", "age in years", "people",
                  (rows[0].age_from, rows[-1].age_to), (0.0, 1.1 * highest))
    for row in rows:
        gap = 0.04 * (row.age_to - row.age_from)
        chart.bar((row.age_from + gap, row.age_to - gap), row.n_of_mean)
    return chart.svg()


MOST_DOTS = 1_500


def sample_pictures(sample: Sample, book: RowsByMeasure, table: Table) -> Mapping[str, str]:
    """Two pictures for each measure."""
    pictures = {}
    for name in book:
        pictures[f"{name}-sample.svg"] = _over_age(sample, table, name)
        pictures[f"{name}-quantiles.svg"] = _quantiles(sample, book, name)
    return pictures


def _over_age(sample: Sample, table: Table, name: str) -> str:
    people, measure = sample.people(name), table.measure_by_name[name]
    rows = [row for row in table.rows_of_measure[name] if row.sex == "any"]
    curves = np.array([centile_values(table, measure, row) for row in rows])
    spread = _spread(len(people.value))
    chart = Chart(f"{name}: {len(people.value)} people and percentile 5 to 95", "age in years", measure.unit,
                  (rows[0].age_from, rows[-1].age_to),
                  ends([*people.value.tolist(), *curves.ravel().tolist()]))
    for age, value in zip(people.age_years[spread], people.value[spread], strict=True):
        chart.dot(float(age), float(value), 1.6)
    for place, percent in enumerate(CENTILES):
        points = [
            point
            for row, value in zip(rows, curves[:, place].tolist(), strict=True)
            for point in (
                ((row.age_from, value), (row.age_to, value))
                if table.age_method == "bands"
                else (((row.age_from + row.age_to) / 2, value),)
            )
        ]
        chart.line(points, "" if percent == 50 else "5 3", 2.4 if percent == 50 else 1.4)
        chart.words_right(float(curves[-1, place]), f"percentile {percent}")
    return chart.svg()


def _quantiles(sample: Sample, book: RowsByMeasure, name: str) -> str:
    people = sample.people(name)
    z = performance(sample, book[name][:1], people.line, people.age_years)
    normal, ordered = quantile_pairs(z[np.isfinite(z)])
    reach = ends([*normal.tolist(), *ordered.tolist()])
    chart = Chart(f"{name}: quantiles of z of {len(ordered)} people", "z of the normal curve",
                  "z of the people", reach, reach)
    chart.line([(reach[0], reach[0]), (reach[1], reach[1])], "5 3")
    for place in _spread(len(ordered)):
        chart.dot(float(normal[place]), float(ordered[place]), 1.6)
    return chart.svg()


def _spread(n: int) -> Floats:
    """Places of at most 1,500 of n, evenly spread, first and last among them."""
    return np.unique(np.linspace(0, n - 1, min(n, MOST_DOTS)).round().astype(np.int64))
