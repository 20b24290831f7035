"""Invented people as a sample file, for the tests of building tables."""

from collections.abc import Sequence

import numpy as np

from norms.build.sample import SAMPLE, Sample, read_sample

COLUMNS = [column.name for column in (*SAMPLE.columns, *SAMPLE.optional)]
BACK = {"scatter": np.exp, "delay": lambda m: m, "lag": lambda m: m}
SIX = (
    "steady.preferred.scatter",
    "brisk.preferred.scatter",
    "circles.preferred.lag",
    "wander.preferred.delay",
    "wander.preferred.scatter",
    "steady.other.scatter",
)
ONE = SIX[:1]


def mean_at(ages: np.ndarray) -> np.ndarray:
    """A bent mean (log mm): .03 SD a year at 20, .04 at 50, .05 at 80."""
    return 1.2 + 0.010 * (ages - 50) + 0.00008 * (ages - 50) ** 2


def sd_at(ages: np.ndarray) -> np.ndarray:
    """An SD (log mm) that rises from .19 at 20 to .31 at 80."""
    return 0.25 * np.exp(0.008 * (ages - 50))


def lines(
    ages: Sequence[float],
    seed: int = 1,
    measures: Sequence[str] = ONE,
    purpose: str = "reference",
    sex: Sequence[str] | None = None,
    male: float = 0.0,
    schooling: float = 0.0,
    first: int = 0,
    r: float = 0.8,
) -> list[list[object]]:
    """One visit a person, or two of a retest study: true z of correlation r, log scale or ms."""
    rng = np.random.default_rng(seed)
    found: list[list[object]] = []
    for place, age in enumerate(np.asarray(ages, float)):
        years = float(rng.uniform(8, 18))
        of = sex[place] if sex else "not_asked"
        stable = rng.standard_normal(len(measures))
        for visit in (1, 2) if purpose == "retest" else (1,):
            at = age + (visit - 1) * 180 / 365.25
            z = np.sqrt(r) * stable + np.sqrt(1 - r) * rng.standard_normal(len(measures))
            for measure, one in zip(measures, z, strict=True):
                shift = one + male * (of == "male") + schooling * (years - 13)
                scaled = float(mean_at(np.array(at)) + sd_at(np.array(at)) * shift)
                score = measure.split(".")[-1]
                scaled = scaled if score == "scatter" else 60 * scaled
                found.append(
                    [
                        f"Q{first + place:05d}",
                        visit,
                        purpose,
                        "yes",
                        repr(float(at)),
                        of,
                        "t10",
                        "finger",
                        (visit - 1) * 180,
                        visit - 1,
                        "clinic",
                        1,
                        1,
                        measure,
                        repr(float(BACK[score](scaled))),
                        repr(scaled),
                        "0.01",
                        3,
                        repr(years),
                    ]
                )
    return found


def as_csv(rows: Sequence[Sequence[object]]) -> bytes:
    return "\n".join([",".join(COLUMNS), *(",".join(map(str, row)) for row in rows), ""]).encode()


def sample_of(rows: Sequence[Sequence[object]]) -> Sample:
    return read_sample("sample.csv", as_csv(rows))


def even_ages(n: int, low: float = 20.0, high: float = 80.0, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).uniform(low, high, n)
