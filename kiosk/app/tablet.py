"""The tablet at work: which one it is, how it was calibrated, and what a check of it finds."""

from typing import Final

from kiosk.app.dependencies import Dependencies
from kiosk.touch.calibration import Calibration, nominal
from kiosk.visits.device_record import CalibrationRecord, Device

CHECK_NS: Final = 8_000_000_000
LIFTED_NS: Final = 700_000_000
LEAST_LINE_NS: Final = 300_000_000
KEPT_REPORTS: Final = 60  # more than in the time that the finger's speed is taken over
RULER: Final = "ruler"


def this_tablet(deps: Dependencies) -> Device:
    """The tablet as the archive knows it, kept anew where it does not."""
    known = deps.archive.newest_device()
    if known is not None and (known.panel_px_w, known.panel_px_h) == deps.window_px:
        return known
    device = Device(deps.new_id(), deps.device_class, "this tablet", "not known", "not known",
                    *deps.window_px)
    deps.archive.add_device(device)
    return device


def calibration_of(deps: Dependencies, device: Device) -> CalibrationRecord | None:
    """The calibration that still holds for this display; that of a ruler where one was given at the start."""
    if deps.px_per_mm is not None:
        record = CalibrationRecord(deps.new_id(), device.id, RULER, *deps.px_per_mm, *deps.window_px,
                                   display=deps.display)
        deps.archive.add_calibration(record)
        return record
    record_ = deps.archive.newest_calibration(device.id)
    return record_ if record_ is not None and record_.fits(deps.display, deps.window_px) else None


def as_calibration(record: CalibrationRecord | None, window_px: tuple[int, int]) -> Calibration:
    """For drawing and capture; before the tablet was measured that of a common panel's data sheet."""
    if record is None:
        panel = nominal("A")
        return Calibration(panel.px_per_mm_x, panel.px_per_mm_y, *window_px)
    return Calibration(record.px_per_mm_x, record.px_per_mm_y, *window_px)
