"""Pixels and millimetres: one calibration, both ways. Millimetres from the field's centre, y up."""

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges, RawTouch, WindowRect
from kiosk.touch.calibration import Calibration, full_window, nominal

UNEVEN = Calibration(5.0, 4.0, 1000, 600)
KERNEL = AxisRanges(left=0.0, right=4095.0, bottom=2559.0, top=0.0)  # the kernel counts y downwards
TOOLKIT = AxisRanges(left=0.0, right=1.0, bottom=0.0, top=1.0)
CARD_MM = (85.60, 53.98)  # ID-1 card, ISO/IEC 7810:2019


def _raw(x_raw, y_raw, ranges, window):
    size = np.size(x_raw)
    return RawTouch(np.arange(size) * 1_000_000, np.ravel(x_raw), np.ravel(y_raw), np.ones(size, bool),
                    ranges, window)


@pytest.mark.parametrize(("panel", "inches", "pixels"), [("A", 10.1, (1280, 800)), ("B", 15.6, (1920, 1080))])
def test_the_nominal_panels_are_as_dense_as_their_diagonal_says(panel, inches, pixels):
    """Diagonal of the panel in pixels over its diagonal in mm (1 inch = 25.4 mm, ISO 80000-3)."""
    calibration = nominal(panel)
    dense = np.hypot(*pixels) / (inches * 25.4)
    assert calibration.px_per_mm_x == pytest.approx(dense, rel=0.001) == calibration.px_per_mm_y
    assert (calibration.window_width_px, calibration.window_height_px) == pixels


def test_the_usable_field_fits_both_panels():
    for panel in "AB":
        calibration = nominal(panel)
        assert calibration.length_px_x(150.0) <= calibration.window_width_px
        assert calibration.length_px_y(125.0) <= calibration.window_height_px


def test_a_card_is_as_many_pixels_as_its_length_times_the_density():
    assert UNEVEN.length_px_x(CARD_MM[0]) == pytest.approx(428.0)
    assert UNEVEN.length_px_y(CARD_MM[1]) == pytest.approx(215.92)


def test_the_field_s_centre_is_the_window_s_centre_and_y_goes_up():
    assert UNEVEN.to_px(0.0, 0.0) == (500.0, 300.0)
    assert UNEVEN.to_px(10.0, 20.0) == (550.0, 380.0)


@pytest.mark.parametrize(("x_raw", "y_raw", "expected_mm"), [
    (0.0, 0.0, (-100.0, 75.0)), (4095.0, 2559.0, (100.0, -75.0)), (2047.5, 1279.5, (0.0, 0.0))])
def test_a_kernel_axis_that_counts_downwards_comes_out_upright(x_raw, y_raw, expected_mm):
    x_mm, y_mm = UNEVEN.to_mm(_raw(x_raw, y_raw, KERNEL, full_window(UNEVEN)))
    assert (x_mm[0], y_mm[0]) == pytest.approx(expected_mm)


def test_a_window_that_does_not_cover_the_panel_is_found_on_it():
    window = WindowRect(100, 50, 1000, 600, 2000, 1200)
    x_mm, y_mm = UNEVEN.to_mm(_raw([0.05, 0.3], [50 / 1200, 350 / 1200], TOOLKIT, window))
    assert x_mm == pytest.approx([-100.0, 0.0]) and y_mm == pytest.approx([-75.0, 0.0])


@pytest.mark.parametrize("ranges", [
    KERNEL, TOOLKIT, AxisRanges(4095.0, 0.0, 0.0, 2559.0), AxisRanges(-100.0, 300.0, 8.0, -8.0)])
@pytest.mark.parametrize("window", [full_window(UNEVEN), WindowRect(30, 70, 1000, 600, 1920, 1080)])
def test_to_raw_and_back_is_the_same_place(ranges, window):
    x, y = np.random.default_rng(1).uniform(-75, 75, (2, 50))
    x_mm, y_mm = UNEVEN.to_mm(_raw(*UNEVEN.to_raw(x, y, ranges, window), ranges, window))
    assert np.allclose(x_mm, x, atol=1e-9) and np.allclose(y_mm, y, atol=1e-9)


def test_samples_count_seconds_from_the_setting_off():
    raw = RawTouch([10_000_000_000, 10_800_000_000], [0.5, 0.6], [0.5, 0.5], [True, False], TOOLKIT,
                   full_window(UNEVEN))
    samples = UNEVEN.samples(raw, 10_800_000_000)
    assert samples.t_s.tolist() == [-0.8, 0.0] and samples.contact.tolist() == [True, False]
    assert samples.x_mm == pytest.approx([0.0, 20.0])


def test_seconds_stay_exact_to_the_nanosecond_after_a_year_of_uptime():
    start = 365 * 86_400 * 10**9
    raw = RawTouch([start + 1], [0.5], [0.5], [True], TOOLKIT, full_window(UNEVEN))
    assert UNEVEN.samples(raw, start).t_s[0] == 1e-9


@pytest.mark.parametrize("name", ["px_per_mm_x", "px_per_mm_y", "window_width_px", "window_height_px"])
@pytest.mark.parametrize("value", [0, -1.0, float("nan"), float("inf")])
def test_an_impossible_calibration_is_refused_by_name_rule_and_value(name, value):
    values = {"px_per_mm_x": 5.0, "px_per_mm_y": 5.0, "window_width_px": 800, "window_height_px": 600}
    with pytest.raises(ValueError, match=rf"{name} must be a finite number above 0, got {value!r}"):
        Calibration(**(values | {name: value}))


def test_a_window_of_another_size_is_refused_rather_than_scaled():
    window = WindowRect(0, 0, 1280, 800, 1280, 800)
    with pytest.raises(Refused) as refused:
        UNEVEN.to_mm(_raw(0.5, 0.5, TOOLKIT, window))
    assert refused.value.code == "calibration_for_other_window"
    assert dict(refused.value.values) == {"calibrated_px": (1000, 600), "window_px": (1280, 800)}


def test_an_axis_without_length_is_refused():
    with pytest.raises(ValueError, match="two different ends"):
        UNEVEN.to_mm(_raw(0.5, 0.5, AxisRanges(3.0, 3.0, 0.0, 1.0), full_window(UNEVEN)))
