"""Five crosses touched: offsets, and what kind of mismatch they betray. Millimetres; limits are our own."""

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.touch.cross_check import CROSSES_MM, check_crosses

CROSSES = np.array(CROSSES_MM)


def check(touches):
    return check_crosses([tuple(touch) for touch in touches])


def codes(found):
    return [reason.code for reason in found.reasons]


def test_touches_on_the_crosses_pass():
    found = check(CROSSES)
    assert (found.verdict, found.reasons, found.worst_mm, found.sd_mm) == ("pass", (), 0.0, 0.0)


def test_the_figures_are_those_of_the_offsets_worked_by_hand():
    """Offsets (3,0) (0,4) (0,0) (0,0) (2,1): mean (1,1); squares of the rest 5+10+2+2+1 = 20, / 4 = 5."""
    found = check(CROSSES + np.array([[3, 0], [0, 4], [0, 0], [0, 0], [2, 1]]))
    assert (found.mean_x_mm, found.mean_y_mm) == (1.0, 1.0)
    assert found.mean_mm == pytest.approx(2**0.5) and found.sd_mm == pytest.approx(5**0.5)
    assert found.worst_mm == 4.0
    assert found.x_mm.tolist() == [3, 0, 0, 0, 2] and found.y_mm.tolist() == [0, 4, 0, 0, 1]


def test_the_small_even_shift_of_a_fingertip_passes():
    assert check(CROSSES + np.array([1.5, -2.5])).verdict == "pass"


@pytest.mark.parametrize(("shift", "verdict", "expected"), [
    ([4.5, 0.0], "warn", ["touches_shifted"]),
    ([0.0, -6.5], "warn", ["touch_beside_cross", "touches_shifted"]),
    ([0.0, 12.0], "warn", ["touch_beside_cross", "touches_shifted"]),
    ([0.0, 12.1], "refuse", ["touch_off_cross", "touches_shifted"])])
def test_a_touch_layer_that_is_shifted_is_found(shift, verdict, expected):
    found = check(CROSSES + np.array(shift))
    assert (found.verdict, codes(found)) == (verdict, expected)
    assert found.stretch_x_percent == pytest.approx(0.0) and found.sd_mm == pytest.approx(0.0)


def test_a_touch_layer_stretched_by_five_percent_warns_though_every_touch_is_near():
    found = check(CROSSES * [1.05, 1.0])
    assert found.stretch_x_percent == pytest.approx(5.0) and found.stretch_y_percent == pytest.approx(0.0)
    assert found.worst_mm == pytest.approx(3.0)
    assert (found.verdict, codes(found)) == ("warn", ["touches_stretched"])


@pytest.mark.parametrize("map_of", [
    [[-1, 0], [0, 1]], [[1, 0], [0, -1]], [[0, 1], [1, 0]], [[0, -1], [1, 0]], [[0.75, 0], [0, 1]]],
    ids=["mirrored across", "upside down", "axes swapped", "turned", "a quarter too small"])
def test_a_touch_layer_that_is_mirrored_turned_or_of_another_size_is_refused(map_of):
    assert check(CROSSES @ np.array(map_of)).verdict == "refuse"


def test_unsteady_touches_warn():
    found = check(CROSSES + np.array([[4, 0], [-4, 0], [0, 4], [0, -4], [0, 0]]))
    assert "touches_scattered" in codes(found) and found.verdict == "warn"


def test_a_finger_s_own_scatter_of_one_millimetre_seldom_warns():
    rng = np.random.default_rng(3)
    verdicts = [check(CROSSES + rng.normal(0.0, 1.0, (5, 2))).verdict for _ in range(500)]
    assert verdicts.count("pass") >= 495


@pytest.mark.parametrize("count", [0, 4, 6])
def test_each_cross_is_touched_once(count):
    with pytest.raises(Refused) as refused:
        check_crosses([(0.0, 0.0)] * count)
    assert (refused.value.code, refused.value.values["touched"]) == ("cross_not_touched", count)


def test_a_place_that_is_no_number_is_an_error():
    with pytest.raises(ValueError, match="touches_mm must be finite"):
        check(CROSSES * np.nan)
