"""A stored calibration holds for its display and window alone; latencies that differ do not count."""

from uuid import UUID

import pytest

from kiosk.visits.device_record import CalibrationRecord, KeptLatency, latency_that_counts

RECORD = CalibrationRecord(UUID(int=1), UUID(int=2), "card", 5.88, 5.88, 1280, 800, (503.3, 317.4) * 2,
                           "panel 1280x800")


@pytest.mark.parametrize(("display", "window_px", "fits"), [
    ("panel 1280x800", (1280, 800), True), ("panel 1280x800", (1280, 720), False),
    ("panel 1280x800", (1024, 800), False), ("other panel 1280x800", (1280, 800), False),
    ("panel 1280x720", (1280, 800), False), ("", (1280, 800), False)])
def test_a_new_display_or_resolution_asks_for_a_new_calibration(display, window_px, fits):
    assert RECORD.fits(display, window_px) is fits


@pytest.mark.parametrize(("film_ms", "slide_ms", "counts_ms"), [
    (70.0, 72.0, 70.0), (70.0, 67.0, 70.0), (70.0, 90.0, None), (100.0, 70.0, None),
    (70.0, None, 70.0), (None, 66.0, 66.0), (None, None, None)])
def test_film_counts_where_a_slide_agrees_and_none_where_it_does_not(film_ms, slide_ms, counts_ms):
    """SDs of 4 ms over five passes or pairs: SEs of 1.8 ms, so 6.5 ms apart is still chance (99 %)."""
    known = [KeptLatency(ms, 4.0, method) for ms, method in (
        (film_ms, "slow_motion_video"), (slide_ms, "operator_slide")) if ms is not None]
    found = latency_that_counts(known)
    assert (None if found is None else found.latency_ms) == counts_ms


def test_a_film_whose_passes_all_agree_is_still_as_coarse_as_its_pictures():
    known = [KeptLatency(70.8, 0.0, "slow_motion_video"), KeptLatency(67.0, 0.5, "operator_slide")]
    assert latency_that_counts(known) is known[0]
