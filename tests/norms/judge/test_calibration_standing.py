"""The interval of a percentile covers, labels are as common as published, tables differ as they must.

Every draw has a new norm sample and a new person. Numbers to compare with: own Monte Carlo (norm rules A, E;
statistics 1, 7), 2026.
"""

import numpy as np
import pytest
from scipy import stats

from norms.judge.labels import LABEL_ROWS, label_row, standard_score
from norms.judge.single_case import percentile_of, z_interval, z_star_of
from tests.norms.drawn import norm_samples

SEED, DRAWS = 20_261_126, 20_000
LOW = -41 / 30


def covered(z: np.ndarray, truth: float, n_mean: object, df_sd: object) -> float:
    """% of the intervals that hold the true z."""
    low, high = z_interval(z, n_mean, df_sd)
    return 100 * float(np.mean((low <= truth) & (truth <= high)))


@pytest.mark.parametrize("n", [20, 50, 200])
@pytest.mark.parametrize("truth", [-1.645, pytest.param(-2.0, marks=pytest.mark.long), 1.645])
def test_the_percentile_interval_covers_95_in_100(n: int, truth: float) -> None:
    mean, sd = norm_samples(np.random.default_rng([SEED, n]), DRAWS, n)
    rate = covered((truth - mean) / sd, truth, n, n - 1)
    print(f"n {n}, true z {truth}, seed {SEED}, {DRAWS} draws (SE .15): {rate:.2f} %")
    assert rate == pytest.approx(95, abs=0.6)


# --- continuous norms: as good as how many people? ---


def continuous_fits(samples: int, people: int) -> dict[int, tuple[np.ndarray, ...]]:
    """For three ages: fitted mean, SD, n_mean and df_sd of `samples` fitted tables, with the truth.

    Quadratic mean and log-linear SD, fitted by Fisher scoring; the SD is that of maximum likelihood times
    sqrt(N / (N - p)); n_mean = (sd / SE of the mean)^2, df_sd = 1 / (2 SE^2 of the log SD).
    """
    rng = np.random.default_rng([SEED, 1])
    x = rng.uniform(-1, 1, (samples, people))  # age 20 to 80
    curve, spread = np.stack([x**0, x, x**2], axis=-1), np.stack([x**0, x], axis=-1)
    y = true_mean(x) + true_sd(x) * rng.standard_normal(x.shape)
    gamma = np.zeros((samples, 2))
    gamma[:, 0] = np.log(y.std(axis=1))
    information = 2 * np.einsum("spi,spj->sij", spread, spread)
    for _ in range(15):
        weights = np.exp(-2 * np.einsum("spi,si->sp", spread, gamma))
        normal = np.einsum("spi,sp,spj->sij", curve, weights, curve)
        beta = np.linalg.solve(normal, np.einsum("spi,sp,sp->si", curve, weights, y)[..., None])[..., 0]
        left = (y - np.einsum("spi,si->sp", curve, beta)) ** 2 * weights - 1
        step = np.linalg.solve(information, np.einsum("spi,sp->si", spread, left)[..., None])[..., 0]
        gamma = gamma + step
    assert np.abs(step).max() < 1e-6
    found = {}
    for age in (20, 50, 80):
        at = (age - 50) / 30
        row, pair = np.array([1, at, at**2]), np.array([1, at])
        sd = np.exp(gamma @ pair) * np.sqrt(people / (people - 3))
        mean_variance = np.einsum("i,sij,j->s", row, np.linalg.inv(normal), row)
        log_variance = np.einsum("i,sij,j->s", pair, np.linalg.inv(information), pair)
        found[age] = (beta @ row, sd, sd**2 / mean_variance, 1 / (2 * log_variance))
    return found


def true_mean(x: object) -> object:
    return 1.3 + 0.25 * x + 0.10 * x**2


def true_sd(x: object) -> object:
    return np.exp(-1.2 + 0.15 * x)


@pytest.fixture(scope="module")
def fits() -> dict[int, tuple[np.ndarray, ...]]:
    return continuous_fits(2_000, 300)


@pytest.mark.parametrize("age", [20, 50, 80])
@pytest.mark.parametrize("truth", [0.0, -1.645, -2.0])
def test_the_interval_of_a_continuous_table_covers_with_its_n_mean_and_df_sd(
    fits: dict[int, tuple[np.ndarray, ...]], age: int, truth: float
) -> None:
    mean, sd, n_mean, df_sd = fits[age]
    x = (age - 50) / 30
    z = (true_mean(x) + truth * true_sd(x) - mean) / sd
    rate = covered(z, truth, n_mean, df_sd)
    print(
        f"age {age}, true z {truth}, seed {SEED}, 2000 tables (SE .49): {rate:.2f} %, "
        f"n_mean {np.median(n_mean):.0f}, df_sd {np.median(df_sd):.0f}"
    )
    assert rate == pytest.approx(95, abs=1.5)
    assert covered(z, truth, 300, 299) < 93.5  # the whole n instead: too narrow everywhere


