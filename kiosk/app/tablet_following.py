"""Once a frame while a tablet is measured: its touches taken in, what is drawn, and what was found."""

from collections.abc import Callable
from typing import TypeVar

from kiosk.app.driver import KioskDriver
from kiosk.app.tablet import as_calibration
from kiosk.app.tablet_measuring import Drawing, Sliding
from kiosk.base.errors import Refused
from kiosk.staff import tablet
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Capture
from kiosk.touch.line_check import of_line
from norms import Refusal

Measuring = TypeVar("Measuring", Sliding, Drawing)


def follow(driver: KioskDriver) -> None:
    """Whichever of the three measurements is on the screen; the others let go of the panel."""
    _follow_check(driver)
    _follow_slide(driver)
    _follow_lines(driver)


def _follow_check(driver: KioskDriver) -> None:
    """The touches of a device check; its verdict when the time is over."""
    checking = driver.checking
    if checking is None:
        return
    if not isinstance(driver.state.screen, tablet.CheckDevice):
        driver.capture.stop()
        driver.checking = None
        return
    if not checking.frame(driver.deps.now_ns()):
        return
    driver.checking = None
    try:
        found = checking.finish(driver.visit_context().calibration, driver.deps.refresh_hz)
    except Refused as refusal:
        driver.on_result(tablet.DeviceChecked(Refusal(refusal.code, dict(refusal.values))))
        return
    driver.on_result(tablet.DeviceChecked(found))


def _follow_slide(driver: KioskDriver) -> None:
    """The line of a slide, drawn from the panel's latest reports."""
    screen = driver.state.screen
    driver.sliding = _while(isinstance(screen, tablet.Slide), driver.sliding, Sliding, driver)
    if driver.sliding is not None and isinstance(screen, tablet.Slide):
        driver.stage.fingers(driver.sliding.places_mm(driver.deps.now_ns(), screen.lead_ms))


def _follow_lines(driver: KioskDriver) -> None:
    """Each line that is drawn, judged when the finger has lifted."""
    screen = driver.state.screen
    driver.drawing = _while(isinstance(screen, tablet.Lines), driver.drawing, Drawing, driver)
    if driver.drawing is None or not isinstance(screen, tablet.Lines):
        return
    drawn = driver.drawing.line(driver.deps.now_ns())
    if drawn is None:
        return
    try:
        driver.on_result(tablet.LineDrawn(of_line(screen.next_line, drawn)))
    except Refused as refusal:
        driver.on_result(tablet.LineDrawn(Refusal(refusal.code, dict(refusal.values))))


def _while(shown: bool, running: Measuring | None, begin: Callable[[Capture, Calibration], Measuring],
           driver: KioskDriver) -> Measuring | None:
    """What measures while its screen is shown: begun with it, stopped when it is left."""
    if shown:
        return running or begin(driver.capture, as_calibration(driver.record, driver.deps.window_px))
    if running is not None:
        running.stop()
    return None
