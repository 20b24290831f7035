"""The rows of one measure over age, made from its people: one-year rows of a smooth curve, or raw age bands.

continuous       the curve is fitted to every person at their age; above 20,000 people to sums by year
smoothed_bands   the curve is fitted to mean and SD of age bands, at the bands' mean ages
bands            each band keeps its own mean and SD

A row of a curve says what the curve says at the row's middle, never beyond the youngest and the oldest
person. Where more than 20,000 people would be fitted again and again (LMS, sex-specific rows), a random
20,000 stand for all.

Sex-specific rows have one additive term in the mean and share curve and SD. They are made only where women
and men are floor_n people or more each, the term is significant (|t| > 2.58), and only for the ages at
which they are worth floor_n people; everybody else, and every other age, is read by the rows of any sex.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.random import Generator

from norms.build.age_curve import (
    Basis,
    Curve,
    Shape,
    candidates,
    curve_of_groups,
    curve_of_people,
    lms_where_skewed,
    still_skewed,
)
from norms.build.bootstrap import (
    REFITS,
    bootstrap_groups,
    bootstrap_people,
    effective_sizes,
    effective_sizes_from_sums,
    grouped,
)
from norms.build.normal_fit import Groups, fit_people
from norms.build.sample import SEXES, Bools, Ints, People
from norms.table.reasons import Fault, TableFaults
from norms.table.scale import Floats
from norms.table.table import Measure


@dataclass(frozen=True)
class AgeRows:
    """Rows of one measure and sex: `edges` (rows + 1,) in years, the rest (rows,) on the measure's scale."""

    measure: Measure
    sex: str
    edges: Floats
    n: tuple[int, ...]
    mean: Floats
    sd: Floats
    power: float | None = None
    n_mean: Floats | None = None
    df_sd: Floats | None = None

    def place(self, ages: Floats) -> tuple[Ints, Bools]:
        """The row of each age, and whether there is one."""
        row = np.searchsorted(self.edges, ages, "right") - 1
        inside = (row >= 0) & (row < len(self.mean))
        return np.where(inside, row, 0), inside


@dataclass(frozen=True)
class RowOptions:
    """How rows are made: method, edges of bands, least people, whether LMS and own rows may come, refits."""

    method: str
    bands: Sequence[float]
    floor_n: int
    lms: bool = True
    sex_rows: bool = True
    refits: int = REFITS


def rows_of_curve(measure: Measure, sex: str, ages: Floats, curve: Curve, refits: Curve | None,
                  side: float | None = None, count: int | None = None) -> AgeRows:
    edges, n = year_edges(ages), len(ages) if count is None else count
    at = middles(edges, ages)
    covariates = None if side is None else np.full((len(at), 1), side)
    point = curve.at(at, covariates)
    sizes = (None, None) if refits is None else effective_sizes(point, refits.at(at, covariates), n)
    power = None if point.power is None else float(point.power[0, 0])
    return AgeRows(measure, sex, edges, (n,) * len(at), point.mean[0], point.sd[0], power, *sizes)


def year_edges(ages: Floats) -> Floats:
    """Whole years from that of the youngest to the end of that of the oldest."""
    return np.arange(np.floor(ages.min()), np.floor(ages.max()) + 2)


def middles(edges: Floats, ages: Floats) -> Floats:
    return np.clip((edges[:-1] + edges[1:]) / 2, ages.min(), ages.max())


BY_PERSON_UP_TO = 20_000
LEAST_BANDS = 3


def rows_of(measure: Measure, people: People, options: RowOptions, rng: Generator) -> list[AgeRows]:
    """All rows of a measure; raises TableFaults where its people cannot carry them."""
    _check_values_differ(measure, people)
    if options.method == "bands":
        return [raw_bands(measure, people, options.bands)]
    if options.method == "smoothed_bands":
        return [_through_bands(measure, people, options, rng)]
    through = _through_sums if len(people.line) > BY_PERSON_UP_TO else _through_people
    whole = through(measure, people, options, rng)
    place = whole.place(people.age_years)[0]
    z = (people.scaled - whole.mean[place]) / whole.sd[place]
    few = random_part(people, BY_PERSON_UP_TO, rng)
    if options.lms and measure.scale == "log" and still_skewed(z):
        lms = _lms(measure, few, options, rng)
        if lms is not None:
            return [lms]
    if options.sex_rows and sexes_differ(people, z, options):
        return [whole, *sex_specific_rows(measure, few, options, rng)]
    return [whole]


def random_part(people: People, most: int, rng: Generator) -> People:
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
    return AgeRows(measure, "any", np.array(edges, float), tuple(map(len, cells)),
                   np.array([cell.mean() for cell in cells]), np.array([cell.std(ddof=1) for cell in cells]))


def _thin(cell: Floats) -> list[tuple[str, object]]:
    if len(cell) < 2:
        return [("needs 2 persons or more", len(cell))]
    return [] if cell.std(ddof=1) > 0 else [("needs values that differ", float(cell[0]))]


def _check_values_differ(measure: Measure, people: People) -> None:
    if len(people.line) < 2 or not np.ptp(people.scaled) > 1e-12 * np.abs(people.scaled).max(initial=0):
        raise TableFaults(
            [
                Fault("sample", None, measure.name, "needs values that differ",
                      float(people.scaled[0]) if len(people.line) else None)
            ]
        )


