"""The formulas of reliable change, against worked examples and general regression software."""

import numpy as np
import pytest
from scipy import stats

from norms.judge.joint_rule import (
    Study,
    both_sd,
    difference,
    difference_limits,
    difference_z,
    jacobson_truax,
    jacobson_truax_cutoffs,
    joint_limits,
    minimal_detectable_change,
    outside,
    practice_adjusted,
    regression,
    regression_limits,
    regression_z,
    sem,
)

# Recomputed from the formulas in the literature (both examples): x, y, study -> every index.
FIRST = (
    35,
    28,
    Study(40, 0.8, 50, 10, 53, 11),
    {
        "JT": -1.106797,
        "Chelune": -1.581139,
        "Iverson": -1.504142,
        "Temkin": -1.490712,
        "SDD_t": -1.47242,
        "SRB_z": -1.764808,
        "predicted": 39.8,
        "s_n1": 6.95724,
        "CG_t": -1.696075,
        "CG_pct_below": 4.902542,
        "PI90": (28.070411, 51.529589),
        "SDD": 6.708204,
        "SEdiff_JT": 6.324555,
        "SEdiff_Iverson": 6.648308,
        "slope": 0.88,
        "SEE": 6.686278,
        "CG_p2": 0.098051,
    },
)
SECOND = (
    24,
    30,
    Study(30, 0.75, 20, 6, 18, 5),
    {
        "JT": 1.414214,
        "Chelune": 1.885618,
        "Iverson": 2.04859,
        "Temkin": 2.0,
        "SDD_t": 1.967478,
        "SRB_z": 2.822569,
        "predicted": 20.5,
        "s_n1": 3.446642,
        "CG_t": 2.756306,
        "CG_pct_below": 99.4916,
        "PI90": (14.636811, 26.363189),
        "SDD": 4.0,
        "SEdiff_JT": 4.242641,
        "SEdiff_Iverson": 3.905125,
        "slope": 0.625,
        "SEE": 3.365728,
        "CG_p2": 0.010168,
    },
)


# --- laws ---


def test_unit_and_origin_of_the_scale_change_nothing() -> None:
    study, moved = Study(40, 0.8, 50, 10, 53, 11), Study(40, 0.8, 0.5, 0.1, 0.53, 0.11)
    one, other = joint_limits(35, study), joint_limits(0.35, moved)
    assert (other.lower * 100, other.upper * 100) == pytest.approx((one.lower, one.upper))


def test_poorer_and_better_mirror_each_other() -> None:
    limits = joint_limits(-1.2, Study(60, 0.8, 0.1, 1, 0.3, 1.1))
    mirrored = joint_limits(1.2, Study(60, 0.8, -0.1, 1, -0.3, 1.1))
    assert (float(mirrored.lower), float(mirrored.upper)) == pytest.approx((-limits.upper, -limits.lower))


def test_reliable_by_the_joint_rule_is_reliable_by_both_tests_and_by_no_fewer() -> None:
    study, first = Study(60, 0.8, 0, 1, 0.2, 1.1), np.linspace(-4, 4, 41)[:, None]
    second = np.linspace(-7, 7, 281)[None, :]
    joint = outside(second, joint_limits(first, study))
    both = [outside(second, limits(first, study)) for limits in (regression_limits, difference_limits)]
    assert np.array_equal(joint == -1, (both[0] == -1) & (both[1] == -1))
    assert np.array_equal(joint == 1, (both[0] == 1) & (both[1] == 1))


def test_a_bracketed_gain_only_widens_and_holds_the_limits_of_both_gains() -> None:
    study = Study(60, 0.8, 0, 1, 0.3, 1)
    plain, none, bracket = (
        joint_limits(-1, study),
        joint_limits(-1, study.without_gain()),
        joint_limits(-1, study, bracket=True),
    )
    assert bracket.lower == min(plain.lower, none.lower) and bracket.upper == max(plain.upper, none.upper)
    assert bracket.expected == plain.expected


def test_a_change_on_the_limit_itself_is_not_reliable() -> None:
    limits = joint_limits(0.0, Study(60, 0.8, 0, 1, 0, 1))
    assert list(outside(np.array([limits.lower, limits.upper]), limits)) == [0, 0]
    assert list(outside(np.array([limits.lower - 1e-9, limits.upper + 1e-9]), limits)) == [-1, 1]


# --- published and recomputed numbers ---


