"""Rows over age: one measure's numbers by year or band, and how they are read off a fitted curve.

A row of a curve says what the curve says at the row's middle, never beyond the youngest and the oldest.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from norms.build.bootstrap import REFITS, as_good_as
from norms.build.curve_fit import Curve
from norms.build.sample import Bools, Ints
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
class Making:
    """How rows are made: method, edges of bands, least people, whether LMS and own rows may come, refits."""

    method: str
    bands: Sequence[float]
    floor_n: int
    lms: bool = True
    sex_rows: bool = True
    refits: int = REFITS


def rows_of_curve(
    measure: Measure,
    sex: str,
    ages: Floats,
    curve: Curve,
    refits: Curve | None,
    side: float | None = None,
    count: int | None = None,
) -> AgeRows:
    edges, n = year_edges(ages), len(ages) if count is None else count
    at = middles(edges, ages)
    beside = None if side is None else np.full((len(at), 1), side)
    point = curve.at(at, beside)
    good = (None, None) if refits is None else as_good_as(point, refits.at(at, beside), n)
    power = None if point.power is None else float(point.power[0, 0])
    return AgeRows(measure, sex, edges, (n,) * len(at), point.mean[0], point.sd[0], power, *good)


def year_edges(ages: Floats) -> Floats:
    """Whole years from that of the youngest to the end of that of the oldest."""
    return np.arange(np.floor(ages.min()), np.floor(ages.max()) + 2)


def middles(edges: Floats, ages: Floats) -> Floats:
    return np.clip((edges[:-1] + edges[1:]) / 2, ages.min(), ages.max())
