"""Once a frame while a tablet is measured: its touches taken in, what is drawn, and what was found."""

from kiosk.app.driver import KioskDriver
from kiosk.app.tablet import as_calibration
from kiosk.app.tablet_measuring import Drawing, Sliding
from kiosk.base.errors import Refused
from kiosk.staff import tablet
from kiosk.touch.line_check import of_line
from norms import Refusal


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
    if not isinstance(screen, tablet.Slide):
        if driver.sliding is not None:
            driver.sliding.stop()
            driver.sliding = None
        return
    if driver.sliding is None:
        driver.sliding = Sliding(driver.capture, as_calibration(driver.record, driver.deps.window_px))
    driver.stage.fingers(driver.sliding.places_mm(driver.deps.now_ns(), screen.lead_ms))


def _follow_lines(driver: KioskDriver) -> None:
    """Each line that is drawn, judged when the finger has lifted."""
    screen = driver.state.screen
    if not isinstance(screen, tablet.Lines):
        if driver.drawing is not None:
            driver.drawing.stop()
            driver.drawing = None
        return
    if driver.drawing is None:
        driver.drawing = Drawing(driver.capture, as_calibration(driver.record, driver.deps.window_px))
    drawn = driver.drawing.line(driver.deps.now_ns())
    if drawn is None:
        return
    try:
        driver.on_result(tablet.LineDrawn(of_line(screen.next_line, drawn)))
    except Refused as refusal:
        driver.on_result(tablet.LineDrawn(Refusal(refusal.code, dict(refusal.values))))
