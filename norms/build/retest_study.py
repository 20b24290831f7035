"""The retest study and the correlations of a table to be built, on z of its own rows.

A pair is a visit of purpose retest with the visit just before it. Both are read by the row that fits the
later one, two years apart or more each by its own. z is in the direction of performance, NaN where no row
fits.
"""

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from norms.build.age_rows import AgeRows
from norms.build.sample import SEXES, Ints, Sample
from norms.judge.comparability import SEPARATE_ROWS_FROM_DAYS
from norms.table.scale import Floats, lms_z

LEAST_PAIRS = 4
RowsByMeasure = Mapping[str, Sequence[AgeRows]]
Cells = Sequence[object]


class Pairs(NamedTuple):
    """Lines of the earlier and of the later visit, and z of both."""

    first: Ints
    second: Ints
    z_first: Floats
    z_second: Floats


def performance(sample: Sample, rows: Sequence[AgeRows], lines: Ints, ages: Floats) -> Floats:
    """z of lines by the rows that fit these ages: of the person's sex where there are such, else of any."""
    z = np.full(len(lines), np.nan)
    for of_sex in rows:  # any first, own rows over it
        place, inside = of_sex.place(ages)
        if of_sex.sex != "any":
            inside &= sample.sex[lines] == SEXES.index(of_sex.sex)
        z[inside] = _z(sample, of_sex, place[inside], lines[inside])
    return z


def pairs_of(sample: Sample, measure: str, rows: Sequence[AgeRows]) -> Pairs:
    """Every pair of a measure that both have a z."""
    lines = sample.lines_of(measure)
    lines = lines[np.lexsort((sample.visit[lines], sample.person[lines]))]
    before, after = lines[:-1], lines[1:]
    joined = (
        (sample.person[before] == sample.person[after])
        & sample.again[after]
        & (sample.visit[after] == sample.visit[before] + 1)
    )
    first, second = before[joined], after[joined]
    late = sample.age_years[second]
    apart = sample.day[second] - sample.day[first] >= SEPARATE_ROWS_FROM_DAYS
    z_first = performance(sample, rows, first, np.where(apart, sample.age_years[first], late))
    z_second = performance(sample, rows, second, late)
    known = np.isfinite(z_first) & np.isfinite(z_second)
    return Pairs(first[known], second[known], z_first[known], z_second[known])


def retest_rows(sample: Sample, book: RowsByMeasure) -> list[Cells]:
    """One row a measure and number of earlier visits, where at least LEAST_PAIRS came again."""
    found: list[Cells] = []
    for measure, rows in book.items():
        pairs = pairs_of(sample, measure, rows)
        earlier = sample.earlier_visits[pairs.first]
        for count in np.unique(earlier):
            here = Pairs(*(part[earlier == count] for part in pairs))
            if len(here.first) >= LEAST_PAIRS:
                found.append(
                    (
                        measure,
                        "any",
                        sample.common["device_class"],
                        len(here.first),
                        *_summary(here),
                        *_days(sample, here),
                        int(count),
                    )
                )
    return found


def correlation_rows(sample: Sample, book: RowsByMeasure, measures: Sequence[str]) -> list[Cells]:
    """Every pair of these measures, over the people who have both: at one visit, and of the change."""
    visit, change = _visit_matrix(sample, book, measures), _change_matrix(sample, book, measures)
    found: list[Cells] = []
    for kind, matrix in (("visit", visit), ("change", change)):
        for one, two in combinations(range(len(measures)), 2):
            both = np.isfinite(matrix[:, one]) & np.isfinite(matrix[:, two])
            if both.sum() >= LEAST_PAIRS:
                r = float(np.corrcoef(matrix[both, one], matrix[both, two])[0, 1])
                found.append(
                    (kind, measures[one], measures[two], sample.common["device_class"], int(both.sum()), r)
                )
    return found


def _visit_matrix(sample: Sample, book: RowsByMeasure, measures: Sequence[str]) -> Floats:
    """z of the reference people, (persons, measures)."""
    matrix = np.full((len(sample.persons), len(measures)), np.nan)
    for column, measure in enumerate(measures):
        people = sample.people(measure)
        matrix[sample.person[people.line], column] = performance(
            sample, book[measure], people.line, people.age_years
        )
    return matrix


def _change_matrix(sample: Sample, book: RowsByMeasure, measures: Sequence[str]) -> Floats:
    """Later minus earlier z of each person's first pair, (persons, measures)."""
    matrix = np.full((len(sample.persons), len(measures)), np.nan)
    for column, measure in enumerate(measures):
        pairs = pairs_of(sample, measure, book[measure])
        backwards = np.argsort(sample.visit[pairs.first], kind="stable")[::-1]
        matrix[sample.person[pairs.first[backwards]], column] = (pairs.z_second - pairs.z_first)[backwards]
    return matrix


def _z(sample: Sample, rows: AgeRows, place: Ints, lines: Ints) -> Floats:
    sign, mean, sd = rows.measure.sign, rows.mean[place], rows.sd[place]
    if rows.power is not None:
        return np.asarray(sign * lms_z(sample.value[lines], rows.power, mean, sd))
    return np.asarray(sign * (sample.scaled[lines] - mean) / sd)


def _summary(pairs: Pairs) -> tuple[float, ...]:
    one, two = pairs.z_first, pairs.z_second
    return (
        float(np.corrcoef(one, two)[0, 1]),
        float(one.mean()),
        float(one.std(ddof=1)),
        float(two.mean()),
        float(two.std(ddof=1)),
    )


def _days(sample: Sample, pairs: Pairs) -> tuple[float, ...]:
    days = sample.day[pairs.second] - sample.day[pairs.first]
    return float(days.min()), float(np.median(days)), float(days.max())