def _through_people(measure: Measure, people: People, options: RowOptions, rng: Generator) -> AgeRows:
    curve = curve_of_people(people.age_years, people.scaled)
    refits = bootstrap_people(curve, people.age_years, people.scaled, rng, options.refits)
    return rows_of_curve(measure, "any", people.age_years, curve, refits)


def _through_sums(measure: Measure, people: People, options: RowOptions, rng: Generator) -> AgeRows:
    ages = people.age_years
    groups, mean_age = year_sums(ages, people.scaled)
    curve = curve_of_groups(mean_age, groups, candidates(ages))
    rows = rows_of_curve(measure, "any", ages, curve, None)
    year, squares, surplus = _sums_of_z(rows, ages, people.scaled)
    at = middles(rows.edges, ages)
    n_mean, df_sd = effective_sizes_from_sums(curve, mean_age, year, squares, surplus, at, len(ages))
    return replace(rows, n_mean=n_mean, df_sd=df_sd)


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


def _through_bands(measure: Measure, people: People, options: RowOptions, rng: Generator) -> AgeRows:
    edges = options.bands
    inside = (people.age_years >= edges[0]) & (people.age_years < edges[-1])
    people = people.of(inside)
    band = np.searchsorted(edges, people.age_years, "right") - 1
    used, group = np.unique(band, return_inverse=True)
    if len(used) < LEAST_BANDS:
        raise TableFaults(
            [
                Fault("sample", None, measure.name,
                      f"needs people in {LEAST_BANDS} age bands or more to smooth over", len(used))
            ]
        )
    ages = people.age_years
    low, high = float(ages.min()), float(ages.max())
    shape = Shape(Basis(low, high, min(2, len(used) - 2)), Basis(low, high, 1))
    groups, mean_age = grouped(np.eye(len(used))[group], ages, people.scaled, np.ones((1, len(ages))))
    curve = curve_of_groups(mean_age[0], groups, [shape])
    refits = bootstrap_groups(curve, ages, group, people.scaled, rng, options.refits)
    return rows_of_curve(measure, "any", ages, curve, refits)


def _lms(measure: Measure, people: People, options: RowOptions, rng: Generator) -> AgeRows | None:
    """LMS rows, where they are clearly the likelier."""
    plain = curve_of_people(people.age_years, people.scaled)
    curve = lms_where_skewed(plain, people.age_years, people.value)
    refits = curve and bootstrap_people(curve, people.age_years, people.value, rng, options.refits)
    if curve is None or refits is None:
        return None
    return rows_of_curve(replace(measure, scale="lms"), "any", people.age_years, curve, refits)


SURE_T = 2.58
SEXES_WITH_ROWS = ("female", "male")


def sexes_differ(people: People, z: Floats, options: RowOptions) -> bool:
    """Whether z of women and men surely differ, and both are enough people."""
    women, men = (z[people.sex == SEXES.index(sex)] for sex in SEXES_WITH_ROWS)
    if min(len(women), len(men)) < options.floor_n:
        return False
    se = np.sqrt(women.var(ddof=1) / len(women) + men.var(ddof=1) / len(men))
    return bool(abs(men.mean() - women.mean()) > SURE_T * se)


def sex_specific_rows(measure: Measure, people: People, options: RowOptions, rng: Generator) -> list[AgeRows]:
    """Rows for women and men, by one additive term; none where refits leave it unsure."""
    known = people.of((people.sex == SEXES.index("female")) | (people.sex == SEXES.index("male")))
    covariates = (known.sex == SEXES.index("male"))[:, None] - 0.5
    counts = [int((covariates[:, 0] < 0).sum()), int((covariates[:, 0] > 0).sum())]
    plain = curve_of_people(known.age_years, known.scaled)
    x = np.concatenate([plain.shape.mean.at(known.age_years), covariates], axis=1)
    s = plain.shape.log_sd.at(known.age_years)
    curve = Curve(plain.shape, fit_people(x, s, known.scaled, np.ones((1, len(x)))))
    refits = bootstrap_people(curve, known.age_years, known.scaled, rng, options.refits, covariates)
    if refits is None or abs(curve.fits[0][0, -1]) < SURE_T * refits.fits[0][:, -1].std(ddof=1):
        return []
    made = [
        rows_of_curve(measure, sex, known.age_years, curve, refits, side, count)
        for sex, side, count in zip(SEXES_WITH_ROWS, (-0.5, 0.5), counts, strict=True)
    ]
    held = [_rows_above_floor(rows, options.floor_n) for rows in made]
    return [rows for rows in held if rows is not None] if all(rows is not None for rows in held) else []


def _rows_above_floor(rows: AgeRows, floor_n: int) -> AgeRows | None:
    """The longest run of rows that reach the floor."""
    enough = rows.n_mean >= floor_n if rows.n_mean is not None else np.zeros(len(rows.mean), bool)
    if not enough.any():
        return None
    first, last = int(np.argmax(enough)), len(enough) - int(np.argmax(enough[::-1]))
    if not enough[first:last].all():
        return None
    kept = slice(first, last)
    return replace(rows, edges=rows.edges[first : last + 1], n=rows.n[kept], mean=rows.mean[kept],
                   sd=rows.sd[kept], n_mean=None if rows.n_mean is None else rows.n_mean[kept],
                   df_sd=None if rows.df_sd is None else rows.df_sd[kept])
