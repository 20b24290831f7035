"""The joint rule of reliable change and the classical indices, as plain formulas on arrays.

z_1, z_2: first and second score on z of the table (any common scale will do), below 0 = poorer; a
`Study` holds the retest sample's n, r, means and SDs (scalars or arrays, elementwise with the scores).

References
----------
Crawford JR, Garthwaite PH (2006), Neuropsychology 20:259-271; (2007), Neuropsychology 21:611-620
(regression from summary data, error of prediction, t with n - 2).
Christensen L, Mendoza JL (1986), Behavior Therapy 17:305-308; Temkin NR et al. (1999), Journal of the
International Neuropsychological Society 5:357-369 (SD of differences).
Jacobson NS, Truax P (1991), Journal of Consulting and Clinical Psychology 59:12-19.
Chelune GJ et al. (1993), Neuropsychology 7:41-52. Iverson GL (2001), Archives of Clinical
Neuropsychology 16:183-191. McSweeny AJ et al. (1993), The Clinical Neuropsychologist 7:300-312.
"""

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.table.distributions import normal_point, t_point
from norms.table.scale import Floats
from norms.table.table import RetestRow

LEVEL = 0.90
ON_LIMIT_Z = 1e-10


class Study(NamedTuple):
    """Summary of a retest sample."""

    n: npt.ArrayLike
    r: npt.ArrayLike
    mean_1: npt.ArrayLike
    sd_1: npt.ArrayLike
    mean_2: npt.ArrayLike
    sd_2: npt.ArrayLike

    def arrays(self) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
        n, r, mean_1, sd_1, mean_2, sd_2 = (np.asarray(part, float) for part in (
            self.n, self.r, self.mean_1, self.sd_1, self.mean_2, self.sd_2))
        return n, r, mean_1, sd_1, mean_2, sd_2

    def without_gain(self) -> "Study":
        return Study(self.n, self.r, self.mean_1, self.sd_1, self.mean_1, self.sd_2)


class Limits(NamedTuple):
    """Expected second score and the limits outside which a change is reliable, on z."""

    expected: Floats
    lower: Floats
    upper: Floats


def study_of(row: RetestRow) -> Study:
    """The formulas' view of a retest row."""
    return Study(row.n, row.r, row.mean_1, row.sd_1, row.mean_2, row.sd_2)


def regression(z_1: npt.ArrayLike, study: Study) -> tuple[Floats, Floats]:
    """Expected second score and SD of its prediction for a new person (Crawford & Garthwaite).

    SD = s_2 sqrt((1 - r^2)(n - 1)/(n - 2)) sqrt(1 + 1/n + (z_1 - m_1)^2 / (s_1^2 (n - 1))), t with n - 2.

    >>> expected, sd = regression(35, Study(40, 0.8, 50, 10, 53, 11))
    >>> round(float(expected), 1), round(float(sd), 4)
    (39.8, 6.9572)
    """
    n, r, mean_1, sd_1, mean_2, sd_2 = study.arrays()
    away = np.asarray(z_1, float) - mean_1
    error = sd_2 * np.sqrt((1 - r**2) * (n - 1) / (n - 2))
    return mean_2 + r * sd_2 / sd_1 * away, error * np.sqrt(1 + 1 / n + (away / sd_1) ** 2 / (n - 1))


def difference(z_1: npt.ArrayLike, study: Study) -> tuple[Floats, Floats]:
    """First score plus the gain, and SD of a new person's difference, t with n - 1.

    SD = sqrt(s_1^2 + s_2^2 - 2 r s_1 s_2) sqrt(1 + 1/n).

    >>> centre, sd = difference(35, Study(40, 0.8, 50, 10, 53, 11))
    >>> float(centre), round(float((28 - centre) / sd), 5)
    (38.0, -1.47242)
    """
    n, r, mean_1, sd_1, mean_2, sd_2 = study.arrays()
    spread = sd_of_differences(r, sd_1, sd_2)
    return np.asarray(z_1, float) + mean_2 - mean_1, spread * np.sqrt(1 + 1 / n)


def sd_of_differences(r: npt.ArrayLike, sd_1: npt.ArrayLike, sd_2: npt.ArrayLike) -> Floats:
    """sqrt(s_1^2 + s_2^2 - 2 r s_1 s_2), of the differences between two visits.

    >>> round(float(sd_of_differences(0.8, 10, 11)), 4)
    6.7082
    """
    first, second = np.asarray(sd_1, float), np.asarray(sd_2, float)
    return np.asarray(np.sqrt(first**2 + second**2 - 2 * np.asarray(r, float) * first * second))


def regression_limits(z_1: npt.ArrayLike, study: Study, level: float = LEVEL) -> Limits:
    """Limits of the regression alone."""
    expected, sd = regression(z_1, study)
    reach = t_point((1 + level) / 2, np.asarray(study.n, float) - 2) * sd
    return Limits(expected, expected - reach, expected + reach)


def difference_limits(z_1: npt.ArrayLike, study: Study, level: float = LEVEL) -> Limits:
    """Limits of the difference alone."""
    centre, sd = difference(z_1, study)
    reach = t_point((1 + level) / 2, np.asarray(study.n, float) - 1) * sd
    return Limits(centre, centre - reach, centre + reach)


