"""Whether a built table fits its own people: z over all and by age third, and how sure its 5th percentile is.

z is by the rows of the table, below 0 = poorer. Shares are percent of the people below percentile 5, 10, 90
and 95 as the table places them. A figure is odd where it lies further than 3 standard errors from what a
table that fits would give.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from norms.build.age_curve import skewness
from norms.build.age_rows import AgeRows
from norms.build.retest_study import performance
from norms.build.sample import SEXES, Sample
from norms.table.distributions import normal_below, normal_point, t_point
from norms.table.scale import Floats

LEVELS = (5, 10, 90, 95)
ODD_FROM, LEAST_SKEW = 3.0, 0.5
FIFTH_Z = -1.6448536269514722
KNOWN_LEAST = 30
BY_SEX, BY_SCHOOLING = "being a man, not a woman", "a year of education"


@dataclass(frozen=True)
class AgeGroup:
    """z of the people of some ages: mean, SD, skew, percent below percentile 5, 10, 90, 95; what is odd."""

    age_from: float
    age_to: float
    n: int
    mean: float
    sd: float
    skew: float
    below: tuple[float, ...]
    odd: tuple[str, ...]


@dataclass(frozen=True)
class Effect:
    """What z changes with besides age: by how much, and its standard error."""

    what: str
    size: float
    se: float

    @property
    def sure(self) -> bool:
        return abs(self.size) > 2.58 * self.se


@dataclass(frozen=True)
class Check:
    """One measure: all people and thirds by age; worst and best n_mean, with the 5th percentile's range."""

    measure: str
    scale: str
    people: int
    largest_gap: tuple[float, float]
    parts: tuple[AgeGroup, ...]
    n_mean: tuple[float, float]
    fifth_worst: tuple[float, float]
    fifth_best: tuple[float, float]
    effects: tuple[Effect, ...]

    @property
    def odd(self) -> tuple[str, ...]:
        return tuple(
            f"{part.age_from:.0f} to {part.age_to:.0f} years: {one}"
            for part in self.parts
            for one in part.odd
        )


def check_of(sample: Sample, measure: str, rows: Sequence[AgeRows]) -> Check:
    """The check of one measure by its rows of any sex."""
    people, whole = sample.people(measure), rows[0]
    z = performance(sample, rows[:1], people.line, people.age_years)
    known = np.isfinite(z)
    ages, z = people.age_years[known], z[known]
    place, _ = whole.place(ages)
    n_mean = np.asarray(whole.n, float) if whole.n_mean is None else whole.n_mean
    df_sd = np.asarray(whole.n, float) - 1 if whole.df_sd is None else whole.df_sd
    worst, best = int(np.argmin(n_mean)), int(np.argmax(n_mean))
    cuts = t_point(np.array(LEVELS)[:, None] / 100, df_sd) * np.sqrt(1 + 1 / n_mean)
    below = z < cuts[:, place]
    third = np.quantile(ages, [0, 1 / 3, 2 / 3, 1])
    parts = [
        _age_group(ages, z, below, low, high, last)
        for low, high, last in (
            (third[0], third[3], True),
            *((third[i], third[i + 1], i == 2) for i in range(3)),
        )
    ]
    return Check(
        measure,
        whole.measure.scale,
        int(known.sum()),
        _gap(ages),
        tuple(parts),
        (float(n_mean[worst]), float(n_mean[best])),
        fifth_range(n_mean[worst], df_sd[worst]),
        fifth_range(n_mean[best], df_sd[best]),
        tuple(_effects(z, people.sex[known], people.education_years[known])),
    )


def fifth_range(n_mean: float, df_sd: float) -> tuple[float, float]:
    """Percentiles that what a table calls the 5th may truly be (95 %): SE(z) = sqrt(1/n + z^2 / (2 df)).

    >>> [round(end, 1) for end in fifth_range(100, 100)]
    [2.6, 8.9]
    """
    reach = 1.959963984540054 * np.sqrt(1 / n_mean + FIFTH_Z**2 / (2 * df_sd))
    return float(100 * normal_below(FIFTH_Z - reach)), float(100 * normal_below(FIFTH_Z + reach))


def quantile_pairs(z: Floats) -> tuple[Floats, Floats]:
    """Normal quantiles (Blom's places) and the sorted z that belong to them."""
    ordered = np.sort(z)
    return normal_point((np.arange(1, len(z) + 1) - 0.375) / (len(z) + 0.25)), ordered


def _age_group(ages: Floats, z: Floats, below: np.ndarray, low: float, high: float, last: bool) -> AgeGroup:
    here = (ages >= low) & ((ages <= high) if last else (ages < high))
    z, n = z[here], int(here.sum())
    if n < 3 or not np.ptp(z) > 0:
        nan = float("nan")
        return AgeGroup(float(low), float(high), n, nan, nan, nan, (), ("too few people to check",))
    mean, sd, skew = float(z.mean()), float(z.std(ddof=1)), skewness(z)
    shares = tuple(float(100 * one[here].mean()) for one in below)
    odd = tuple(_odd(n, mean, sd, skew, z, shares))
    return AgeGroup(float(low), float(high), n, mean, sd, skew, shares, odd)


def _odd(n: int, mean: float, sd: float, skew: float, z: Floats, shares: Sequence[float]) -> list[str]:
    kurtosis = float(((z - mean) ** 4).mean() / sd**4)
    found = []
    if abs(mean) > ODD_FROM / np.sqrt(n):
        found.append(f"mean z {mean:+.2f}")
    if abs(np.log(sd)) > ODD_FROM * np.sqrt(max(kurtosis - 1, 0.5) / (4 * n)):
        found.append(f"SD of z {sd:.2f}")
    if abs(skew) > max(LEAST_SKEW, ODD_FROM * np.sqrt(6 / n)):
        found.append(f"skew {skew:+.2f}")
    return found + [
        f"{share:.1f} % below percentile {level}"
        for share, level in zip(shares, LEVELS, strict=True)
        if abs(share - level) > ODD_FROM * np.sqrt(level * (100 - level) / n)
    ]


def _gap(ages: Floats) -> tuple[float, float]:
    """The two neighbours in age that lie furthest apart."""
    ordered = np.sort(ages)
    place = int(np.argmax(np.diff(ordered))) if len(ordered) > 1 else 0
    return float(ordered[place]), float(ordered[min(place + 1, len(ordered) - 1)])


def _effects(z: Floats, sex: np.ndarray, education: Floats) -> list[Effect]:
    """Men against women, and a year of education, each by least squares on z."""
    known = sex < SEXES.index("other")
    male = (sex == SEXES.index("male")).astype(float)
    found = []
    asked = np.isfinite(education)
    for what, x, of in ((BY_SEX, male, known), (BY_SCHOOLING, education, asked)):
        x, y = x[of], z[of]
        if len(x) >= KNOWN_LEAST and np.ptp(x) > 0:
            away = x - x.mean()
            slope = float(away @ y / (away @ away))
            rest = y - y.mean() - slope * away
            found.append(Effect(what, slope, float(np.sqrt(rest @ rest / (len(x) - 2) / (away @ away)))))
    return found
