"""Reliability of pairs, against the published examples."""

import json
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from scipy import stats

from norms import TableFaults, reliability
from norms.__main__ import main
from norms.worth.reliability import (
    Estimate,
    MeanSquares,
    averaged,
    bland_altman,
    fisher,
    icc_agreement,
    icc_consistency,
    mean_squares,
    read_repeats,
    sem_agreement,
    sem_consistency,
    word_of,
)

RATINGS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
WRIGHT_AGAIN = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
MINI_AGAIN = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443]


def three(found: Estimate) -> tuple[float, float, float]:
    return found.value, found.low, found.high


# --- laws ---


def test_unit_and_origin_change_nothing_but_the_unit() -> None:
    one = reliability(WRIGHT, WRIGHT_AGAIN)
    other = reliability(np.multiply(WRIGHT, 0.1) + 3, np.multiply(WRIGHT_AGAIN, 0.1) + 3)
    for name in ("r", "icc_2_1", "icc_3_1"):
        assert three(getattr(other, name)) == pytest.approx(three(getattr(one, name)))
    for name in ("sem_consistency", "sem_agreement", "mdc_95_agreement", "bias", "agreement_lower"):
        assert three(getattr(other, name)) == pytest.approx(np.multiply(three(getattr(one, name)), 0.1))


def test_a_shift_of_the_second_visit_is_error_of_agreement_only() -> None:
    one, other = reliability(WRIGHT, WRIGHT_AGAIN), reliability(WRIGHT, np.add(WRIGHT_AGAIN, 60))
    assert three(other.icc_3_1) == pytest.approx(three(one.icc_3_1))
    assert other.sem_consistency == pytest.approx(one.sem_consistency) or three(
        other.sem_consistency
    ) == pytest.approx(three(one.sem_consistency))
    assert other.icc_2_1.value < one.icc_2_1.value and other.sem_agreement.value > one.sem_agreement.value


def test_the_order_of_people_changes_nothing() -> None:
    order = np.random.default_rng(3).permutation(len(WRIGHT))
    one, other = reliability(WRIGHT, MINI), reliability(np.take(WRIGHT, order), np.take(MINI, order))
    assert three(one.icc_2_1) == pytest.approx(three(other.icc_2_1))
    assert three(one.agreement_upper) == pytest.approx(three(other.agreement_upper))


def test_every_interval_holds_its_number() -> None:
    found = reliability(WRIGHT, MINI)
    for name in (
        "r",
        "icc_2_1",
        "icc_3_1",
        "sem_consistency",
        "sem_agreement",
        "mdc_95_consistency",
        "mdc_95_agreement",
        "bias",
        "agreement_lower",
        "agreement_upper",
    ):
        one = getattr(found, name)
        assert one.low < one.value < one.high


def test_intervals_cover_95_in_100() -> None:
    """30 people twice, true ICC .8, 4,000 samples (SE .34), through the project's own functions."""
    rng, draws, n, icc = np.random.default_rng(20_261_130), 4_000, 30, 0.8
    true = np.sqrt(icc) * rng.standard_normal((draws, n, 1))
    pairs = true + np.sqrt(1 - icc) * rng.standard_normal((draws, n, 2))
    hits = {"r": 0, "icc": 0, "sem": 0, "sem_agreement": 0, "upper": 0}
    for sample in pairs:
        squares = mean_squares(sample)
        upper = bland_altman(sample[:, 1] - sample[:, 0])[2]
        for name, found, truth in (
            ("r", fisher(float(np.corrcoef(sample.T)[0, 1]), n), icc),
            ("icc", icc_consistency(squares), icc),
            ("sem", sem_consistency(squares), (1 - icc) ** 0.5),
            ("sem_agreement", sem_agreement(squares), (1 - icc) ** 0.5),
            ("upper", upper, 1.96 * (2 * (1 - icc)) ** 0.5),
        ):
            hits[name] += found.low <= truth <= found.high
    rates = {name: 100 * count / draws for name, count in hits.items()}
    print(f"coverage of 95 % intervals, seed 20261130, {draws} draws (SE .34): {rates}")
    assert all(rate == pytest.approx(95, abs=1.2) for rate in rates.values()), rates


# --- published and recomputed numbers ---


def test_mean_squares_and_both_coefficients_of_shrout_and_fleiss() -> None:
    # Shrout & Fleiss (1979), table 2: BMS 11.24, JMS 32.49, WMS 6.26, EMS 1.02; ICC(2,1) .29, ICC(3,1) .71.
    squares = mean_squares(RATINGS)
    assert squares == pytest.approx(MeanSquares(6, 4, 11.241667, 32.486111, 1.019444, 6.263889), abs=1e-6)
    # Intervals .019 to .761 and .342 to .946: those of the R package psych for these data, from memory.
    assert three(icc_agreement(squares)) == pytest.approx((0.289764, 0.019, 0.761), abs=6e-4)
    assert three(icc_consistency(squares)) == pytest.approx((0.714841, 0.342, 0.946), abs=6e-4)
    assert (squares.bms - squares.wms) / (squares.bms + 3 * squares.wms) == pytest.approx(0.165742, abs=1e-6)


