"""A judged change: rows, studies, guards and words."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from norms import ByHand, Change, Occasion, Refusal, Table, change, classical_indices, read_folder
from norms.judge.joint_rule import joint_limits, regression_z, study_of
from tests.norms.folders import EXAMPLE
from tests.norms.judge.test_lookup import SITTING

SCATTER, LAG, DELAY = "brisk.preferred.scatter", "circles.preferred.lag", "wander.preferred.delay"


@pytest.fixture(scope="module")
def table() -> Table:
    return read_folder(EXAMPLE)


def judged(
    table: Table,
    measure: str,
    before: float,
    after: float,
    age: float = 70.0,
    days: float = 180,
    earlier_visits: int = 0,
) -> Change | Refusal:
    return change(
        table,
        measure,
        Occasion(before, ByHand(age - days / 365.25)),
        Occasion(after, ByHand(age)),
        days,
        earlier_visits,
    )


def reliable(table: Table, measure: str, before: float, after: float, **more: float) -> str:
    found = judged(table, measure, before, after, **more)  # type: ignore[arg-type]
    assert isinstance(found, Change)
    return found.reliable


def refused(found: Change | Refusal) -> str:
    assert isinstance(found, Refusal)
    return found.code



def test_word_and_printed_limits_agree_at_every_value(table: Table) -> None:
    for measure, values in (
        (SCATTER, np.linspace(3, 25, 89)),
        (LAG, np.linspace(-80, 260, 86)),
        (DELAY, np.linspace(60, 420, 91)),
    ):
        for after in values:
            found = judged(table, measure, 100.0 if measure != SCATTER else 8.0, float(after))
            assert isinstance(found, Change)
            low, high = found.limits_value
            word = "worse" if after > high else "better" if after < low else "none"
            assert found.reliable == (
                "further_ahead" if word == "better" and after < 0 and measure == LAG else word
            )


def test_a_share_at_its_ends_agrees_with_limits_that_are_cut_to_0_and_100(table: Table) -> None:
    share = "steady.preferred.time_on_target"
    studied = replace(table, retest=(replace(table.retest[0], measure=share),))
    words = set()
    for before in (0.0, 5.0, 50.0, 95.0, 100.0):
        for after in np.linspace(0, 100, 41):
            found = judged(studied, share, before, float(after))
            assert isinstance(found, Change)
            low, high = found.limits_value
            assert 0 <= low <= high <= 100
            assert found.reliable == ("better" if after > high else "worse" if after < low else "none")
            words.add(found.reliable)
    assert words == {"better", "worse", "none"}


def test_a_change_is_the_hand_worked_one(table: Table) -> None:
    # Row 60 to 75: mean 2.1176, SD .3199; study n 120, r .79, 0/.99 then .15/1.01.
    found = judged(table, SCATTER, 8.0, 11.6)
    assert isinstance(found, Change)
    before, after = (-(np.log(value) - 2.1176) / 0.3199 for value in (8.0, 11.6))
    expected = 0.15 + 0.79 * 1.01 / 0.99 * before
    error = 1.01 * np.sqrt((1 - 0.79**2) * 119 / 118) * np.sqrt(1 + 1 / 120 + before**2 / (0.99**2 * 119))
    spread = np.sqrt(0.99**2 + 1.01**2 - 2 * 0.79 * 0.99 * 1.01) * np.sqrt(1 + 1 / 120)
    assert (found.z_before, found.z_after) == pytest.approx((before, after))
    assert (found.expected, found.prediction_sd) == pytest.approx((expected, error))
    assert found.t_regression == pytest.approx((after - expected) / error)
    assert found.t_difference == pytest.approx((after - before - 0.15) / spread)
    assert (found.df_regression, found.df_difference) == (118, 119)
    assert found.expected_value == pytest.approx(np.exp(2.1176 - 0.3199 * expected))
    assert found.reliable == "worse"


def test_poorer_is_worse_whichever_way_the_unit_points(table: Table) -> None:
    assert reliable(table, SCATTER, 8.0, 16.0) == "worse"
    assert reliable(table, SCATTER, 16.0, 6.0) == "better"
    assert reliable(table, SCATTER, 8.0, 8.5) == "none"


def test_a_lag_that_ends_ahead_is_never_called_better(table: Table) -> None:
    assert reliable(table, LAG, 90.0, -20.0) == "further_ahead"
    assert reliable(table, LAG, 130.0, 20.0) == "better"


def test_both_visits_are_read_by_the_row_of_the_later_one(table: Table) -> None:
    found = judged(table, SCATTER, 8.0, 8.0, age=75.2)
    assert isinstance(found, Change)
    assert found.row_before == found.row_after and found.row_after.age_from == 75
    assert found.z_before == found.z_after


def test_bands_do_not_judge_two_years_apart_in_different_bands(table: Table) -> None:
    far = replace(table, retest=tuple(replace(row, days_max=2000.0) for row in table.retest))
    assert refused(judged(far, SCATTER, 8.0, 9.0, age=76, days=800)) == "age_band_between"
    assert isinstance(judged(far, SCATTER, 8.0, 9.0, age=72, days=800), Change)


def test_a_smoothed_table_reads_each_visit_by_its_own_row_two_years_apart(table: Table) -> None:
    smooth = replace(
        table,
        age_method="smoothed_bands",
        retest=tuple(replace(row, days_max=2000.0) for row in table.retest),
    )
    found = judged(smooth, SCATTER, 8.0, 8.0, age=76, days=800)
    assert isinstance(found, Change)
    assert (found.row_before.age_from, found.row_after.age_from) == (60, 75)
    assert found.z_after > found.z_before


def test_an_earlier_row_of_too_few_people_judges_nothing(table: Table) -> None:
    for n_mean, refused_for in ((29.0, "n_below_floor"), (30.0, None)):
        smooth = replace(
            table,
            age_method="continuous",
            rows=tuple(
                replace(row, n_mean=n_mean if row.age_from == 60 else 90.0, df_sd=90.0) for row in table.rows
            ),
            retest=tuple(replace(row, days_max=2000.0) for row in table.retest),
        )
        found = judged(smooth, SCATTER, 8.0, 8.0, age=76, days=800)
        assert (found.code if isinstance(found, Refusal) else None) == refused_for


def test_classical_indices_are_those_of_the_formulas_on_the_same_two_z(table: Table) -> None:
    found = judged(table, SCATTER, 8.0, 11.6)
    assert isinstance(found, Change)
    study, z = study_of(found.study), (found.z_before, found.z_after)
    known = {
        "jacobson_truax": (z[1] - z[0]) / (0.99 * np.sqrt(2 * 0.21)),
        "practice_adjusted": (z[1] - z[0] - 0.15) / (0.99 * np.sqrt(2 * 0.21)),
        "both_sd": (z[1] - z[0] - 0.15) / np.sqrt((0.99**2 + 1.01**2) * 0.21),
        "difference_z": (z[1] - z[0] - 0.15) / np.sqrt(0.99**2 + 1.01**2 - 2 * 0.79 * 0.99 * 1.01),
        "regression_z": float(regression_z(*z, study)),
    }
    assert classical_indices(found) == pytest.approx(known)


def test_an_interval_outside_the_study_is_shown_without_judgement(table: Table) -> None:
    for days in (149, 211):
        found = judged(table, SCATTER, 8.0, 16.0, days=days)
        assert refused(found) == "interval_outside_study"
        assert isinstance(found, Refusal)
        assert {"z_before", "z_after", "days_min", "days_max"} <= found.values.keys()
    assert isinstance(judged(table, SCATTER, 8.0, 16.0, days=210), Change)


def test_more_earlier_visits_than_studied_brackets_the_practice_gain(table: Table) -> None:
    once, more = (judged(table, SCATTER, 8.0, 11.0, earlier_visits=visits) for visits in (0, 3))
    assert isinstance(once, Change) and isinstance(more, Change)
    assert "practice_beyond_study" in more.warnings and "practice_beyond_study" not in once.warnings
    study = study_of(more.study)
    bracket = joint_limits(more.z_before, study, bracket=True)
    assert more.limits == (float(bracket.lower), float(bracket.upper))
    assert more.limits[0] < once.limits[0] and more.limits[1] == once.limits[1]


def test_the_row_with_as_many_earlier_visits_is_taken_before_the_last_studied(table: Table) -> None:
    later = tuple(replace(row, earlier_visits=1, mean_2=row.mean_1) for row in table.retest)
    both = replace(table, retest=table.retest + later)
    for visits, taken, bracketed in ((0, 0, False), (1, 1, False), (2, 1, True)):
        found = judged(both, SCATTER, 8.0, 9.0, earlier_visits=visits)
        assert isinstance(found, Change)
        assert found.study.earlier_visits == taken
        assert ("practice_beyond_study" in found.warnings) == bracketed
    assert refused(judged(replace(table, retest=later), SCATTER, 8.0, 9.0)) == "no_retest_study"


def test_the_study_of_the_persons_sex_comes_before_that_of_any(table: Table) -> None:
    women = tuple(replace(row, sex="female", n=60) for row in table.retest)
    mixed = replace(table, retest=table.retest + women)
    for sex, n in (("female", 60), ("male", 120), ("not_asked", 120)):
        found = change(mixed, SCATTER, Occasion(8.0, ByHand(69.5, sex)), Occasion(9.0, ByHand(70, sex)), 180)
        assert isinstance(found, Change) and found.study.n == n


@pytest.mark.parametrize(("n", "outcome"), [(19, "study_too_small"), (20, "small_study"), (50, None)])
def test_a_study_below_20_judges_nothing_and_below_50_warns(
    table: Table, n: int, outcome: str | None
) -> None:
    small = replace(table, retest=tuple(replace(row, n=n) for row in table.retest))
    found = judged(small, SCATTER, 8.0, 9.0)
    if n < 20:
        assert refused(found) == outcome
    else:
        assert isinstance(found, Change) and ("small_study" in found.warnings) == (outcome is not None)


def test_one_valid_trial_where_two_are_the_norm_is_not_judged(table: Table) -> None:
    found = change(
        table, SCATTER, Occasion(8.0, ByHand(69.5), enough_trials=False), Occasion(9.0, ByHand(70)), 180
    )
    assert refused(found) == "one_trial_only"


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("battery_version", 2, "not_comparable"),
        ("scoring_version", 2, "not_comparable"),
        ("input", "stylus", "not_comparable"),
        ("device_class", "t10", "not_comparable"),
        ("latency_known", False, "latency_unknown"),
    ],
)
def test_visits_that_differ_in_what_was_measured_are_not_compared(
    table: Table, field: str, value: object, code: str
) -> None:
    earlier = replace(SITTING, visit_date=date(2026, 1, 12))
    other = replace(earlier, **{field: value})  # type: ignore[arg-type]
    assert isinstance(change(table, LAG, Occasion(60, earlier), Occasion(70, SITTING), 180), Change)
    assert refused(change(table, LAG, Occasion(60, other), Occasion(70, SITTING), 180)) == code


def test_a_difference_in_language_is_no_reason_to_refuse(table: Table) -> None:
    earlier = replace(SITTING, visit_date=date(2026, 1, 12), language="fr")
    assert isinstance(change(table, LAG, Occasion(60, earlier), Occasion(70, SITTING), 180), Change)


def test_the_later_visit_must_come_later_and_the_earlier_value_must_fit_its_scale(table: Table) -> None:
    assert refused(judged(table, SCATTER, 8.0, 9.0, days=0)) == "later_before_earlier"
    assert refused(judged(table, SCATTER, 0.0, 9.0)) == "value_outside_scale"
    assert refused(judged(table, "steady.preferred.time_on_target", 80, 90)) == "no_retest_study"


def test_a_measure_without_direction_is_not_judged(table: Table) -> None:
    plain = replace(table, measures=tuple(replace(one, better="neither") for one in table.measures))
    assert refused(judged(plain, SCATTER, 8.0, 16.0)) == "no_direction"


def test_a_first_value_far_from_the_study_is_noted(table: Table) -> None:
    found = judged(table, SCATTER, 30.0, 29.0)
    assert isinstance(found, Change) and "far_from_study" in found.warnings
