"""The fits behind a built table against general statistics software, published deviance and reference z."""

import csv

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import minimize
from scipy.stats import norm

from norms.build.age_curve import (
    Basis,
    Curve,
    CurveValues,
    Shape,
    curve_of_people,
    inner_knots,
    lms_where_skewed,
    residuals,
    skewness,
)
from norms.build.lms_fit import LmsFits, fit_lms, lms_deviance
from norms.build.normal_fit import Groups, fit_groups, fit_people
from norms.table.scale import lms_value, lms_z
from tests.norms.folders import OPEN_DATA


def columns(name: str) -> list[dict[str, str]]:
    with (OPEN_DATA / name).open(newline="") as file:
        return list(csv.DictReader(file))


def abdom() -> tuple[np.ndarray, np.ndarray]:
    """Weeks and abdominal circumference (mm) of 610 unborn children."""
    rows = columns("abdom.csv")
    return np.array([float(row["x"]) for row in rows]), np.array([float(row["y"]) for row in rows])


def people(n: int = 160, seed: int = 4) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    ages = rng.uniform(20, 80, n)
    return ages, 1 + 0.02 * ages + (0.2 + 0.005 * ages) * rng.standard_normal(n)


def shape_over(ages: np.ndarray, mean: int = 2, log_sd: int = 1) -> Shape:
    low, high = float(ages.min()), float(ages.max())
    return Shape(Basis(low, high, mean), Basis(low, high, log_sd))


def cubic_in_three(weeks: np.ndarray) -> Shape:
    """Cubic pieces that meet at the thirds of the sample (5 degrees and a constant), and a log-linear S."""
    low, high = float(weeks.min()), float(weeks.max())
    return Shape(Basis(low, high, 3, inner_knots(weeks, 2)), Basis(low, high, 1))


def lms_of(weeks: np.ndarray, y: np.ndarray) -> tuple[LmsFits, np.ndarray, np.ndarray]:
    shape = cubic_in_three(weeks)
    x, s = shape.mean.at(weeks), shape.log_sd.at(weeks)
    begin = fit_people(x, s, np.log(y), np.ones((1, len(y))))
    return fit_lms(x, s, y, np.ones((1, len(y))), LmsFits(begin.mean, begin.log_sd, np.zeros(1))), x, s


def test_the_lms_fit_of_abdominal_circumference_reaches_the_published_deviance() -> None:
    """check value LMS_fit_abdom: deviance 4797.0396, L 0.218; scipy and gamlss agree on it."""
    weeks, y = abdom()
    fits, x, s = lms_of(weeks, y)
    assert lms_deviance(fits, x, s, y) == pytest.approx(4797.0396, abs=0.01)
    assert fits.power[0] == pytest.approx(0.218, abs=0.005)


def test_z_by_the_lms_fit_are_those_of_another_package() -> None:
    """Seven of the 610 z of gamlss 0.1.0 (bs(x, df=5), BCCGo); none of the 610 differs by more than .0007."""
    theirs = {0: -0.4819, 100: 0.5229, 200: -0.0503, 300: 0.9273, 400: 0.3366, 500: 1.5210, 609: -1.3724}
    weeks, y = abdom()
    fits, x, s = lms_of(weeks, y)
    at = CurveValues(np.exp(fits.log_m @ x.T), np.exp(fits.log_s @ s.T), fits.power[:, None])
    z = at.z(y[None])[0]
    assert [z[place] for place in theirs] == pytest.approx(list(theirs.values()), abs=0.0008)


def test_no_step_away_from_the_lms_fit_is_likelier() -> None:
    """The likelihood written anew, by scipy's normal density, searched without slopes from the fit."""
    weeks, y = abdom()
    fits, x, s = lms_of(weeks, y)

    def deviance(theta: np.ndarray) -> float:
        m, spread, power = np.exp(x @ theta[:6]), np.exp(s @ theta[6:8]), theta[8]
        z = ((y / m) ** power - 1) / (power * spread)
        return float(-2 * (norm.logpdf(z) + power * np.log(y / m) - np.log(y * spread)).sum())

    at = np.concatenate([fits.log_m[0], fits.log_s[0], fits.power])
    found = minimize(deviance, at, method="Nelder-Mead", options={"maxiter": 2000})
    assert deviance(at) == pytest.approx(lms_deviance(fits, x, s, y), abs=1e-6)
    assert found.fun > deviance(at) - 1e-4


