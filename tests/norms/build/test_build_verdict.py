"""The verdict on a built table: usable, with caution, not yet, with numbers a site lead can act on."""

import json
from pathlib import Path

import numpy as np
import pytest

from norms.__main__ import main
from norms.build.build import Built, build_table
from norms.build.fit_checks import fifth_range, quantile_pairs
from norms.build.recruiting import total
from norms.build.template import template
from norms.build.verdict import CAUTION, NOT_YET, USABLE
from tests.norms.sample_people import ONE, SIX, as_csv, even_ages, lines, sample_of

CREATED = "2026-07-11T09:00:00Z"
TOLD = {
    "reference_table": {
        "population": "invented",
        "country": "none",
        "setting": "none",
        "sampling": "invented",
        "exclusions": "none",
        "retest_design": {
            "people": "no change of health or medication",
            "interval": "half a year, as between visits",
            "blinding": "staff did not see the first scores",
        },
    }
}
Row = list[object]


def built(rows: list[Row], **said: object) -> Built:
    return build_table(sample_of(rows), template({**TOLD, **said}, CREATED))


def volunteers(n: int, seed: int = 1, pairs: int = 60) -> list[Row]:
    return [
        *lines(even_ages(n, seed=seed), seed, SIX),
        *lines(even_ages(pairs, 22, 78, seed + 1), seed + 1, SIX, "retest", first=5000),
    ]


def test_twelve_people_are_not_yet_with_how_many_more_of_what_age() -> None:
    made = built(lines(np.linspace(21, 79, 12), 1, SIX))
    assert made.verdict.word == NOT_YET and made.files == {} and made.table is None
    assert "12 people of 21 to 79 years are worth" in made.verdict.reasons[0]
    # An end of N even ages is worth N / 9: 270 people, 1.2 times as many for safety, 12 are there.
    assert total(made.verdict.more) == pytest.approx(1.2 * 270 - 12, abs=25)
    assert all(one.people > 0 for one in made.verdict.more)
    assert [round(one.age_from) for one in made.verdict.more] == [21, 40, 60]


def test_twelve_people_at_the_command_are_refused_with_numbers_and_no_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sample.csv").write_bytes(as_csv(lines(np.linspace(21, 79, 12), 1, SIX)))
    assert main(["build", str(tmp_path / "sample.csv"), "--out", str(tmp_path / "out")]) == 1
    said = capsys.readouterr().out
    assert "Verdict: not yet." in said and "more people make every age as good as 30:" in said
    assert not (tmp_path / "out").exists()


def test_the_people_asked_for_bring_the_table_to_its_floor() -> None:
    """The advice followed: twelve, then those asked for, evenly over each third."""
    few = lines(np.linspace(21, 79, 12), 1, SIX)
    more = built(few).verdict.more
    ages = np.concatenate([even_ages(one.people, one.age_from, one.age_to, 3) for one in more])
    made = built([*few, *lines(ages, 4, SIX, first=100)])
    assert made.verdict.word != NOT_YET and made.table is not None
    rows = made.table.rows_of_measure
    assert np.median([min(row.n_mean or 0 for row in rows[name]) for name in SIX]) >= 0.85 * 30


def test_refits_that_find_less_than_the_ages_promise_are_not_yet_too() -> None:
    """70 people are worth 30 in the middle by their ages; drawn anew, at fewer than half of the ages."""
    made = built(lines(even_ages(70, seed=70), 70))
    assert made.verdict.word == NOT_YET and made.files == {} and made.table is None
    assert len(made.verdict.checks) == 1 and "at the least 6" in made.verdict.reasons[0]


def test_few_people_bend_no_curve() -> None:
    """82 people of whom chance makes a wave: a cubic in pieces would be worth 2 people at the ends."""
    made = built(lines(even_ages(82, seed=82), 82))
    assert made.book[ONE[0]][0].n_mean is not None and made.book[ONE[0]][0].n_mean.min() > 3.5


def test_people_of_one_age_are_not_yet() -> None:
    made = built(lines([50.0 + place / 1000 for place in range(100)], 1))
    assert made.verdict.word == NOT_YET and "between the youngest and the oldest" in made.verdict.reasons[0]


def test_six_hundred_with_a_study_are_usable() -> None:
    made = built(volunteers(700, pairs=80))
    assert made.verdict.word == USABLE, made.verdict.reasons
    assert made.verdict.more == ()


@pytest.mark.parametrize(
    ("n", "pairs", "told"),
    [
        (330, 60, "as good as fewer than 50 people"),
        (700, 30, "fewer than 50 pairs"),
        (700, 0, "at the least 0"),
    ],
)
def test_fewer_people_or_pairs_are_usable_with_caution(n: int, pairs: int, told: str) -> None:
    made = built(volunteers(n, 3, pairs))
    assert made.verdict.word == CAUTION and any(told in reason for reason in made.verdict.reasons)
    assert (total(made.verdict.more) > 0) == (n < 400)


def test_a_table_that_does_not_say_who_was_tested_is_usable_with_caution_only() -> None:
    made = build_table(sample_of(volunteers(700, pairs=80)), template({}, CREATED))
    assert made.verdict.word == CAUTION
    assert made.verdict.reasons == (
        "the table does not say: population, country, setting, sampling, exclusions, retest people, "
        "retest interval, retest blinding",
    )
    assert made.table is not None and made.table.not_stated[-3:] == (
        "retest_people",
        "retest_interval",
        "retest_blinding",
    )


