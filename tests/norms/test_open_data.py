"""Open data end to end: from people through a built table to a judgement, beside general software.

The files and their sources: open_data/SOURCES.md.
"""

import csv
import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from norms import PRIMARY_MEASURES, ByHand, Occasion, Profile, Series, Standing, profile, series, standing
from norms.__main__ import main
from norms.build.sample import SAMPLE
from norms.judge.joint_rule import (
    Study,
    difference_limits,
    jacobson_truax,
    joint_limits,
    outside,
    regression,
    regression_limits,
)
from norms.judge.profile import chances_of_counts
from norms.judge.series_rule import slope
from norms.table.folder import read_folder
from norms.table.table import Table
from norms.worth.reliability import icc_consistency, mean_squares, reliability
from tests.norms.folders import OPEN_DATA

Line = tuple[str, int, str, float, float, str, float]  # person, visit, purpose, age, day, measure, value


def read(name: str) -> list[dict[str, str]]:
    with (OPEN_DATA / name).open(newline="") as file:
        return list(csv.DictReader(file))


def built(
    folder: Path,
    lines: Iterable[Line],
    scores: dict[str, list[object]],
    bands: str,
    scaled: Callable[[float], float] = float,
) -> Table:
    """A table made by the command line from lines of people."""
    with (folder / "sample.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([column.name for column in SAMPLE.columns])
        for person, visit, purpose, age, day, measure, value in lines:
            writer.writerow(
                [
                    person,
                    visit,
                    purpose,
                    "yes",
                    age,
                    "not_asked",
                    "paper",
                    "mouse",
                    day,
                    visit - 1,
                    "open-data",
                    1,
                    1,
                    measure,
                    value,
                    scaled(value),
                    "",
                    1,
                ]
            )
    said = {"scores": scores, "reference_table": {"floor_n": 10, "warn_n": 12}}
    (folder / "template.json").write_text(json.dumps(said))
    assert (
        main(
            [
                "build",
                str(folder / "sample.csv"),
                "--out",
                str(folder / "table"),
                "--method",
                "bands",
                "--bands",
                bands,
                "--template",
                str(folder / "template.json"),
            ]
        )
        == 0
    )
    return read_folder(folder / "table")


def summary(first: np.ndarray, second: np.ndarray) -> Study:
    return Study(
        len(first),
        np.corrcoef(first, second)[0, 1],
        first.mean(),
        first.std(ddof=1),
        second.mean(),
        second.std(ddof=1),
    )


# --- handwriting: 195 people judged two surveys ---


def handwriting() -> tuple[np.ndarray, np.ndarray]:
    rows = read("handwriting.csv")
    return tuple(np.array([float(row[name]) for row in rows]) for name in ("Survey1", "Survey2"))  # type: ignore


def test_handwriting_change_is_that_of_ordinary_least_squares(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # First value 60, then 40: expected 64.103529, 90 % limits 48.62717 to 79.57988, t -2.57412 (R lm; and
    # statsmodels below).
    import statsmodels.api as sm

    first, second = handwriting()
    lines: list[Line] = [
        (f"a{k}", 1, "reference", 20, 0, "letters.both.right", value) for k, value in enumerate(first)
    ]
    lines += [
        (f"b{k}", visit, "retest", 20, 30 * (visit - 1), "letters.both.right", value)
        for visit, values in ((1, first), (2, second))
        for k, value in enumerate(values)
    ]
    built(tmp_path, lines, {"right": ["%", "higher", "identity", 0]}, "18,30")
    capsys.readouterr()
    asked = [
        "change",
        "--table",
        str(tmp_path / "table"),
        "--measure",
        "letters.both.right",
        "--age",
        "20.1",
        "--before",
        "60",
        "--after",
        "40",
        "--days",
        "30",
        "--json",
        "--classical",
    ]
    assert main(asked) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["expected_value"] == pytest.approx(64.103529, abs=1e-5)
    assert found["t_regression"] == pytest.approx(-2.57412, abs=1e-5)
    reach = stats.t.ppf(0.95, 193) * found["prediction_sd"] * first.std(ddof=1)
    limits = (found["expected_value"] - reach, found["expected_value"] + reach)
    assert limits == pytest.approx((48.62717, 79.57988), abs=1e-4)
    assert found["prediction_sd"] * first.std(ddof=1) == pytest.approx(9.363793, abs=1e-5)
    predicted = sm.OLS(second, sm.add_constant(first)).fit().get_prediction([[1.0, 60.0]])
    assert limits == pytest.approx(tuple(predicted.conf_int(obs=True, alpha=0.10)[0]), abs=1e-5)
    both = [*limits, *(float(end) for end in difference_limits(60, summary(first, second))[1:])]
    assert found["limits_value"] == pytest.approx([min(both), max(both)], abs=1e-5)
    assert found["classical"]["regression_z"] == pytest.approx((40 - 64.103529) / 9.338185, abs=1e-4)
    assert found["reliable"] == "worse"


def test_handwriting_reliability_is_that_of_the_pairs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = handwriting()
    (tmp_path / "pairs.csv").write_text(
        "person,first,second\n"
        + "".join(f"p{k},{one},{two}\n" for k, (one, two) in enumerate(zip(first, second, strict=True)))
    )
    assert main(["reliability", str(tmp_path / "pairs.csv"), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["n"] == 195 and found["r"]["value"] == pytest.approx(0.375982, abs=1e-6)
    ends = stats.pearsonr(first, second).confidence_interval()
    assert (found["r"]["low"], found["r"]["high"]) == pytest.approx((ends.low, ends.high))


def left_out(first: np.ndarray, second: np.ndarray) -> list[float]:
    """% called changed when each person is judged by the study of all others: regression, difference, both,
    and the textbook index at 1.645."""
    flags = []
    for k in range(len(first)):
        study = summary(np.delete(first, k), np.delete(second, k))
        rules = (regression_limits, difference_limits, joint_limits)
        flags.append(
            [outside(second[k], rule(first[k], study)) != 0 for rule in rules]
            + [abs(jacobson_truax(first[k], second[k], study)) > stats.norm.ppf(0.95)]
        )
    return [100 * float(share) for share in np.mean(flags, axis=0)]


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("handwriting", [7.7, 10.3, 5.6, 9.2]),
        ("vocabulary", [7.8, 7.8, 7.8, 34.4]),
        ("orthodont", [7.4, 3.7, 3.7, 25.9]),
    ],
)
def test_people_who_only_grew_or_practised_are_left_alone_by_the_joint_rule_only(
    name: str, known: Sequence[float]
) -> None:
    # Leave-one-out at nominal 10 %, recomputed: regression / difference / both / textbook index.
    if name == "handwriting":
        first, second = handwriting()
    elif name == "vocabulary":
        first, second = (
            np.array([float(row[grade]) for row in read("vocabulary.csv")]) for grade in ("grade8", "grade9")
        )
    else:
        first, second = (
            np.array([float(row["distance"]) for row in read("orthodont.csv") if row["age"] == age])
            for age in ("12", "14")
        )
    assert left_out(first, second) == pytest.approx(known, abs=0.06)


# --- NeuroCog: 145 healthy people, seven scores ---

SCORES = ("Speed", "Attention", "Memory", "Verbal", "Visual", "ProbSolv", "SocialCog")


def neurocog() -> np.ndarray:
    return np.array([[float(row[score]) for score in SCORES] for row in read("neurocog_controls.csv")])


def test_low_scores_of_145_healthy_people_are_as_common_as_the_chance_says() -> None:
    # Below -1.5 SD, 7 scores: people 24.1 / 11.7 / 6.2 / 4.1, simulated 26.6 / 11.0 / 5.2 / 2.4 (recomputed;
    # real tails are heavier at high counts).
    values = neurocog()
    z = (values - values.mean(axis=0)) / values.std(axis=0, ddof=1)
    counts = (z < -1.5).sum(axis=1)
    assert [100 * np.mean(counts >= k) for k in (1, 2, 3, 4)] == pytest.approx(
        [24.1, 11.7, 6.2, 4.1], abs=0.06
    )
    chances = chances_of_counts(np.corrcoef(values.T), -1.5)[:4]
    assert chances == pytest.approx([26.6, 11.0, 5.2, 2.4], abs=0.35)


def test_six_neurocog_scores_go_from_people_to_profiles(tmp_path: Path) -> None:
    values, ages = neurocog()[:, :6], [float(row["Age"]) for row in read("neurocog_controls.csv")]
    lines: list[Line] = [
        (f"p{k}", 1, "reference", age, 0, measure, value)
        for k, age in enumerate(ages)
        for measure, value in zip(PRIMARY_MEASURES, values[k], strict=True)
    ]
    kinds = {score: ["ratio", "higher", "identity", 0] for score in ("scatter", "lag", "delay")}
    table = built(tmp_path, lines, kinds, "18,67")
    # Two controls have all six scores alike; the sample leaves the second out as a copy.
    kept = values[np.sort(np.unique(values, axis=0, return_index=True)[1])]
    assert len(kept) == 144
    counts, chances = [], None
    for k, age in enumerate(ages):
        placed = [
            standing(table, measure, value, ByHand(age))
            for measure, value in zip(PRIMARY_MEASURES, values[k], strict=True)
        ]
        found = profile(table, [one for one in placed if isinstance(one, Standing)])
        assert isinstance(found, Profile) and found.n_scored == 6
        counts.append(found.n_low)
        chances = found.chances_percent
        one = placed[0]
        assert isinstance(one, Standing)
        z = (values[k, 0] - kept[:, 0].mean()) / kept[:, 0].std(ddof=1)
        assert one.percentile == pytest.approx(100 * stats.t.cdf(z / np.sqrt(145 / 144), 143), abs=1e-6)
    assert chances is not None
    matrix = np.corrcoef(kept.T)
    none_low = stats.multivariate_normal(np.zeros(6), matrix).cdf(np.full(6, 41 / 30))
    assert chances[0] == pytest.approx(100 * (1 - none_low), abs=0.4)
    people = [100 * float(np.mean(np.array(counts) >= k)) for k in (1, 2, 3)]
    assert people == pytest.approx(chances[:3], abs=7)  # SE of 145 people: 3.7 at 28


# --- tinting: 26 people of two age groups, times through tinted glass ---


def tinting(score: str, tint: str) -> dict[str, tuple[float, float]]:
    """Age and time (ms) of each person at the high-contrast target."""
    return {
        row["id"]: (float(row["age"]), float(row[score]))
        for row in read("tinting.csv")
        if row["tint"] == tint and row["target"] == "hicon"
    }


def test_tinting_times_are_placed_in_their_age_group_as_least_squares_predicts(tmp_path: Path) -> None:
    import statsmodels.api as sm

    people = tinting("csoa", "no")
    lines: list[Line] = [
        (f"p{who}", 1, "reference", age, 0, "glass.both.time", value) for who, (age, value) in people.items()
    ]
    table = built(
        tmp_path, lines, {"time": ["ms", "lower", "log", 0]}, "18,50,90", scaled=lambda v: float(np.log(v))
    )
    groups = (
        [one for one in people.values() if one[0] < 50],
        [one for one in people.values() if one[0] >= 50],
    )
    assert [row.n for row in table.rows] == [len(group) for group in groups]
    for group in groups:
        logs = np.log([value for _, value in group])
        predicted = sm.OLS(logs, np.ones(len(logs))).fit().get_prediction(np.ones((1, 1)))
        for age, value in group:
            found = standing(table, "glass.both.time", value, ByHand(age))
            assert isinstance(found, Standing)
            t = (np.log(value) - predicted.predicted_mean[0]) / predicted.se_obs[0]
            assert found.percentile == pytest.approx(100 * stats.t.sf(t, len(logs) - 1), abs=1e-6)
            usual = np.exp(predicted.conf_int(obs=True, alpha=0.20)[0])
            assert found.usual_range == pytest.approx(tuple(usual), rel=1e-8)


def test_tinting_times_repeat_as_well_as_a_mixed_model_says() -> None:
    import pandas as pd
    import statsmodels.formula.api as smf

    clear, tinted = (tinting("it", tint) for tint in ("no", "lo"))
    both = sorted(clear.keys() & tinted.keys(), key=int)
    first, second = (np.log([one[who][1] for who in both]) for one in (clear, tinted))
    found = reliability(first, second)
    data = pd.DataFrame(
        {
            "person": both * 2,
            "glass": ["no"] * len(both) + ["lo"] * len(both),
            "time": np.concatenate([first, second]),
        }
    )
    fitted = smf.mixedlm("time ~ glass", data, groups="person").fit(reml=True)
    between = float(fitted.cov_re.iloc[0, 0])
    assert found.icc_3_1.value == pytest.approx(between / (between + fitted.scale), abs=1e-3)
    assert found.sem_consistency.value == pytest.approx(np.sqrt(fitted.scale), rel=1e-3)


# --- sleepstudy and Orthodont: several visits ---


def reactions() -> dict[str, list[float]]:
    by_person: dict[str, list[float]] = {}
    for row in read("sleepstudy.csv"):
        by_person.setdefault(row["Subject"], []).append(float(row["Reaction"]))
    return by_person


def test_slopes_of_sleepstudy_are_those_of_the_mixed_model() -> None:
    # lme4 1.1-31 and statsmodels: fixed effects 251.4051, 10.46729, residual SD 25.5918. In balanced data the
    # fixed slope is the mean of the persons' own.
    import pandas as pd
    import statsmodels.formula.api as smf

    values = np.array(list(reactions().values()))
    found, error = slope(np.arange(10), values, 25.5918)
    assert float(found.mean()) == pytest.approx(10.46729, abs=1e-5)
    assert float(error) == pytest.approx(25.5918 / np.sqrt(82.5))
    data = pd.DataFrame(read("sleepstudy.csv")).astype({"Days": float, "Reaction": float})
    fitted = smf.mixedlm("Reaction ~ Days", data, groups="Subject", re_formula="~Days").fit(reml=True)
    assert fitted.fe_params.to_numpy() == pytest.approx([251.4051, 10.46729], abs=1e-3)
    assert np.sqrt(fitted.scale) == pytest.approx(25.5918, abs=0.01)
    spread = found.var(ddof=1) - float(error) ** 2  # variance of true slopes, balanced data
    assert np.sqrt(spread) == pytest.approx(5.9221, abs=1e-3)


def test_people_without_sleep_leave_their_series_limits(tmp_path: Path) -> None:
    people = reactions()
    lines: list[Line] = [
        (f"a{who}", 1, "reference", 30, 0, "signal.both.time", values[0]) for who, values in people.items()
    ]
    lines += [
        (f"{pair}{who}", visit, "retest", 30, visit - 1, "signal.both.time", values[2 * k + visit - 1])
        for k, pair in enumerate("bc")
        for who, values in people.items()
        for visit in (1, 2)
    ]
    table = built(tmp_path, lines, {"time": ["ms", "lower", "identity", 0]}, "18,60")
    study = table.retest[0]
    assert study.n == 36
    left = 0
    for values in people.values():
        found = series(
            table, "signal.both.time", [Occasion(value, ByHand(30.02)) for value in values], list(range(10))
        )
        assert isinstance(found, Series) and found.n_comparisons == 9 and found.slope is not None
        row = table.rows[0]
        z = -(np.array(values) - row.mean) / row.sd - np.array([0] + [study.mean_2 - study.mean_1] * 9)
        line = stats.linregress(np.arange(10) / 365.25, z)
        assert found.slope.z_per_year == pytest.approx(line.slope)
        left += any(one.side == "below" for one in found.comparisons)  # type: ignore[union-attr]
    # Of 18; 12 and more where the limits need hold under compound symmetry only, not under AR(1) too.
    assert left >= 7


def test_slopes_of_orthodont_are_those_of_the_mixed_model() -> None:
    # R nlme: slope .660185; random intercept: residual SD 1.431592 (statsmodels below agrees).
    import pandas as pd
    import statsmodels.formula.api as smf

    rows = read("orthodont.csv")
    people: dict[str, list[float]] = {}
    for row in rows:
        people.setdefault(row["Subject"], []).append(float(row["distance"]))
    values = np.array(list(people.values()))
    found, _ = slope([8, 10, 12, 14], values, 1.431592)
    assert float(found.mean()) == pytest.approx(0.660185, abs=1e-6)
    data = pd.DataFrame(rows).astype({"age": float, "distance": float})
    fitted = smf.mixedlm("distance ~ age", data, groups="Subject").fit(reml=True)
    assert fitted.fe_params["age"] == pytest.approx(0.660185, abs=1e-5)
    assert np.sqrt(fitted.scale) == pytest.approx(1.431592, abs=1e-4)
    by_visit = smf.mixedlm("distance ~ C(age)", data, groups="Subject").fit(reml=True)
    between = float(by_visit.cov_re.iloc[0, 0])
    assert icc_consistency(mean_squares(values)).value == pytest.approx(
        between / (between + by_visit.scale), abs=1e-4
    )


def test_an_expected_value_of_vocabulary_grows_with_practice() -> None:
    first, second = (
        np.array([float(row[grade]) for row in read("vocabulary.csv")]) for grade in ("grade8", "grade9")
    )
    expected, _ = regression(first.mean(), summary(first, second))
    assert float(expected) == pytest.approx(second.mean())
