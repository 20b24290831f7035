"""Whether the 95 % interval of a built table holds: `python -m tests.benchmarks.interval_coverage`.

    python -m tests.benchmarks.interval_coverage [TABLES]     # 2,000 unless said; 250 take about a minute

Tables of 480 people of 20 to 80, even over the ages, normal on the scale. Two true curves: a parabola, and
the same bent further from 60 on. Each table's curve is the one `norms build` chooses, or one degree richer.
Shares in percent at the median, the 5th and the 1st percentile, over ages and at the lowest single age, each
with its Monte Carlo error. The interval is that of Crawford & Garthwaite (2002), by scipy's noncentral t.
"""

import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from multiprocessing import Pool

import numpy as np
from scipy.stats import nct

from norms.build.age_curve import Curve, curve_of_people
from norms.build.bootstrap import bootstrap_people, effective_sizes
from norms.build.normal_fit import fit_people
from tests.norms.sample_people import even_ages, mean_at, sd_at

PEOPLE, TABLES = 480, 2_000
AT = np.arange(20.5, 80, 3.0)
Z = np.array([0.0, -1.6448536, -2.3263479])
TrueMean = Callable[[np.ndarray], np.ndarray]


def bent_later(ages: np.ndarray) -> np.ndarray:
    """The parabola, and a third of an SD more at 80."""
    return mean_at(ages) + 0.00025 * np.maximum(ages - 60, 0) ** 2


TRUTHS: dict[str, TrueMean] = {"a parabola": mean_at, "bent further from 60": bent_later}


def richer(curve: Curve, ages: np.ndarray, y: np.ndarray) -> Curve:
    """The curve one degree higher, a cubic instead of a parabola and so on."""
    mean = curve.shape.mean
    shape = curve.shape._replace(mean=replace(mean, degree=mean.degree + 1))
    return Curve(shape, fit_people(shape.mean.at(ages), shape.log_sd.at(ages), y, np.ones((1, len(y)))))


def covered(truth: str, degree_more: bool, seed: int) -> np.ndarray:
    """Whether the interval holds the true z, (levels, ages)."""
    true_mean = TRUTHS[truth]
    ages, rng = even_ages(PEOPLE, seed=seed), np.random.default_rng([seed, 1])
    y = true_mean(ages) + sd_at(ages) * rng.standard_normal(PEOPLE)
    curve = curve_of_people(ages, y)
    if degree_more:
        curve = richer(curve, ages, y)
    refits = bootstrap_people(curve, ages, y, rng)
    point = curve.at(AT)
    n_mean, df_sd = effective_sizes(point, refits.at(AT), PEOPLE)
    z = (true_mean(AT) + Z[:, None] * sd_at(AT) - point.mean[0]) / point.sd[0]
    below = nct.cdf(z * np.sqrt(n_mean), df_sd, Z[:, None] * np.sqrt(n_mean))
    return (below > 0.025) & (below < 0.975)


def main(tables: int) -> None:
    """Print a line for each truth, curve and percentile."""
    with Pool(2) as pool:
        for truth in TRUTHS:
            for degree_more in (False, True):
                held = np.array(pool.map(partial(covered, truth, degree_more), range(tables), chunksize=8))
                for place, level in enumerate(("median", "5th", "1st")):
                    share, by_table = 100 * held[:, place].mean(axis=0), 100 * held[:, place].mean(axis=1)
                    low = int(share.argmin())
                    print(f"{truth}, {'one degree richer' if degree_more else 'as chosen'}, {level}: "
                          f"{share.mean():.1f} (SE {by_table.std() / tables**0.5:.1f}), lowest "
                          f"{share[low]:.1f} at {AT[low]:.0f} "
                          f"(SE {np.sqrt(share[low] * (100 - share[low]) / tables):.1f})", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else TABLES)
