"""Pixels per millimetre from a card or a ruler.

Source of the card's size: ISO/IEC 7810:2019, ID-1, 85.60 x 53.98 mm. At 96 dpi a card is 324 pixels wide
(85.60 / 25.4 x 96 = 323.5).
"""

import pytest

from kiosk.base.errors import Refused
from kiosk.touch.card_calibration import CardReading, RulerReading, from_card, from_ruler

WINDOW_PX = (1280, 800)
CARD_A = CardReading(85.60 * 5.88, 53.98 * 5.88)


def refused(made):
    with pytest.raises(Refused) as caught:
        made()
    return caught.value.code, dict(caught.value.values)


def test_a_card_on_a_screen_of_96_pixels_an_inch_is_324_pixels_wide():
    measured = from_card([CardReading(324.0, 204.0)] * 2, WINDOW_PX)
    assert measured.calibration.px_per_mm_x == pytest.approx(96 / 25.4, rel=0.002)
    assert measured.calibration.px_per_mm_y == pytest.approx(96 / 25.4, rel=0.002)


def test_each_axis_is_the_mean_of_its_two_rounds_and_all_readings_are_kept():
    measured = from_card([CardReading(500.0, 320.0), CardReading(504.0, 322.0)], WINDOW_PX)
    assert measured.calibration.px_per_mm_x == pytest.approx(502.0 / 85.60)
    assert measured.calibration.px_per_mm_y == pytest.approx(321.0 / 53.98)
    assert (measured.method, measured.readings) == ("card", (500.0, 320.0, 504.0, 322.0))
    calibration = measured.calibration
    assert (calibration.window_width_px, calibration.window_height_px) == WINDOW_PX


def test_the_axes_are_found_apart_where_the_resolution_is_not_the_panel_s_own():
    calibration = from_card([CardReading(85.60 * 6.0, 53.98 * 5.4)] * 2, WINDOW_PX).calibration
    assert (calibration.px_per_mm_x, calibration.px_per_mm_y) == pytest.approx((6.0, 5.4))


@pytest.mark.parametrize(("second", "fits"), [(500.0, True), (504.99, True), (505.1, False), (494.9, False)])
def test_the_two_rounds_must_agree_within_one_percent(second, fits):
    rounds = [CardReading(500.0, 315.0), CardReading(second, 315.0)]
    if fits:
        from_card(rounds, WINDOW_PX)
    else:
        code, values = refused(lambda: from_card(rounds, WINDOW_PX))
        assert code == "calibration_readings_differ"
        assert values["differ_percent"] == pytest.approx(100 * abs(500 - second) / ((500 + second) / 2))
        assert values["most_percent"] == 1.0


def test_exactly_one_percent_is_within():
    from_card([CardReading(99.5 * 5, 315.0), CardReading(100.5 * 5, 315.0)], WINDOW_PX)


def test_rounds_that_differ_in_height_only_are_refused_too():
    code, _ = refused(lambda: from_card([CardReading(500.0, 315.0), CardReading(500.0, 330.0)], WINDOW_PX))
    assert code == "calibration_readings_differ"


def test_a_card_laid_the_wrong_way_round_is_refused():
    turned = CardReading(53.98 * 5.88, 85.60 * 5.88)
    assert refused(lambda: from_card([turned, turned], WINDOW_PX))[0] == "pixels_stretched"


@pytest.mark.parametrize("scale", [0.0, -1.0, 0.4, 5.0, float("nan"), float("inf")])
def test_a_density_that_no_tablet_has_is_refused(scale):
    reading = CardReading(CARD_A.width_px * scale, CARD_A.height_px * scale)
    assert refused(lambda: from_card([reading, reading], WINDOW_PX))[0] == "pixel_density_not_plausible"


@pytest.mark.parametrize("rounds", [0, 1, 3])
def test_there_are_two_rounds(rounds):
    code, values = refused(lambda: from_card([CARD_A] * rounds, WINDOW_PX))
    assert (code, values) == ("calibration_round_missing", {"rounds": rounds, "needed": 2})


def test_a_ruler_gives_pixels_over_millimetres():
    measured = from_ruler([RulerReading(600.0, 102.0, 400.0, 68.0), RulerReading(600.0, 102.5, 400.0, 68.0)],
                          WINDOW_PX)
    assert measured.calibration.px_per_mm_x == pytest.approx((600 / 102 + 600 / 102.5) / 2)
    assert measured.calibration.px_per_mm_y == pytest.approx(400 / 68)
    assert (measured.method, len(measured.readings)) == ("ruler", 8)


@pytest.mark.parametrize("length_mm", [0.0, -3.0, 49.9])
def test_a_bar_too_short_to_measure_is_refused(length_mm):
    reading = RulerReading(600.0, 102.0, 300.0, length_mm)
    assert refused(lambda: from_ruler([reading, reading], WINDOW_PX))[0] == "ruler_length_short"


def test_two_ruler_rounds_must_agree_too():
    rounds = [RulerReading(600.0, 100.0, 400.0, 68.0), RulerReading(600.0, 102.0, 400.0, 68.0)]
    assert refused(lambda: from_ruler(rounds, WINDOW_PX))[0] == "calibration_readings_differ"