def test_the_mean_of_four_ratings_is_as_reliable_as_published() -> None:
    # ICC(2,k) .62 and ICC(3,k) .91 (Shrout & Fleiss 1979); one-way .17 gives ICC(1,k) .44.
    squares = mean_squares(RATINGS)
    found = [
        averaged(icc, 4) for icc in (0.16574182, icc_agreement(squares).value, icc_consistency(squares).value)
    ]
    assert found == pytest.approx([0.442797, 0.620051, 0.909316], abs=1e-6)


def test_the_interval_of_icc_3_1_is_that_of_another_public_worked_output() -> None:
    # R package statpsych, help page of ci.icc: MS 48.2 and 11.3, 5 measurements, n 30 (McGraw & Wong 1996).
    found = icc_consistency(MeanSquares(30, 5, 48.2, 0.0, 11.3, 0.0))
    assert three(found) == pytest.approx((0.3951, 0.2311, 0.5853), abs=5e-5)


def test_errors_of_measurement_of_the_same_ratings() -> None:
    # sqrt(EMS) and sqrt(EMS + (JMS - EMS) / n), recomputed; x 1.96 sqrt 2: 2.80 and 6.94.
    squares = mean_squares(RATINGS)
    found = [sem_consistency(squares).value, sem_agreement(squares).value]
    assert found == pytest.approx([1.009675, 2.502776], abs=2e-4)
    assert [1.96 * 2**0.5 * one for one in found] == pytest.approx([2.798678, 6.937342], abs=2e-4)


def test_the_coefficient_is_that_of_a_mixed_model() -> None:
    import pandas as pd
    import statsmodels.formula.api as smf

    data = pd.DataFrame(
        [(person, judge, value) for person, row in enumerate(RATINGS) for judge, value in enumerate(row)],
        columns=["person", "judge", "value"],
    )
    fitted = smf.mixedlm("value ~ C(judge)", data, groups="person").fit(reml=True)
    between = float(fitted.cov_re.iloc[0, 0])
    assert icc_consistency(mean_squares(RATINGS)).value == pytest.approx(
        between / (between + fitted.scale), abs=2e-4
    )


def test_the_peak_flow_example_of_bland_and_altman() -> None:
    # Bland & Altman (1986): bias -2.1, SD 38.8, limits at 2 SD -79.7 and 75.5, bias -22.0 to 17.8 l/min.
    bias, lower, upper = bland_altman(np.subtract(WRIGHT, MINI), width=2)
    assert three(bias) == pytest.approx((-2.118, -22.05, 17.81), abs=0.005)
    assert (lower.value, upper.value) == pytest.approx((-79.65, 75.41), abs=0.005)
    # Their intervals use SE = sqrt(3 SD^2 / n): -114.3 to -45.1 and 40.9 to 110.1 (from memory); the fuller
    # SE of 1999 is 2 % wider.
    assert (lower.low, lower.high) == pytest.approx((-114.3, -45.1), abs=1.0)
    assert (upper.low, upper.high) == pytest.approx((40.9, 110.1), abs=1.0)
    found = reliability(MINI, WRIGHT)
    assert found.sd_of_differences == pytest.approx(38.765, abs=5e-4)


def test_two_readings_of_the_same_instrument() -> None:
    # The same paper's data; within-person SD 15.3 (published, from memory) and 19.9, the rest recomputed.
    found = reliability(WRIGHT, WRIGHT_AGAIN)
    assert found.within_person_sd == pytest.approx(15.306669, abs=1e-5)
    assert reliability(MINI, MINI_AGAIN).within_person_sd == pytest.approx(19.911, abs=5e-4)
    assert found.r.value == pytest.approx(0.983431, abs=1e-6)
    assert (found.icc_2_1.value, found.icc_3_1.value) == pytest.approx((0.983164, 0.983046), abs=1e-6)
    assert found.sem_consistency.value == pytest.approx(15.361215, abs=1e-5)
    assert found.mdc_95_consistency.value == pytest.approx(1.959964 * 2**0.5 * 15.361215, abs=1e-4)


