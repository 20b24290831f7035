"""What a device's touches are like: figures found again from touches made with known ones."""

import numpy as np
import pytest

from kiosk.errors import Refused
from kiosk.glass.calibration import full_window, nominal
from kiosk.glass.device_check import measure
from kiosk.pursuit.samples import AxisRanges, RawTouch

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
