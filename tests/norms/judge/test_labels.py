"""Labels, standard scores and printed percentiles never contradict each other."""

import numpy as np
import pytest
from scipy.stats import t as student

from norms.judge.labels import (
    LABEL_EDGES_Z,
    LABELS,
    label_of,
    printed_bound,
    printed_in_label,
    standard_score,
)
from norms.judge.single_case import z_star_of
from norms.table.table import Measure

# Guilmette et al. (2020), doi 10.1080/13854046.2020.1722244: label, standard scores, percentiles (from, to).
PUBLISHED = [
    ("Exceptionally high", 130, 999, 98, 100),
    ("Above average", 120, 129, 91, 97),
    ("High average", 110, 119, 75, 90),
    ("Average", 90, 109, 25, 74),
    ("Low average", 80, 89, 9, 24),
    ("Below average", 70, 79, 2, 8),
    ("Exceptionally low", -999, 69, 0, 1.999),
]
SCATTER = Measure("steady.preferred.scatter", "mm", "lower", "log", 1)
ON_TARGET = Measure("steady.preferred.time_on_target", "%", "higher", "logit", 0)


def published(score: int) -> tuple[str, float, float]:
    row = next(row for row in PUBLISHED if row[1] <= score <= row[2])
    return row[0], row[3], row[4]


@pytest.mark.parametrize("n", [30, 38, 50, 84, 100, 300, 1000])
def test_label_score_and_whole_percentile_lie_in_one_published_row_for_every_z(n: int) -> None:
    for z in np.arange(-4, 4.0001, 0.002):
        percentile = 100 * student.cdf(z / np.sqrt(1 + 1 / n), n - 1)
        z_star = float(z_star_of(z, n, n - 1))
        score = standard_score(z_star)
        label, lowest, highest = published(score)
        printed = printed_in_label(percentile, score)
        assert label_of(SCATTER, score) == label
        assert lowest <= printed.number <= highest
        assert abs(printed.number - percentile) <= 1.4
        assert abs(score - (100 + 15 * z_star)) <= 0.5 + 1e-9


def test_the_label_changes_at_each_public_edge_and_nowhere_else() -> None:
    rows = sorted(PUBLISHED, key=lambda row: row[1])
    assert pytest.approx([(row[1] - 100.5) / 15 for row in rows[1:]], abs=1e-15) == LABEL_EDGES_Z
    for edge, below, above in zip(LABEL_EDGES_Z, rows[:-1], rows[1:], strict=True):
        assert label_of(SCATTER, standard_score(edge - 1e-6)) == below[0]
        assert label_of(SCATTER, standard_score(edge)) == above[0]


@pytest.mark.parametrize(
    ("z_star", "score", "label"),
    [
        # The exact edges: half a point of the standard score, (edge - 100) / 15, rounded away from zero.
        (-30.5 / 15, 70, "Below average"),
        (-30.5001 / 15, 69, "Exceptionally low"),
        (-20.5 / 15, 80, "Low average"),
        (-20.5001 / 15, 79, "Below average"),
        (-10.5 / 15, 90, "Average"),
        (-10.5001 / 15, 89, "Low average"),
        (9.5 / 15, 110, "High average"),
        (9.4999 / 15, 109, "Average"),
        (19.5 / 15, 120, "Above average"),
        (19.4999 / 15, 119, "High average"),
        (29.5 / 15, 130, "Exceptionally high"),
        (29.4999 / 15, 129, "Above average"),
        (-29.5 / 15, 71, "Below average"),
        (10.5 / 15, 111, "High average"),
        (-100.5 / 15, -1, "Exceptionally low"),
    ],
)
def test_the_label_changes_at_half_a_point_of_the_standard_score(
    z_star: float, score: int, label: str
) -> None:
    assert standard_score(z_star) == score
    assert label_of(SCATTER, score) == label


@pytest.mark.parametrize(
    ("z", "score", "percentile"),
    [
        # Definitions: standard score 100 + 15 z, percentile 100 Phi(z).
        (-2.326, 65.11, 1.0009),
        (-2, 70, 2.275),
        (-1.645, 75.325, 4.9985),
        (-1, 85, 15.8655),
        (0, 100, 50.0),
        (1, 115, 84.1345),
        (2, 130, 97.725),
    ],
)
def test_standard_score_and_percentile_follow_their_definitions(
    z: float, score: float, percentile: float
) -> None:
    assert standard_score(z) == int(np.floor(score + 0.5))
    assert 100 * student.cdf(z, 1e9) == pytest.approx(percentile, abs=1e-3)
    assert float(z_star_of(z, 1e12, 1e9)) == pytest.approx(z, abs=1e-6)


@pytest.mark.parametrize(
    ("percentile", "sign", "number", "decimals"),
    [
        (0.001, "<", 0.1, 1),
        (0.04, "<", 0.1, 1),
        (0.06, "", 0.1, 1),
        (0.94, "", 0.9, 1),
        (0.96, "", 1, 0),
        (1.4, "", 1, 0),
        (50.5, "", 51, 0),
        (98.9, "", 99, 0),
        (99.04, "", 99, 0),
        (99.1, "", 99.1, 1),
        (99.94, "", 99.9, 1),
        (99.96, ">", 99.9, 1),
        (100.0, ">", 99.9, 1),
    ],
)
def test_far_percentiles_have_one_decimal_and_then_a_sign_and_are_never_0_or_100(
    percentile: float, sign: str, number: float, decimals: int
) -> None:
    assert printed_bound(percentile) == (sign, number, decimals)


def test_measures_that_are_not_normal_stop_at_within_normal_limits() -> None:
    # Guilmette et al. (2020): above percentile 24 one word; below, the common ones.
    words = [label_of(ON_TARGET, score) for score in (60, 75, 85, 95, 125, 140)]
    assert words == ["Exceptionally low", "Below average", "Low average", *["Within normal limits"] * 3]


def test_a_lag_further_ahead_than_most_and_a_measure_without_direction_have_no_label() -> None:
    assert label_of(SCATTER, 125, further_ahead=True) is None
    assert label_of(Measure("steady.both.offset_x", "mm", "neither", "identity", 1), 60) is None


def test_the_labels_are_the_published_set_and_no_other_word() -> None:
    assert set(LABELS) == {row[0] for row in PUBLISHED} | {"Within normal limits"}
