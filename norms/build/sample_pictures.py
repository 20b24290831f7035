"""Pictures of a built table with the people behind it, as SVG text by file name.

The sample over age with the table's centile curves, and the quantiles of z against those of the normal curve:
people of a fitting table lie along the line. Of many people an evenly spread 1,500 are drawn.
"""

from collections.abc import Mapping

import numpy as np

from norms.build.chart import Chart, ends
from norms.build.fit_checks import quantile_pairs
from norms.build.pictures import CENTILES, centile_values
from norms.build.sample import Sample
from norms.build.study import Book, performance
from norms.table.scale import Floats
from norms.table.table import Table

MOST_DOTS = 1_500


def sample_pictures(sample: Sample, book: Book, table: Table) -> Mapping[str, str]:
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
    chart = Chart(
        f"{name}: {len(people.value)} people and percentile 5 to 95",
        "age in years",
        measure.unit,
        (rows[0].age_from, rows[-1].age_to),
        ends([*people.value.tolist(), *curves.ravel().tolist()]),
    )
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


def _quantiles(sample: Sample, book: Book, name: str) -> str:
    people = sample.people(name)
    z = performance(sample, book[name][:1], people.line, people.age_years)
    normal, ordered = quantile_pairs(z[np.isfinite(z)])
    reach = ends([*normal.tolist(), *ordered.tolist()])
    chart = Chart(
        f"{name}: quantiles of z of {len(ordered)} people",
        "z of the normal curve",
        "z of the people",
        reach,
        reach,
    )
    chart.line([(reach[0], reach[0]), (reach[1], reach[1])], "5 3")
    for place in _spread(len(ordered)):
        chart.dot(float(normal[place]), float(ordered[place]), 1.6)
    return chart.svg()


def _spread(n: int) -> Floats:
    """Places of at most 1,500 of n, evenly spread, first and last among them."""
    return np.unique(np.linspace(0, n - 1, min(n, MOST_DOTS)).round().astype(np.int64))
