"""Numbers as people read them."""

from statistics import NormalDist

import pytest

from kiosk.wording.units import (
    amount,
    behind,
    days_apart,
    in_table,
    measured,
    people_in_100,
    percentile,
    span,
)
from norms import PrintedPercentile, printed_percentile
from tests.wording.page_samples import english, standing

LAG, SCATTER = "circles.preferred.lag", "steady.preferred.scatter"
ENGLISH = english()


@pytest.mark.parametrize(
    ("value_ms", "said"),
    [(301.7, "302 ms behind"), (-12.4, "12 ms ahead"), (0.4, "0 ms"), (-0.4, "0 ms"), (0.5, "1 ms behind")],
)
def test_a_lag_is_behind_or_ahead_of_the_disc(value_ms, said):
    assert behind(value_ms, ENGLISH) == said


def test_millimetres_have_one_decimal_and_percent_none():
    assert amount(5.25, "mm", ENGLISH) == "5.3 mm"
    assert amount(96.5, "%", ENGLISH) == "97\N{NO-BREAK SPACE}%"
    assert measured(SCATTER, 11.61, "mm", ENGLISH) == "11.6 mm"


def test_an_unknown_unit_is_refused():
    with pytest.raises(ValueError, match="furlong"):
        amount(1.0, "furlong", ENGLISH)


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (179.0, 285.0, "179–285"),
        (-12.0, 60.0, "12 ahead to 60 behind"),
        (-60.0, -12.0, "60–12 ahead"),
        (-0.3, 60.0, "0–60"),
    ],
)
def test_a_range_of_lags_that_crosses_the_disc_says_so(low, high, said):
    assert span(LAG, (low, high), "ms", ENGLISH) == said


def test_in_a_table_only_what_is_ahead_is_told_in_words():
    assert in_table(LAG, 105.2, "ms", ENGLISH) == "105 ms"
    assert in_table(LAG, -8.0, "ms", ENGLISH) == "8 ms ahead"


@pytest.mark.parametrize(
    ("printed", "said"),
    [
        (PrintedPercentile("", 7, 0), "7"),
        (PrintedPercentile("", 0.4, 1), "0.4"),
        (PrintedPercentile("<", 0.1, 1), "<0.1"),
        (PrintedPercentile(">", 99.9, 1), ">99.9"),
    ],
)
def test_a_percentile_is_a_bare_number(printed, said):
    assert percentile(printed, ENGLISH) == said


# Published ranges of whole percentiles: <2, 2-8, 9-24, 25-74, 75-90, 91-97, >=98 (Guilmette et al. 2020).
RANGES = {
    "Exceptionally low": (0, 1.99),
    "Below average": (2, 8),
    "Low average": (9, 24),
    "Average": (25, 74),
    "High average": (75, 90),
    "Above average": (91, 97),
    "Exceptionally high": (98, 100),
}


def test_the_percentile_that_is_said_lies_in_the_range_of_the_label_that_is_said():
    for step in range(-400, 401, 3):
        z = step / 100
        one = standing(SCATTER, z, percentile=100 * NormalDist().cdf(z))
        said = float(percentile(printed_percentile(one), ENGLISH).strip("<>"))
        low, high = RANGES[one.label]
        assert low <= said <= high, (z, said, one.label)


@pytest.mark.parametrize(
    ("days", "said"),
    [(0.1319, "3 h 10 min"), (12.2, "12 days"), (1.0, "1 day"), (243.0, "8 months"), (1000.0, "2.7 years")],
)
def test_an_interval_is_told_in_the_largest_unit_that_suits(days, said):
    assert days_apart(days, ENGLISH) == said


@pytest.mark.parametrize(("chance", "said"), [(12.7, "13"), (0.31, "1"), (99.7, "99")])
def test_a_chance_is_told_as_people_in_a_hundred(chance, said):
    assert people_in_100(chance, ENGLISH) == said