def test_a_continuous_table_of_300_is_as_good_as_few_people_at_its_ends(
    fits: dict[int, tuple[np.ndarray, ...]],
) -> None:
    # Norm rules A, N 300: n_mean 31 / 134 / 36, df_sd 74 / 296 / 74 at ages 20 / 50 / 80.
    medians = {age: (np.median(fits[age][2]), np.median(fits[age][3])) for age in fits}
    for age, n_mean, df_sd in ((20, 31, 74), (50, 134, 296), (80, 36, 74)):
        assert medians[age][0] == pytest.approx(n_mean, rel=0.25)
        assert medians[age][1] == pytest.approx(df_sd, rel=0.15)
    long_run = [100 * float(np.mean(low_shares(*fits[age], (age - 50) / 30))) for age in fits]
    assert long_run == pytest.approx([8.59] * 3, abs=0.35)


def low_shares(
    mean: np.ndarray, sd: np.ndarray, n_mean: np.ndarray, df_sd: np.ndarray, x: float
) -> np.ndarray:
    """The true share each table calls low, of the population it stands for."""
    cut = stats.t.ppf(stats.norm.cdf(LOW), df_sd) * np.sqrt(1 + 1 / n_mean)
    return stats.norm.cdf((mean + sd * cut - true_mean(x)) / true_sd(x))


# --- labels ---


def test_labels_are_as_common_as_published_at_n_30_and_raw_z_would_not_be() -> None:
    # Shares of the seven rows of standard scores in a normal population (norm rules E).
    published = [2.10, 6.49, 15.61, 49.48, 16.65, 7.22, 2.46]
    draws = 100_000
    rng = np.random.default_rng([SEED, 2])
    mean, sd = norm_samples(rng, draws, 30)
    z = (rng.standard_normal(draws) - mean) / sd
    labels = [label_row(standard_score(float(one))).label for one in z_star_of(z, 30, 29)]
    shares = [100 * labels.count(row.label) / draws for row in LABEL_ROWS]
    print(f"labels at n 30, seed {SEED}, {draws} draws (SE .09 at 8.6): {shares}")
    assert shares == pytest.approx(published, abs=0.6)
    assert shares[0] + shares[1] == pytest.approx(8.59, abs=0.6)
    raw = [label_row(standard_score(float(one))).label for one in z]
    assert 100 * (raw.count("Exceptionally low") + raw.count("Below average")) / draws > 8.59 + 0.6


@pytest.mark.parametrize(
    ("n", "lowest", "highest"), [(30, 2.7, 18.2), (50, 3.7, 15.7), (100, 4.9, 13.4), (300, 6.3, 11.2)]
)
def test_the_share_one_given_table_calls_low_spreads_as_the_developers_page_says(
    n: int, lowest: float, highest: float
) -> None:
    # Norm rules A: 95 % of tables; the mean over tables is 8.59 at every n.
    mean, sd = norm_samples(np.random.default_rng([SEED, 3, n]), DRAWS, n)
    edges = np.linspace(-2.5, -0.5, 4001)
    cut = float(np.interp(LOW, z_star_of(edges, n, n - 1), edges))  # the z at which this n says low
    shares = 100 * stats.norm.cdf(mean + sd * cut)
    assert np.percentile(shares, [2.5, 97.5]) == pytest.approx([lowest, highest], abs=0.35)
    assert float(np.mean(shares)) == pytest.approx(8.59, abs=0.12)


@pytest.mark.parametrize(
    ("n", "lowest", "highest"),
    [(20, 0.51, 13.6), (50, 1.5, 10.2), (100, 2.4, 8.5), (200, 3.0, 7.4), (400, 3.6, 6.7), (1000, 4.1, 6.0)],
)
def test_the_estimate_of_a_true_5th_percentile_spreads_as_the_sample_is_small(
    n: int, lowest: float, highest: float
) -> None:
    # 95 % range of the normal-curve percentile, own Monte Carlo of 40,000 draws.
    mean, sd = norm_samples(np.random.default_rng([SEED, 4, n]), DRAWS, n)
    found = percentile_of((stats.norm.ppf(0.05) - mean) / sd)
    assert np.percentile(found, [2.5, 97.5]) == pytest.approx([lowest, highest], abs=0.25)