def test_lms_without_skew_is_the_fit_of_logarithms() -> None:
    ages, y = people()
    shape = shape_over(ages)
    x, s = shape.mean.at(ages), shape.log_sd.at(ages)
    plain = fit_people(x, s, y, np.ones((1, len(y))))
    at_zero = LmsFits(plain.mean, plain.log_sd, np.zeros(1))
    residual = (y - x @ plain.mean[0]) / np.exp(s @ plain.log_sd[0])
    by_hand = -2 * (norm.logpdf(residual) - s @ plain.log_sd[0] - y).sum()
    assert lms_deviance(at_zero, x, s, np.exp(y)) == pytest.approx(by_hand, rel=1e-12)


def test_children_scored_on_lms_tables_have_the_recomputed_mean_and_sd() -> None:
    """check value LMS_kids: 198 children on the CDC 2000 tables, linear between months."""
    found = {}
    for measure, unit in (("height", 2.54), ("weight", 0.45359237)):
        z = []
        for child in columns("kids.csv"):
            sex = "male" if child["sex"] == "0" else "female"
            rows = [row for row in columns_of_cdc() if (row["measure"], row["sex"]) == (measure, sex)]
            at = np.array([float(row["age_years"]) for row in rows])
            years = float(child["age_months"]) / 12
            power, m, s = (np.interp(years, at, [float(row[key]) for row in rows]) for key in "lms")
            value = float(child["height_in" if measure == "height" else "weight_lb"]) * unit
            z.append(float(lms_z(value, float(power), float(m), float(s))))
        found[measure] = (np.mean(z), np.std(z, ddof=1))
    assert found["height"] == pytest.approx((-0.093, 0.921), abs=0.003)
    assert found["weight"] == pytest.approx((-0.033, 0.990), abs=0.003)


CDC: list[dict[str, str]] = []


def columns_of_cdc() -> list[dict[str, str]]:
    if not CDC:
        CDC.extend(columns("cdc_2000.csv"))
    return CDC


def test_even_spread_gives_least_squares_and_its_residual_sd() -> None:
    ages, y = people()
    shape = shape_over(ages, 2, 0)
    x = shape.mean.at(ages)
    fits = fit_people(x, shape.log_sd.at(ages), y, np.ones((1, len(y))))
    general = sm.OLS(y, x).fit()
    assert fits.mean[0] == pytest.approx(general.params, rel=1e-9)
    assert np.exp(fits.log_sd[0, 0]) == pytest.approx(general.mse_resid**0.5, rel=1e-9)


def test_a_spread_that_changes_with_age_is_fitted_by_restricted_likelihood() -> None:
    """The restricted likelihood written out and searched by scipy."""
    ages, y = people()
    shape = shape_over(ages)
    x, s = shape.mean.at(ages), shape.log_sd.at(ages)

    def restricted(gamma: np.ndarray) -> float:
        w = np.exp(-2 * (s @ gamma))
        a = x.T @ (x * w[:, None])
        rest = y - x @ np.linalg.solve(a, x.T @ (w * y))
        return float((2 * (s @ gamma)).sum() + np.linalg.slogdet(a)[1] + (w * rest**2).sum())

    found = minimize(restricted, [np.log(y.std()), 0.0], method="Nelder-Mead", options={"xatol": 1e-9})
    fits = fit_people(x, s, y, np.ones((1, len(y))))
    assert fits.log_sd[0] == pytest.approx(found.x, abs=2e-5)


def test_a_person_who_counts_three_times_is_three_such_people() -> None:
    ages, y = people(90)
    shape = shape_over(ages)
    counts = np.random.default_rng(1).integers(0, 4, 90)
    thrice = np.repeat(np.arange(90), counts)
    x, s = shape.mean.at(ages), shape.log_sd.at(ages)
    weighted = fit_people(x, s, y, counts[None, :].astype(float))
    repeated = fit_people(x[thrice], s[thrice], y[thrice], np.ones((1, len(thrice))))
    assert weighted.mean == pytest.approx(repeated.mean, rel=1e-8)
    assert weighted.log_sd == pytest.approx(repeated.log_sd, rel=1e-8)