def joint_limits(z_1: npt.ArrayLike, study: Study, level: float = LEVEL, bracket: bool = False) -> Limits:
    """The regression's expected value with the lower of the lower and the higher of the upper limits.

    With `bracket` the limits are taken with the study's practice gain and with none.

    >>> limits = joint_limits(-2, Study(60, 0.8, 0, 1, 0, 1))
    >>> round(float(limits.lower), 2), round(float(limits.upper), 2)
    (-3.07, -0.55)
    """
    studies = (study, study.without_gain()) if bracket else (study,)
    parts = [part for one in studies
             for part in (regression_limits(z_1, one, level), difference_limits(z_1, one, level))]
    lower = np.minimum.reduce([part.lower for part in parts])
    upper = np.maximum.reduce([part.upper for part in parts])
    return Limits(parts[0].expected, lower, upper)


def outside(z_2: npt.ArrayLike, limits: Limits) -> npt.NDArray[np.int_]:
    """-1 below the limits (reliably poorer), +1 above (reliably better), 0 between and on a limit.

    A z within ON_LIMIT_Z of a limit is on it: its value, back in the unit, may differ only by rounding.
    """
    at = np.asarray(z_2, float)
    above, below = at > limits.upper + ON_LIMIT_Z, at < limits.lower - ON_LIMIT_Z
    return np.asarray(above.astype(int) - below.astype(int))


def jacobson_truax(z_1: npt.ArrayLike, z_2: npt.ArrayLike, study: Study) -> Floats:
    """(z_2 - z_1) / (s_1 sqrt(2 (1 - r))): no practice gain.

    >>> round(float(jacobson_truax(35, 28, Study(40, 0.8, 50, 10, 53, 11))), 4)
    -1.1068
    """
    _, r, _, sd_1, _, _ = study.arrays()
    return np.asarray((np.asarray(z_2, float) - np.asarray(z_1, float)) / (sd_1 * np.sqrt(2 * (1 - r))))


def practice_adjusted(z_1: npt.ArrayLike, z_2: npt.ArrayLike, study: Study) -> Floats:
    """The same after the practice gain is taken off (Chelune 1993).

    >>> round(float(practice_adjusted(35, 28, Study(40, 0.8, 50, 10, 53, 11))), 4)
    -1.5811
    """
    _, _, mean_1, _, mean_2, _ = study.arrays()
    return jacobson_truax(z_1, np.asarray(z_2, float) - (mean_2 - mean_1), study)


def both_sd(z_1: npt.ArrayLike, z_2: npt.ArrayLike, study: Study) -> Floats:
    """The same with the SDs of both visits, sqrt((s_1^2 + s_2^2)(1 - r)) (Iverson 2001).

    >>> round(float(both_sd(35, 28, Study(40, 0.8, 50, 10, 53, 11))), 4)
    -1.5041
    """
    _, r, mean_1, sd_1, mean_2, sd_2 = study.arrays()
    change = np.asarray(z_2, float) - np.asarray(z_1, float) - (mean_2 - mean_1)
    return np.asarray(change / np.sqrt((sd_1**2 + sd_2**2) * (1 - r)))


def difference_z(z_1: npt.ArrayLike, z_2: npt.ArrayLike, study: Study) -> Floats:
    """Gain taken off, over the SD of differences, read as z (Temkin 1999)."""
    n = np.asarray(study.n, float)
    centre, sd = difference(z_1, study)
    return (np.asarray(z_2, float) - centre) / (sd / np.sqrt(1 + 1 / n))


def regression_z(z_1: npt.ArrayLike, z_2: npt.ArrayLike, study: Study) -> Floats:
    """(z_2 - expected) / standard error of estimate, read as z (McSweeny 1993).

    >>> round(float(regression_z(35, 28, Study(40, 0.8, 50, 10, 53, 11))), 4)
    -1.7648
    """
    n, r, _, _, _, sd_2 = study.arrays()
    expected, _ = regression(z_1, study)
    return (np.asarray(z_2, float) - expected) / (sd_2 * np.sqrt((1 - r**2) * (n - 1) / (n - 2)))


CLASSICAL: Mapping[str, Callable[[npt.ArrayLike, npt.ArrayLike, Study], Floats]] = {
    "jacobson_truax": jacobson_truax, "practice_adjusted": practice_adjusted, "both_sd": both_sd,
    "difference_z": difference_z, "regression_z": regression_z,
}


def sem(sd: npt.ArrayLike, r: npt.ArrayLike) -> Floats:
    """Standard error of measurement, SD sqrt(1 - r).

    >>> round(float(sem(1, 0.7)), 6)
    0.547723
    """
    return np.asarray(np.asarray(sd, float) * np.sqrt(1 - np.asarray(r, float)))


def minimal_detectable_change(sd: npt.ArrayLike, r: npt.ArrayLike, level: float = 0.95) -> Floats:
    """Normal deviate of the level x sqrt(2) x SEM.

    >>> round(float(minimal_detectable_change(1, 0.7)), 3)
    1.518
    """
    return normal_point((1 + level) / 2) * 2**0.5 * sem(sd, r)


def jacobson_truax_cutoffs(mean_patients: float, mean_healthy: float,
                           sd: float) -> tuple[float, float, float]:
    """Cut-offs a, b, c for a score where higher is better: 2 SD above patients, 2 SD below the healthy,
    half way.

    >>> jacobson_truax_cutoffs(40, 60, 7.5)
    (55.0, 45.0, 50.0)
    """
    return mean_patients + 2 * sd, mean_healthy - 2 * sd, (mean_patients + mean_healthy) / 2
