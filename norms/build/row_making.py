"""The rows of one measure over age, from its people: one-year rows of a smooth curve, or raw age bands.

continuous       the curve is fitted to every person at their age; above 20,000 people to sums by year
smoothed_bands   the curve is fitted to mean and SD of age bands, at the bands' mean ages
bands            each band keeps its own mean and SD
Where more than 20,000 people would be fitted again and again (LMS, own rows by sex), a drawn 20,000 stand for
all.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.random import Generator

from norms.build.age_rows import AgeRows, Making, middles, rows_of_curve
from norms.build.bootstrap import grouped, refits_of_groups, refits_of_people, sums_as_good_as
from norms.build.curve_fit import curve_of_groups, curve_of_people, lms_where_skewed, still_skewed
from norms.build.curves import Basis, Shape, candidates
from norms.build.fitting import Groups
from norms.build.sample import People
from norms.build.sex_specific_rows import own_rows, sexes_differ
from norms.table.reasons import Fault, TableFaults
from norms.table.scale import Floats
from norms.table.table import Measure

BY_PERSON_UP_TO = 20_000
LEAST_BANDS = 3


def rows_of(measure: Measure, people: People, making: Making, rng: Generator) -> list[AgeRows]:
    """All rows of a measure; raises TableFaults where its people cannot carry them."""
    _check_values_differ(measure, people)
    if making.method == "bands":
        return [raw_bands(measure, people, making.bands)]
    if making.method == "smoothed_bands":
        return [_through_bands(measure, people, making, rng)]
    through = _through_sums if len(people.line) > BY_PERSON_UP_TO else _through_people
    whole = through(measure, people, making, rng)
    place = whole.place(people.age_years)[0]
    z = (people.scaled - whole.mean[place]) / whole.sd[place]
    few = a_part(people, BY_PERSON_UP_TO, rng)
    if making.lms and measure.scale == "log" and still_skewed(z):
        lms = _lms(measure, few, making, rng)
        if lms is not None:
            return [lms]
    own = own_rows(measure, few, making, rng) if making.sex_rows and sexes_differ(people, z, making) else []
    return [whole, *own]


def a_part(people: People, most: int, rng: Generator) -> People:
    """At most so many of the people, drawn; where all are asked for again and again, they stand for all."""
    if len(people.line) <= most:
        return people
    drawn = np.zeros(len(people.line), bool)
    drawn[rng.choice(len(drawn), most, replace=False)] = True
    return people.of(drawn)


def year_sums(ages: Floats, y: Floats) -> tuple[Groups, Floats]:
    """Number, mean, variance and mean age of the people of each whole year that has any, (1, years)."""
    year = ages.astype(np.int64)
    base, middle = int(year.min()), float(y.mean())
    year -= base
    away = y - middle
    n = np.bincount(year)
    some = n > 0
    count = n[some].astype(float)
    mean = np.bincount(year, away)[some] / count
    squares = np.bincount(year, away * away)[some] - count * mean**2
    mean_age = np.bincount(year, ages)[some] / count
    groups = Groups(count, mean + middle, np.maximum(squares, 0) / np.maximum(count - 1, 1))
    return Groups(*(part[None, :] for part in groups)), mean_age


def raw_bands(measure: Measure, people: People, edges: Sequence[float]) -> AgeRows:
    """Number, mean and SD of each band; raises TableFaults for bands too thin."""
    ages = people.age_years
    cells = [people.scaled[(ages >= low) & (ages < high)] for low, high in pairwise(edges)]
    faults = [
        Fault("sample", None, f"{measure.name} from {low:g} to {high:g} years", rule, found)
        for cell, (low, high) in zip(cells, pairwise(edges), strict=True)
        for rule, found in _thin(cell)
    ]
    if faults:
        raise TableFaults(faults)
    return AgeRows(
        measure,
        "any",
        np.array(edges, float),
        tuple(map(len, cells)),
        np.array([cell.mean() for cell in cells]),
        np.array([cell.std(ddof=1) for cell in cells]),
    )


def _thin(cell: Floats) -> list[tuple[str, object]]:
    if len(cell) < 2:
        return [("needs 2 persons or more", len(cell))]
    return [] if cell.std(ddof=1) > 0 else [("needs values that differ", float(cell[0]))]


def _check_values_differ(measure: Measure, people: People) -> None:
    if len(people.line) < 2 or not np.ptp(people.scaled) > 1e-12 * np.abs(people.scaled).max(initial=0):
        raise TableFaults(
            [
                Fault(
                    "sample",
                    None,
                    measure.name,
                    "needs values that differ",
                    float(people.scaled[0]) if len(people.line) else None,
                )
            ]
        )


def _through_people(measure: Measure, people: People, making: Making, rng: Generator) -> AgeRows:
    curve = curve_of_people(people.age_years, people.scaled)
    refits = refits_of_people(curve, people.age_years, people.scaled, rng, making.refits)
    return rows_of_curve(measure, "any", people.age_years, curve, refits)


def _through_sums(measure: Measure, people: People, making: Making, rng: Generator) -> AgeRows:
    ages = people.age_years
    groups, mean_age = year_sums(ages, people.scaled)
    curve = curve_of_groups(mean_age, groups, candidates(ages))
    rows = rows_of_curve(measure, "any", ages, curve, None)
    year, squares, surplus = _sums_of_z(rows, ages, people.scaled)
    good = sums_as_good_as(curve, mean_age, year, squares, surplus, middles(rows.edges, ages), len(ages))
    return replace(rows, n_mean=good[0], df_sd=good[1])


def _sums_of_z(rows: AgeRows, ages: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
    """Sums of 1, z^2 and (z^2 - 1)^2 over the people of each whole year that has any."""
    year = (ages - rows.edges[0]).astype(np.int64)
    z = (y - rows.mean[year]) / rows.sd[year]
    z *= z
    n = np.bincount(year)
    some = n > 0
    squares = np.bincount(year, z)[some]
    z -= 1
    z *= z
    surplus = np.bincount(year, z)[some]
    return n[some].astype(float), np.asarray(squares, float), np.asarray(surplus, float)


def _through_bands(measure: Measure, people: People, making: Making, rng: Generator) -> AgeRows:
    edges = making.bands
    inside = (people.age_years >= edges[0]) & (people.age_years < edges[-1])
    people = people.of(inside)
    band = np.searchsorted(edges, people.age_years, "right") - 1
    used, group = np.unique(band, return_inverse=True)
    if len(used) < LEAST_BANDS:
        raise TableFaults(
            [
                Fault(
                    "sample",
                    None,
                    measure.name,
                    f"needs people in {LEAST_BANDS} age bands or more to smooth over",
                    len(used),
                )
            ]
        )
    ages = people.age_years
    low, high = float(ages.min()), float(ages.max())
    shape = Shape(Basis(low, high, min(2, len(used) - 2)), Basis(low, high, 1))
    groups, mean_age = grouped(np.eye(len(used))[group], ages, people.scaled, np.ones((1, len(ages))))
    curve = curve_of_groups(mean_age[0], groups, [shape])
    refits = refits_of_groups(curve, ages, group, people.scaled, rng, making.refits)
    return rows_of_curve(measure, "any", ages, curve, refits)


def _lms(measure: Measure, people: People, making: Making, rng: Generator) -> AgeRows | None:
    """LMS rows, where they are clearly the likelier."""
    plain = curve_of_people(people.age_years, people.scaled)
    curve = lms_where_skewed(plain, people.age_years, people.value)
    refits = curve and refits_of_people(curve, people.age_years, people.value, rng, making.refits)
    if curve is None or refits is None:
        return None
    return rows_of_curve(replace(measure, scale="lms"), "any", people.age_years, curve, refits)
