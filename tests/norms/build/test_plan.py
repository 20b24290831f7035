"""Planning: closed forms of precision and power, against simulated samples and studies.

Outside: ordinary least squares of numpy, the published bound on the worth of a plan, drawn retest studies.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from norms.__main__ import main
from norms.build.age_curve import Basis
from norms.build.normal_fit import fit_people
from norms.build.plan import (
    DESIGNS,
    EVEN,
    THREE_GROUPS,
    change_power,
    people_needed_everywhere,
    planned_ages,
    precision,
)
from norms.judge.joint_rule import joint_limits, outside
from norms.judge.single_case import z_interval
from tests.norms.drawn import person, studies

SEED = 20_261_202
Captured = pytest.CaptureFixture[str]


@pytest.mark.parametrize("design", DESIGNS)
@pytest.mark.parametrize("people", [100, 240])
def test_what_a_plan_is_worth_is_what_fits_to_drawn_samples_show(design: str, people: int) -> None:
    """1,000 samples a cell: Monte Carlo SE of a variance about 4.5 %."""
    ages = planned_ages(people, 18, 90, design)
    plan = precision(ages, 18, 90, design)
    rng = np.random.default_rng([SEED, people])
    x, s = Basis(18, 90, 2).at(ages), Basis(18, 90, 1).at(ages)
    y = rng.standard_normal((1_000, people))
    fits = [fit_people(x, s, one, np.ones((1, people))) for one in y]
    mean = np.array([one.mean[0] for one in fits]) @ Basis(18, 90, 2).at(plan.ages).T
    log_sd = np.array([one.log_sd[0] for one in fits]) @ Basis(18, 90, 1).at(plan.ages).T
    n_mean, df_sd = 1 / mean.var(axis=0), 1 / (2 * log_sd.var(axis=0))
    for place in (0, 15, 30, 45, 60):
        assert n_mean[place] == pytest.approx(plan.n_mean[place], rel=0.2)
        assert df_sd[place] == pytest.approx(plan.df_sd[place], rel=0.2)


def test_the_mean_of_a_plan_is_that_of_least_squares_and_no_plan_beats_the_bound() -> None:
    """Kiefer and Wolfowitz (1960): some age of any plan for a parabola is worth N / 3 people or fewer."""
    for design in DESIGNS:
        ages = planned_ages(100, 18, 90, design)
        u = (ages - 54) / 36
        covariance = np.linalg.inv(np.stack([u**0, u, u**2]) @ np.stack([u**0, u, u**2], axis=1))
        by_hand = 1 / np.array([np.array([1, v, v * v]) @ covariance @ np.array([1, v, v * v])
                                for v in (-1.0, 0.0, 1.0)])  # fmt: skip
        plan = precision(ages, 18, 90, design)
        assert plan.n_mean[[0, 30, 60]] == pytest.approx(by_hand, rel=1e-6)
        assert plan.n_mean.min() <= 100 / 3
    even = precision(planned_ages(300, 18, 90, EVEN), 18, 90, EVEN)
    assert even.n_mean[0] == pytest.approx(300 / 9, rel=0.03)


def test_a_clinic_of_100_people_reaches_its_ends_only_in_three_groups() -> None:
    even, groups = (precision(planned_ages(100, 18, 90, one), 18, 90, one) for one in (EVEN, THREE_GROUPS))
    assert even.n_mean.min() == pytest.approx(11, abs=1) and groups.n_mean.min() == pytest.approx(28, abs=1)
    assert people_needed_everywhere(30, THREE_GROUPS) < people_needed_everywhere(30, EVEN) / 2
    for plan in (even, groups):
        assert len(planned_ages(100, 18, 90, plan.design)) == 100
        low, high = z_interval(-1.6448536, plan.n_mean[0], plan.df_sd[0])
        assert low < -1.645 < high and plan.low[0] < 5 < plan.high[0]


@pytest.mark.parametrize(("pairs", "r"), [(20, 0.8), (50, 0.7), (50, 0.8), (100, 0.9)])
def test_the_chance_that_a_change_is_seen_is_that_of_drawn_studies_and_people(pairs: int, r: float) -> None:
    """20,000 draws a cell, a new study and person in each: Monte Carlo SE at most .35 in 100."""
    rng = np.random.default_rng([SEED, pairs, int(10 * r)])
    study = studies(rng, 20_000, pairs, r)
    first, second = person(rng, 20_000, r, ("healthy", 0.0))
    limits, told = joint_limits(first, study), change_power(pairs, r)
    for change, seen in zip((0.0, *told.changes_sd), (told.unchanged, *told.seen), strict=True):
        drawn = 100 * np.mean(outside(second - change, limits) < 0)
        print(f"pairs {pairs}, r {r}, change {change} SD: told {seen:.1f}, drawn {drawn:.1f}")
        assert seen == pytest.approx(drawn, abs=1.3 if pairs >= 50 else 3.0)


def test_the_command_answers_a_clinic_that_can_recruit_100(tmp_path: Path, capsys: Captured) -> None:
    assert main(["plan", "--people", "100", "--picture", str(tmp_path / "plan.svg")]) == 0
    said = capsys.readouterr().out
    assert "100 people evenly over 18 to 90 years: an age is worth 11 to 56 people" in said
    assert "every age worth 30: 275 people evenly, 115 in three groups" in said
    assert (tmp_path / "plan.svg").read_text().startswith("<svg")
    assert main(["plan", "--people", "100", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [one["design"] for one in found["precision"]] == list(DESIGNS)
    assert found["bridge"]["sd_ratio"] == pytest.approx(56, abs=1)


@pytest.mark.parametrize(
    "wrong", [["--people", "5"], ["--people", "many"], ["--people", "100", "--ages", "40,45"],
              ["--people", "100", "--ages", "x"], ["--people", "100", "--r", "1"]],
)  # fmt: skip
def test_wrong_usage_is_told_in_one_sentence(wrong: list[str], capsys: Captured) -> None:
    assert main(["plan", *wrong]) == 2
    told = capsys.readouterr().err
    assert told.startswith("norms plan: argument --") and told.count("\n") == 1
