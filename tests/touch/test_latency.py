"""Latency from counted video frames: the mean and its spread, and what cannot be right."""

from statistics import NormalDist

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.touch.latency import METHOD, from_video


def refused(frames, camera_hz):
    with pytest.raises(Refused) as caught:
        from_video(frames, camera_hz)
    return caught.value.code


def test_frames_at_the_camera_s_rate_are_milliseconds():
    """12 frames at 240/s are 50 ms; SD of 11 12 13 11 13 is 1 frame."""
    latency = from_video([11, 12, 13, 11, 13], 240.0)
    assert latency.latency_ms == pytest.approx(50.0) and latency.sd_ms == pytest.approx(1000 / 240)
    assert latency.se_ms == pytest.approx(1000 / 240 / 5**0.5)
    assert (latency.method, latency.camera_hz) == (METHOD, 240.0)
    assert latency.readings == (11, 12, 13, 11, 13)


def test_the_same_latency_is_found_with_any_camera_though_frames_are_counted_whole():
    """A camera sees whole frames; counted between two events at any phase the mean is right."""
    rng = np.random.default_rng(5)
    for camera_hz in (120.0, 240.0, 480.0, 960.0):
        passed = rng.uniform(0, 1, 2000)
        frames = np.floor(passed + 0.0623 * camera_hz)
        latency = from_video(frames.tolist(), camera_hz)
        assert abs(latency.latency_ms - 62.3) < NormalDist().inv_cdf(0.9999) * latency.se_ms + 1e-9


@pytest.mark.parametrize(("frames", "camera_hz", "code"), [
    ([12] * 5, 60.0, "camera_too_slow"), ([12] * 5, 119.0, "camera_too_slow"),
    ([12] * 4, 240.0, "too_few_passes"), ([], 240.0, "too_few_passes"),
    ([12, 12, 12, 12, 0], 240.0, "latency_not_plausible"),
    ([12, 12, 12, 12, -3], 240.0, "latency_not_plausible"),
    ([12, 12, 12, 12, 73], 240.0, "latency_not_plausible"),
    ([12, 12, 12, 12, float("nan")], 240.0, "latency_not_plausible"),
    ([12] * 5, float("inf"), "latency_not_plausible"), ([12] * 5, float("nan"), "latency_not_plausible"),
    ([8, 25, 9, 24, 12], 240.0, "passes_differ")])
def test_what_cannot_be_right_is_refused(frames, camera_hz, code):
    assert refused(frames, camera_hz) == code


def test_the_slowest_camera_accepted_is_accepted():
    assert from_video([6] * 5, 120.0).latency_ms == pytest.approx(50.0)
