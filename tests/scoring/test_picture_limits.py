"""The limits of what was seen are set by what they do to a score: at most .1 SD of the reference group.

The simulated hands that jump with the picture are an upper bound (tests/benchmarks/picture_consequences.py).
"""

import pytest

from kiosk.scoring.validity import MOST_ADDED_AGE_MS, MOST_STANDSTILL_MS
from tests.benchmarks.picture_consequences import even, late, moved, of_pictures, standstill

HANDS = 2  # of each age


@pytest.mark.parametrize("pictures", [standstill(MOST_STANDSTILL_MS), late(15, 2), late(4.6, 6)],
                         ids=["longest standstill", "many a little late", "some much later"])
def test_pictures_at_the_limit_move_no_primary_score_by_more_than_a_tenth_of_an_sd(pictures):
    longest_ms, older_ms = of_pictures(pictures)
    assert longest_ms <= MOST_STANDSTILL_MS + 1 and older_ms <= MOST_ADDED_AGE_MS + 0.05
    assert max(abs(value) for value in moved(pictures, HANDS).values()) <= 0.1


@pytest.mark.parametrize("pictures", [standstill(1.6 * MOST_STANDSTILL_MS), late(20, 6), even(30.0)],
                         ids=["standstill", "late", "half as many"])
def test_pictures_well_beyond_the_limits_do(pictures):
    longest_ms, older_ms = of_pictures(pictures)
    assert longest_ms > MOST_STANDSTILL_MS or older_ms > MOST_ADDED_AGE_MS
    assert max(abs(value) for value in moved(pictures, HANDS).values()) > 0.1


def test_sixty_even_pictures_a_second_move_nothing():
    assert set(moved(even(), 1).values()) == {0.0}
