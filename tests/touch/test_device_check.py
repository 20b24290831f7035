"""What a device's touches are like: figures found again from touches made with known ones."""

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges, RawTouch
from kiosk.touch.calibration import Calibration, full_window, nominal
from kiosk.touch.device_check import DeviceFigures, DisplayFigures, check_device, measure, measure_flips

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
SIXTY = DisplayFigures(refresh_hz=60.0, dropped_share=0.0)


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
    ({"dropped_share": 0.05}, "pass", []), ({"dropped_share": 0.051}, "refuse", ["frames_dropped"]),
    ({"refresh_hz": 50.0}, "pass", []), ({"refresh_hz": 49.0}, "warn", ["refresh_slow"]),
    ({"refresh_hz": 29.0}, "refuse", ["refresh_too_slow"])])
def test_pictures_beyond_a_threshold_are_named(display, verdict, codes):
    assert _found(display=display) == (verdict, codes)


@pytest.mark.parametrize(("width_px", "height_px", "verdict"), [
    (1500, 1250, "pass"), (1499, 1250, "refuse"), (1500, 1249, "refuse")])
def test_the_window_must_hold_a_field_of_150_by_125_mm(width_px, height_px, verdict):
    found, codes = _found(calibration=Calibration(10.0, 10.0, width_px, height_px))
    assert (found, codes) == (verdict, ["field_too_small"] if verdict == "refuse" else [])


def test_the_refresh_and_the_dropped_share_are_found_in_a_second_of_flips():
    shown = [at for at in range(75) if at not in (20, 21, 50)]
    figures = measure_flips([7 * 10**15 + round(at * 1e9 / 75) for at in shown])
    assert figures.refresh_hz == pytest.approx(75.0, rel=1e-6)
    assert figures.dropped_share == pytest.approx(3 / 74)


def test_too_few_flips_are_refused():
    with pytest.raises(Refused) as refused:
        measure_flips(range(29))
    assert (refused.value.code, dict(refused.value.values)) == ("too_few_flips", {"flips": 29, "least": 30})
