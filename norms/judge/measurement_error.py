"""How far a score may lie from what the person would score on average: the person's own measurement error.

Not the interval of `Standing`, which comes from the size of the reference group alone. From the table's
retest study: SD of differences / sqrt(2), with the t of n - 1 (it holds what differs between days). Without a
study that can be judged by, from the trials of the visit: their standard error with Student's t, which says
nothing of other days. z is that of the table, below 0 = poorer.

References
----------
AERA, APA, NCME (2014), Standards for Educational and Psychological Testing, standards 2.13 and 2.14.
Weir JP (2005), Journal of Strength and Conditioning Research 19:231-240 (SEM from the SD of differences).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from norms.judge.comparability import study_row, too_small
from norms.judge.joint_rule import sd_of_differences
from norms.judge.standing import Standing
from norms.table.distributions import t_point
from norms.table.reasons import Refusal
from norms.table.table import Table, performance_z

LEVEL = 0.95


@dataclass(frozen=True)
class VisitInterval:
    """The 95 % interval of a value by the trials of its visit, in the unit, and its degrees of freedom."""

    low: float
    high: float
    df: int


@dataclass(frozen=True)
class MeasurementError:
    """The 95 % interval on z* about a standing; `source`: the retest study or this visit's trials alone."""

    z_interval_95: tuple[float, float]
    source: Literal["retest", "visit"]
    df: int


def measurement_error(table: Table, found: Standing, sex: str, earlier_visits: int,
                      visit: VisitInterval | None) -> MeasurementError | None:
    """By the retest study where one can be judged by and the value rests on enough trials; else the visit."""
    study = study_row(table, found.row, sex, earlier_visits)
    if not isinstance(study, Refusal) and too_small(study) is None and "one_trial_only" not in found.warnings:
        half = float(t_point((1 + LEVEL) / 2, study.n - 1)) * sem_of_retest(study.r, study.sd_1, study.sd_2)
        return MeasurementError((found.z_star - half, found.z_star + half), "retest", study.n - 1)
    if visit is None or found.beyond:
        return None
    ends = np.array([visit.low, visit.high])
    z = performance_z(table, table.measure_by_name[found.measure], found.row, ends)
    low, high = sorted((z - found.z + found.z_star).tolist())
    return MeasurementError((low, high), "visit", visit.df)


def sem_of_retest(r: float, sd_1: float, sd_2: float) -> float:
    """Standard error of measurement: SD of differences / sqrt(2).

    >>> round(sem_of_retest(0.75, 1.0, 1.0), 3)  # equal SDs: SD sqrt(1 - r)
    0.5
    """
    return float(sd_of_differences(r, sd_1, sd_2)) / 2**0.5