@pytest.mark.parametrize("missing", ["people", "interval", "blinding"])
def test_a_retest_design_that_is_not_stated_allows_caution_at_most_and_is_named(missing: str) -> None:
    """COSMIN Risk of Bias tool (Mokkink et al. 2020), reliability: stable people, interval, blinding."""
    reference = dict(TOLD["reference_table"])
    reference["retest_design"] = {**reference["retest_design"], missing: " Unknown "}  # type: ignore[dict-item]
    made = built(volunteers(700, pairs=80), reference_table=reference)
    assert made.verdict.word == CAUTION
    assert made.verdict.reasons == (f"the table does not say: retest {missing}",)
    del reference["retest_design"][missing]  # type: ignore[attr-defined]
    assert built(volunteers(700, pairs=80), reference_table=reference).verdict.word == CAUTION


def test_simulated_people_have_no_retest_design_to_state() -> None:
    said = {**TOLD["reference_table"], "status": "synthetic", "retest_design": {}}
    made = built(volunteers(700, pairs=80), reference_table=said)
    assert made.table is not None and made.table.not_stated == ()


def test_a_gap_in_the_ages_is_named() -> None:
    ages = np.concatenate([even_ages(300, 20, 40, 1), even_ages(300, 55, 80, 2)])
    reasons = built(lines(ages, 3)).verdict.reasons
    assert any("nobody between 40 and 55 years" in reason for reason in reasons)


def test_measures_of_too_few_people_are_left_out_by_name() -> None:
    rows = [row for row in volunteers(500) if row[13] != SIX[5] or int(str(row[0])[1:]) < 20]
    made = built(rows)
    assert made.verdict.thin == {SIX[5]: 20} and made.table is not None
    assert SIX[5] not in made.table.measure_by_name
    assert any(f"{SIX[5]} is left out: 20 people" in reason for reason in made.verdict.reasons)


def test_a_curve_that_misses_its_people_is_seen_by_age_third() -> None:
    """Sabotage: people of 60 and more score a whole SD poorer than the bands' curve may bend."""
    rows = lines(even_ages(600, seed=5), 5)
    ages = np.array([float(str(row[4])) for row in rows])
    for row, age in zip(rows, ages, strict=True):
        shifted = float(str(row[15])) + (0.5 if 48 < age < 52 else 0.0)
        row[14], row[15] = repr(float(np.exp(shifted))), repr(shifted)
    made = built(rows, method="smoothed_bands", bands=[20, 40, 60, 80])
    assert any("does not fit everywhere" in reason for reason in made.verdict.reasons), made.verdict.reasons
    fine = built(
        lines(even_ages(600, seed=5), 5), method="smoothed_bands", bands=[20, 30, 40, 50, 60, 70, 80]
    )
    assert not any("does not fit everywhere" in reason for reason in fine.verdict.reasons)


def test_the_fifth_percentile_is_as_sure_as_the_size_of_the_sample_allows() -> None:
    """95 % ranges around a true 5th percentile by the normal model, as recomputed in the design papers."""
    for n, low, high in (
        (30, 1.4, 13.7),
        (50, 1.9, 11.1),
        (70, 2.3, 9.9),
        (100, 2.6, 8.9),
        (200, 3.2, 7.6),
        (400, 3.6, 6.7),
        (1000, 4.1, 6.1),
    ):
        assert fifth_range(n, n) == pytest.approx((low, high), abs=0.11)


def test_quantiles_of_a_normal_sample_lie_along_the_line() -> None:
    from scipy.stats import probplot

    z = np.random.default_rng(1).standard_normal(200)
    normal, ordered = quantile_pairs(z)
    (theirs, same), _ = probplot(z)
    assert ordered == pytest.approx(same) and normal == pytest.approx(theirs, abs=0.04)


def test_the_folder_comes_with_its_checks_sheet_and_pictures(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sample.csv").write_bytes(as_csv(volunteers(400)))
    (tmp_path / "say.json").write_text(json.dumps({**TOLD, "name": "harbour"}))
    assert (
        main(
            [
                "build",
                str(tmp_path / "sample.csv"),
                "--out",
                str(tmp_path / "out"),
                "--template",
                str(tmp_path / "say.json"),
            ]
        )
        == 0
    )
    assert "Verdict: usable" in capsys.readouterr().out
    checks = tmp_path / "out" / "checks"
    names = {path.name for path in checks.iterdir()}
    assert {"sheet.txt", "checks.json", f"{ONE[0]}-sample.svg", f"{ONE[0]}-quantiles.svg"} <= names
    sheet = (checks / "sheet.txt").read_text()
    assert all(
        word in sheet
        for word in (
            "Reference table harbour",
            "400 people",
            "EFPA grade",
            "sha256",
            "5th may be",
            "200 refits",
            "Left out",
            *SIX,
        )
    )
    told = json.loads((checks / "checks.json").read_text())
    assert told["people"] == 400 and len(told["checks"][0]["parts"]) == 4
    picture = (checks / f"{ONE[0]}-sample.svg").read_text()
    assert picture.count("<circle") == 400 and picture.count("<polyline") == 7
    assert main(["check", str(tmp_path / "out")]) == 0


def test_the_questions_of_a_clinic_are_a_template_it_can_fill_in(tmp_path: Path) -> None:
    asked = tmp_path / "q.json"
    assert main(["build", "none.csv", "--out", str(tmp_path / "out"), "--questions", str(asked)]) == 0
    said = json.loads(asked.read_text())
    said["reference_table"] |= {"tested_from": "2026-01-01", "tested_to": "2026-06-30"}
    filled = template(said, CREATED)
    assert filled.reference["tested_to"] == "2026-06-30" and filled.method == "continuous"