@pytest.mark.parametrize(("x", "y", "study", "known"), [FIRST, SECOND])
def test_every_index_of_the_worked_summary_examples(x: float, y: float, study: Study, known: dict) -> None:
    expected, sd = regression(x, study)
    centre, difference_sd = difference(x, study)
    limits = regression_limits(x, study)
    df = float(np.asarray(study.n)) - 2
    found = {
        "JT": jacobson_truax(x, y, study),
        "Chelune": practice_adjusted(x, y, study),
        "Iverson": both_sd(x, y, study),
        "Temkin": difference_z(x, y, study),
        "SDD_t": (y - centre) / difference_sd,
        "SRB_z": regression_z(x, y, study),
        "predicted": expected,
        "s_n1": sd,
        "CG_t": (y - expected) / sd,
        "CG_pct_below": 100 * stats.t.cdf((y - expected) / sd, df),
        "SDD": difference_sd / np.sqrt(1 + 1 / np.asarray(study.n)),
        "SEdiff_JT": (y - x) / jacobson_truax(x, y, study),
        "SEdiff_Iverson": (y - centre) / both_sd(x, y, study),
        "slope": regression(x + 1, study)[0] - expected,
        "SEE": regression(study.mean_1, study)[1] / np.sqrt(1 + 1 / np.asarray(study.n)),
        "CG_p2": 2 * stats.t.sf(abs(y - expected) / sd, df),
    }
    assert {key: float(value) for key, value in found.items()} == pytest.approx(
        {key: value for key, value in known.items() if key != "PI90"}, abs=2e-6
    )
    assert (float(limits.lower), float(limits.upper)) == pytest.approx(known["PI90"], abs=2e-6)


def test_the_limits_of_the_regression_are_those_of_ordinary_least_squares() -> None:
    import statsmodels.api as sm

    rng = np.random.default_rng(4)
    x = rng.normal(55, 11, 83)
    y = 20 + 0.6 * x + rng.normal(0, 8, 83)
    predicted = sm.OLS(y, sm.add_constant(x)).fit().get_prediction([[1.0, 71.5]])
    study = Study(83, np.corrcoef(x, y)[0, 1], x.mean(), x.std(ddof=1), y.mean(), y.std(ddof=1))
    limits = regression_limits(71.5, study)
    assert float(limits.expected) == pytest.approx(predicted.predicted_mean[0], abs=1e-9)
    assert (float(limits.lower), float(limits.upper)) == pytest.approx(
        tuple(predicted.conf_int(obs=True, alpha=0.10)[0]), abs=1e-9
    )


def test_the_sd_of_differences_is_that_of_the_differences_themselves() -> None:
    # Christensen & Mendoza's form equals the SD of raw differences (stated by Hinton-Bayre 2004): 6.708204.
    _, sd = difference(0, Study(10**9, 0.8, 0, 10, 0, 11))
    assert float(sd) == pytest.approx(6.708204, abs=1e-6)
    pairs = np.random.default_rng(5).multivariate_normal([0, 1], [[100, 88], [88, 121]], 50)
    study = Study(50, np.corrcoef(pairs.T)[0, 1], 0, pairs[:, 0].std(ddof=1), 0, pairs[:, 1].std(ddof=1))
    _, sd = difference(0, study)
    assert float(sd) == pytest.approx(np.diff(pairs).std(ddof=1) * np.sqrt(51 / 50), abs=1e-9)


def test_the_example_of_jacobson_and_truax() -> None:
    # Jacobson & Truax (1991): 32.5 -> 47.5, SEM 3.35, S_diff 4.74, RC 3.16, 95 % limit 9.29
    # (SD 7.5 and r .80: from memory, consistent with all four).
    study = Study(1000, 0.8, 0, 7.5, 0, 7.5)
    assert float(sem(7.5, 0.8)) == pytest.approx(3.35, abs=0.005)
    assert float(jacobson_truax(32.5, 47.5, study)) == pytest.approx(3.16, abs=0.005)
    assert float(minimal_detectable_change(7.5, 0.8)) == pytest.approx(9.29, abs=0.01)
    assert jacobson_truax_cutoffs(40, 60, 7.5) == (55, 45, 50)


@pytest.mark.parametrize(
    ("r", "error", "mdc_90", "mdc_95"),
    [(0.7, 0.547723, 1.274098, 1.518182), (0.9, 0.316228, 0.735601, 0.876523)],
)
def test_standard_error_of_measurement_and_minimal_detectable_change(
    r: float, error: float, mdc_90: float, mdc_95: float
) -> None:
    assert float(sem(1, r)) == pytest.approx(error, abs=1e-5)
    assert float(minimal_detectable_change(1, r, 0.90)) == pytest.approx(mdc_90, abs=1e-5)
    assert float(minimal_detectable_change(1, r)) == pytest.approx(mdc_95, abs=1e-3)


def test_the_hull_of_the_two_limits_of_a_low_first_score() -> None:
    # First z -2, n 60, r .8 (recomputed): regression -2.65 to -.55, difference -3.07 to -.93.
    study = Study(60, 0.8, 0, 1, 0, 1)
    ends = [
        float(end)
        for limits in (regression_limits(-2, study), difference_limits(-2, study), joint_limits(-2, study))
        for end in (limits.lower, limits.upper)
    ]
    assert ends == pytest.approx([-2.65, -0.55, -3.07, -0.93, -3.07, -0.55], abs=0.005)