def test_groups_are_fitted_as_general_linear_models_fit_them() -> None:
    """Variances: gamma with log link, weighted by their degrees of freedom; means: weighted least squares."""
    rng = np.random.default_rng(2)
    ages = np.arange(20.5, 80)
    n = rng.integers(5, 40, len(ages)).astype(float)
    sd = 0.2 + 0.005 * ages
    mean, variance = (
        0.02 * ages + sd / np.sqrt(n) * rng.standard_normal(60),
        sd**2 * rng.chisquare(n - 1) / (n - 1),
    )
    shape = shape_over(ages)
    x, s = shape.mean.at(ages), shape.log_sd.at(ages)
    fits = fit_groups(x, s, Groups(n[None], mean[None], variance[None]))
    gamma = sm.GLM(variance, s, family=sm.families.Gamma(sm.families.links.Log()), var_weights=n - 1).fit(
        tol=1e-12
    )
    assert 2 * fits.log_sd[0] == pytest.approx(gamma.params, abs=1e-6)
    weighted = sm.WLS(mean, x, weights=n / np.exp(2 * s @ fits.log_sd[0])).fit()
    assert fits.mean[0] == pytest.approx(weighted.params, rel=1e-8)


def test_the_curve_does_not_depend_on_the_unit_of_age_or_of_value() -> None:
    ages, y = people()
    plain, moved = curve_of_people(ages, y), curve_of_people(ages * 12, 10 * y + 3)
    assert residuals(moved, ages * 12, 10 * y + 3) == pytest.approx(residuals(plain, ages, y), abs=1e-8)


def test_a_bent_curve_is_taken_for_bent_people_and_a_parabola_for_the_rest() -> None:
    rng = np.random.default_rng(5)
    ages = rng.uniform(20, 80, 600)
    bent = curve_of_people(ages, np.sin(ages / 7) + 0.3 * rng.standard_normal(600))
    even = curve_of_people(ages, 0.02 * ages + 0.3 * rng.standard_normal(600))
    assert bent.shape.mean.size > 4 and even.shape.mean.size == 3


@pytest.mark.parametrize(("power", "expected"), [(0.0, False), (-1.0, True), (1.0, True)])
def test_lms_comes_where_skew_remains_and_only_there(power: float, expected: bool) -> None:
    rng = np.random.default_rng(9)
    ages = rng.uniform(20, 80, 600)
    z = rng.standard_normal(600)
    value = np.array(
        [float(lms_value(one, power, 5 + 0.02 * age, 0.2)) for one, age in zip(z, ages, strict=True)]
    )
    plain = curve_of_people(ages, np.log(value))
    found = lms_where_skewed(plain, ages, value)
    assert (found is not None) == expected
    if found is not None:
        assert found.is_lms and abs(skewness(residuals(found, ages, value))) < 0.15
        assert isinstance(found.fits, LmsFits) and found.fits.power[0] == pytest.approx(power, abs=0.35)


def test_value_and_z_of_a_curve_undo_each_other() -> None:
    for power in (None, 0.0, 0.4, -0.7):
        at = CurveValues(np.array([[5.0]]), np.array([[0.3]]), None if power is None else np.array([[power]]))
        for z in (-1.645, 0.0, 1.645):
            assert at.z(at.value(z)) == pytest.approx(z, abs=1e-12)


def test_a_third_held_out_two_hundred_times_lies_at_mean_0_and_sd_1() -> None:
    """Abdominal circumference, 200 seeded splits: a curve from two thirds judges the others."""
    weeks, y = abdom()
    figures = []
    for seed in range(200):
        order = np.random.default_rng(seed).permutation(len(y))
        fitted, held = order[: 2 * len(y) // 3], order[2 * len(y) // 3 :]
        curve: Curve = curve_of_people(weeks[fitted], np.log(y[fitted]))
        lms = lms_where_skewed(curve, weeks[fitted], y[fitted])
        z = residuals(lms or curve, weeks[held], y[held] if lms else np.log(y[held]))
        figures.append((z.mean(), z.std(ddof=1)))
    mean, sd = np.mean(figures, axis=0)
    assert abs(mean) <= 0.03 and abs(sd - 1) <= 0.05