@pytest.mark.parametrize(
    ("n", "low", "high"),
    [
        (20, 0.5534, 0.9177),
        (30, 0.618, 0.901),
        (50, 0.6711, 0.8820),
        (100, 0.7161, 0.8611),
        (200, 0.7438, 0.8450),
    ],
)
def test_the_interval_of_a_correlation_of_point_8(n: int, low: float, high: float) -> None:
    # Fisher's z, recomputed.
    assert three(fisher(0.8, n)) == pytest.approx((0.8, low, high), abs=6e-4 if n == 30 else 1e-4)


@pytest.mark.parametrize(("r", "k", "known"), [(0.7, 2, 0.823529), (0.7, 3, 0.875), (0.9, 3, 0.964286)])
def test_more_trials_are_more_reliable_by_spearman_and_brown(r: float, k: int, known: float) -> None:
    assert averaged(r, k) == pytest.approx(known, abs=1e-6)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-0.2, 0.49, "poor"),
        (0.4, 0.6, "poor to moderate"),
        (0.5, 0.74, "moderate"),
        (0.75, 0.89, "good"),
        (0.8, 0.95, "good to excellent"),
        (0.91, 0.99, "excellent"),
    ],
)
def test_the_words_of_koo_and_li_go_by_the_interval(low: float, high: float, words: str) -> None:
    # Koo & Li (2016): below .5 poor, .5 to .75 moderate, .75 to .9 good, above .9 excellent.
    assert word_of(Estimate((low + high) / 2, low, high)) == words


# --- files, pictures, refusals ---


def pairs_file(folder: Path, text: str | bytes) -> Path:
    path = folder / "pairs.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


PEAK_FLOW = "person,first,second\n" + "".join(
    f"p{k},{first},{second}\n" for k, (first, second) in enumerate(zip(WRIGHT, WRIGHT_AGAIN, strict=True))
)


def test_the_command_prints_every_number_with_its_interval(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = pairs_file(tmp_path, PEAK_FLOW)
    assert main(["reliability", str(path)]) == 0
    out = capsys.readouterr().out
    assert out.count("95 %: ") == 10 and "ICC(2,1), agreement 0.9832" in out
    assert "excellent (Koo & Li, by the interval)" in out
    assert main(["reliability", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["n"] == 17 and set(found["icc_3_1"]) == {"value", "low", "high"}
    assert found["r"]["value"] == pytest.approx(stats.pearsonr(WRIGHT, WRIGHT_AGAIN).statistic)


def test_the_picture_shows_every_pair_the_bias_and_both_limits(tmp_path: Path) -> None:
    picture = tmp_path / "agreement.svg"
    assert main(["reliability", str(pairs_file(tmp_path, PEAK_FLOW)), "--picture", str(picture)]) == 0
    tree = ElementTree.parse(picture)
    space = "{http" + "://www.w3.org/2000/svg}"
    assert len(tree.findall(f"{space}circle")) == 17 and len(tree.findall(f"{space}polyline")) == 3
    words = " ".join(one.text or "" for one in tree.iter(f"{space}text"))
    assert "bias -4.941" in words and "upper limit" in words and "lower limit" in words


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (b"", "header"),
        ("person,first\na,1\n", "second"),
        ("person,first,second\na,1,2\nb,2,3\nc,3,5\n", "4 persons"),
        ("person,first,second\na,1,2\nb,2,x\nc,3,5\nd,4,4\n", "finite number"),
        ("person,first,second\na,1,2\nb,2,nan\nc,3,5\nd,4,4\n", "finite number"),
        ("person,first,second\na,1,2\na,2,3\nc,3,5\nd,4,4\n", "unique"),
        ("person,first,second\na,1,2\nb,1,3\nc,1,5\nd,1,4\n", "differ"),
        ("person,first,second\na,1,2\nb,2,3\nc,3,4\nd,5,6\n", "differ"),
        ("person,first,second\na,1,2\nb,2,3\nc,3,4\nd,5,6e300\n", "or less"),
        ("person,first,second\n".encode("utf-16"), "UTF-8"),
    ],
)
def test_a_file_that_cannot_carry_a_coefficient_is_refused(
    tmp_path: Path, text: str | bytes, rule: str
) -> None:
    with pytest.raises(TableFaults, match=rule):
        read_repeats("pairs.csv", pairs_file(tmp_path, text).read_bytes())
    assert main(["reliability", str(tmp_path / "pairs.csv")]) == 1


def test_values_that_are_no_pairs_are_refused_by_name_and_rule() -> None:
    for first, second, rule in (
        ([1, 2, 3], [1, 2, 4], "4 or more"),
        ([1, 2, 3, np.nan], [1, 2, 3, 4], "finite"),
        ([1, 1, 1, 1], [1, 2, 3, 4], "differ"),
        ([1, 2, 3, 4], [2, 3, 4, 5], "same"),
    ):
        with pytest.raises(ValueError, match=rule):
            reliability(first, second)
