"""A stored calibration holds for its display and its window alone."""

from uuid import UUID

import pytest

from kiosk.visits.device_record import CalibrationRecord

RECORD = CalibrationRecord(UUID(int=1), UUID(int=2), "card", 5.88, 5.88, 1280, 800, (503.3, 317.4) * 2,
                           "panel 1280x800")


@pytest.mark.parametrize(("display", "window_px", "fits"), [
    ("panel 1280x800", (1280, 800), True), ("panel 1280x800", (1280, 720), False),
    ("panel 1280x800", (1024, 800), False), ("other panel 1280x800", (1280, 800), False),
    ("panel 1280x720", (1280, 800), False), ("", (1280, 800), False)])
def test_a_new_display_or_resolution_asks_for_a_new_calibration(display, window_px, fits):
    assert RECORD.fits(display, window_px) is fits
