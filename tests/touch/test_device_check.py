"""What a device's touches are like: figures found again from touches made with known ones."""

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges, RawTouch
from kiosk.touch.calibration import Calibration, full_window, nominal
from kiosk.touch.device_check import DeviceFigures, DisplayFigures, check_device, measure, measure_pictures

CALIBRATION = nominal("B")
RANGES = AxisRanges(0.0, 1.0, 0.0, 1.0)


def _raw(rate_hz=120.0, noise_mm=0.0, keep=None, size=2400):
    rng = np.random.default_rng(1)
    t_s = np.arange(size) / rate_hz
    x_mm, y_mm = (50 * wave(t_s) + noise_mm * rng.standard_normal(size) for wave in (np.cos, np.sin))
    kept = np.ones(size, bool) if keep is None else keep(np.arange(size))
    x_raw, y_raw = CALIBRATION.to_raw(x_mm, y_mm, RANGES, full_window(CALIBRATION))
    return RawTouch(np.round(t_s * 1e9)[kept], x_raw[kept], y_raw[kept], np.ones(kept.sum(), bool), RANGES,
                    full_window(CALIBRATION))


@pytest.mark.parametrize("rate_hz", [60.0, 125.0, 240.0])
def test_the_rate_and_its_intervals_are_found(rate_hz):
    figures = measure(_raw(rate_hz), CALIBRATION)
    assert figures.rate_hz == pytest.approx(rate_hz, rel=1e-6)
    assert figures.interval_p95_ms == pytest.approx(1000 / rate_hz, rel=1e-6)
    assert figures.missing_share == 0.0


def test_every_tenth_touch_missing_is_a_tenth():
    figures = measure(_raw(keep=lambda index: index % 10 != 5), CALIBRATION)
    assert figures.missing_share == pytest.approx(0.1, abs=0.002)
    assert figures.interval_p95_ms == pytest.approx(2000 / 120, rel=1e-6)


def test_the_jitter_is_the_standard_deviation_that_was_put_in():
    assert measure(_raw(noise_mm=0.2), CALIBRATION).noise_mm == pytest.approx(0.2, rel=0.05)
    assert measure(_raw(), CALIBRATION).noise_mm < 0.005


def test_too_few_touches_are_refused():
    with pytest.raises(Refused) as refused:
        measure(_raw(size=15), CALIBRATION)
    assert refused.value.code == "too_few_touches" and refused.value.values["moving_intervals"] == 14


GOOD = DeviceFigures(rate_hz=120.0, interval_p95_ms=9.0, missing_share=0.0, noise_mm=0.1)
SIXTY = DisplayFigures(shown_hz=60.0, late_share=0.0)


def _found(touch=None, display=None, calibration=CALIBRATION):
    checked = check_device(DeviceFigures(**(vars(GOOD) | (touch or {}))),
                           DisplayFigures(**(vars(SIXTY) | (display or {}))), calibration)
    return checked.verdict, [reason.code for reason in checked.reasons]


@pytest.mark.parametrize("panel", "AB")
def test_an_ordinary_tablet_passes(panel):
    assert _found(calibration=nominal(panel)) == ("pass", [])


@pytest.mark.parametrize(("touch", "verdict", "codes"), [
    ({"rate_hz": 50.0, "interval_p95_ms": 40.0}, "pass", []),
    ({"rate_hz": 49.9, "interval_p95_ms": 20.0}, "refuse", ["low_touch_rate"]),
    ({"interval_p95_ms": 2000 / 120}, "pass", []),
    ({"interval_p95_ms": 2000 / 120 + 0.1}, "warn", ["uneven_sampling"]),
    ({"missing_share": 0.05}, "pass", []), ({"missing_share": 0.06}, "warn", ["touches_missing"]),
    ({"noise_mm": 0.6}, "warn", ["touch_noisy"]), ({"noise_mm": 2.1}, "refuse", ["touch_too_noisy"]),
    ({"noise_mm": float("nan")}, "pass", []),
    ({"rate_hz": 30.0, "interval_p95_ms": 90.0}, "refuse", ["low_touch_rate", "uneven_sampling"])])
def test_touches_beyond_a_threshold_are_named(touch, verdict, codes):
    assert _found(touch) == (verdict, codes)


@pytest.mark.parametrize(("display", "verdict", "codes"), [
    ({"added_age_ms": 2.5}, "pass", []), ({"added_age_ms": 2.6}, "refuse", ["pictures_late"]),
    ({"standstill_ms": 250.0}, "pass", []), ({"standstill_ms": 251.0}, "refuse", ["frame_gap"]),
    ({"shown_hz": 50.0}, "pass", []), ({"shown_hz": 49.0}, "warn", ["refresh_slow"]),
    ({"shown_hz": 29.0}, "refuse", ["refresh_too_slow"])])
def test_pictures_beyond_a_threshold_are_named(display, verdict, codes):
    assert _found(display=display) == (verdict, codes)


@pytest.mark.parametrize(("width_px", "height_px", "verdict"), [
    (1500, 1250, "pass"), (1499, 1250, "refuse"), (1500, 1249, "refuse")])
def test_the_window_must_hold_a_field_of_150_by_125_mm(width_px, height_px, verdict):
    found, codes = _found(calibration=Calibration(10.0, 10.0, width_px, height_px))
    assert (found, codes) == (verdict, ["field_too_small"] if verdict == "refuse" else [])


def pictures_at(refreshes, hz):
    return [7 * 10**15 + round(at * 1e9 / hz) for at in refreshes]


def test_late_pictures_are_found_in_a_second_of_them():
    shown = [at for at in range(61) if at not in (20, 21, 50)]  # one took three intervals, one took two
    figures = measure_pictures(pictures_at(shown, 60), refresh_hz=60.0)
    assert figures.shown_hz == pytest.approx(57.0)
    assert figures.late_share == pytest.approx(3 / 60)
    assert figures.added_age_ms == pytest.approx((3 * 2 + 2 * 1) / 2 / 60 * 1000 / 60)
    assert figures.standstill_ms == pytest.approx(50.0)


@pytest.mark.parametrize(("shown_hz", "refresh_hz", "verdict"), [
    (60, 60.0, "pass"), (90, 90.0, "pass"), (120, 120.0, "pass"), (60, 120.0, "pass"),
    (71, 60.0, "pass"),                  # frames that nothing held: faster than due is never late
    (30, 30.0, "warn"),                  # a display of 30 Hz that keeps to it
    (30, 60.0, "refuse"), (40, 60.0, "refuse"), (24, 24.0, "refuse")])
def test_a_machine_is_refused_by_what_it_shows_not_by_its_own_median(shown_hz, refresh_hz, verdict):
    display = measure_pictures(pictures_at(range(8 * shown_hz), shown_hz), refresh_hz)
    assert _found(display=vars(display))[0] == verdict


def test_too_few_flips_are_refused():
    with pytest.raises(Refused) as refused:
        measure_pictures(range(29), 60.0)
    assert (refused.value.code, dict(refused.value.values)) == ("too_few_flips", {"flips": 29, "least": 30})
