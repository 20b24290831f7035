"""The rows of one measure over age, from its people: one-year rows of a smooth curve, or raw age bands.

continuous       the curve is fitted to every person at their age; above 20,000 people to sums by year
smoothed_bands   the curve is fitted to mean and SD of age bands, at the bands' mean ages
bands            each band keeps its own mean and SD
Own rows for women and men differ by one additive term in the mean, and are made only where both are enough
people and the term is sure.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.random import Generator

from norms.agerows import AgeRows, Making, middles, rows_of_curve
from norms.bootstrap import grouped, refits_of_groups, refits_of_people, sums_as_good_as
from norms.curvefit import Curve, curve_of_groups, curve_of_people, lms_where_skewed
from norms.curves import Basis, Shape, candidates
from norms.fitting import Groups, fit_people
from norms.reasons import Fault, TableFaults
from norms.sample import SEXES, People
from norms.scale import Floats
from norms.table import Measure

BY_PERSON_UP_TO = 20_000
SURE_T = 2.58
LEAST_BANDS = 3
OWN_SEXES = ("female", "male")


def rows_of(measure: Measure, people: People, making: Making, rng: Generator) -> list[AgeRows]:
    """All rows of a measure; raises TableFaults where its people cannot carry them."""
    _check_values_differ(measure, people)
    if making.method == "bands":
        return [raw_bands(measure, people, making.bands)]
    if making.method == "smoothed_bands":
        return [_through_bands(measure, people, making, rng)]
    lms = _lms(measure, people, making, rng) if making.lms and measure.scale == "log" else None
    if lms is not None:
        return [lms]
    through = _through_sums if len(people.line) > BY_PERSON_UP_TO else _through_people
    own = _own_rows(measure, people, making, rng) if making.sex_rows else []
    return [through(measure, people, making, rng), *own]


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
    return n[some].astype(float), squares, np.bincount(year, z)[some]


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
    """LMS rows where skew remains; of more than 20,000 people a drawn 20,000 stand for all."""
    if len(people.line) > BY_PERSON_UP_TO:
        drawn = np.zeros(len(people.line), bool)
        drawn[rng.choice(len(drawn), BY_PERSON_UP_TO, replace=False)] = True
        people = people.of(drawn)
    plain = curve_of_people(people.age_years, people.scaled)
    curve = lms_where_skewed(plain, people.age_years, people.value)
    if curve is None:
        return None
    refits = refits_of_people(curve, people.age_years, people.value, rng, making.refits)
    if refits is None:
        return None
    return rows_of_curve(replace(measure, scale="lms"), "any", people.age_years, curve, refits)


def _own_rows(measure: Measure, people: People, making: Making, rng: Generator) -> list[AgeRows]:
    """Rows for women and men, by one additive term; none where it is not sure or either are too few."""
    known = people.of((people.sex == SEXES.index("female")) | (people.sex == SEXES.index("male")))
    beside = (known.sex == SEXES.index("male"))[:, None] - 0.5
    counts = [int((beside[:, 0] < 0).sum()), int((beside[:, 0] > 0).sum())]
    if min(counts) < making.floor_n:
        return []
    plain = curve_of_people(known.age_years, known.scaled)
    x = np.concatenate([plain.shape.mean.at(known.age_years), beside], axis=1)
    s = plain.shape.log_sd.at(known.age_years)
    curve = Curve(plain.shape, fit_people(x, s, known.scaled, np.ones((1, len(x)))))
    refits = refits_of_people(curve, known.age_years, known.scaled, rng, making.refits, beside)
    if refits is None or abs(curve.fits[0][0, -1]) < SURE_T * refits.fits[0][:, -1].std(ddof=1):
        return []
    made = [
        rows_of_curve(measure, sex, known.age_years, curve, refits, side, count)
        for sex, side, count in zip(OWN_SEXES, (-0.5, 0.5), counts, strict=True)
    ]
    held = [_held(rows, making.floor_n) for rows in made]
    return [rows for rows in held if rows is not None] if all(rows is not None for rows in held) else []


def _held(rows: AgeRows, floor_n: int) -> AgeRows | None:
    """The longest run of rows that reach the floor."""
    enough = rows.n_mean >= floor_n if rows.n_mean is not None else np.zeros(len(rows.mean), bool)
    if not enough.any():
        return None
    first, last = int(np.argmax(enough)), len(enough) - int(np.argmax(enough[::-1]))
    if not enough[first:last].all():
        return None
    kept = slice(first, last)
    return replace(
        rows,
        edges=rows.edges[first : last + 1],
        n=rows.n[kept],
        mean=rows.mean[kept],
        sd=rows.sd[kept],
        n_mean=None if rows.n_mean is None else rows.n_mean[kept],
        df_sd=None if rows.df_sd is None else rows.df_sd[kept],
    )
