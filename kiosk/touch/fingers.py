"""Where fingers touch now, from the same source that records the trials. Millimetres, y up.

For the finger check, which notices before the first trial if touches come from another panel than the one in
front of the person. Decision screens-7.
"""

from typing import Final, Literal

from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Capture, Touch

Places = list[tuple[float, float]]
SEEN_BY_THE_WINDOW: Final = ("toolkit", "playback")


def is_own_source(capture: Capture) -> bool:
    """Whether touches come by another way than the window: from the kernel, or through a pipe."""
    return capture.source not in SEEN_BY_THE_WINDOW


def pointing_input(capture: Capture) -> Literal["finger", "mouse"]:
    """What touches of this source are made with: the window of a kiosk hears the mouse alone."""
    return "mouse" if capture.source == "toolkit" else "finger"


class Fingers:
    """The fingers that touch, as of the latest call."""

    def __init__(self, capture: Capture, calibration: Calibration) -> None:
        self._capture, self._calibration = capture, calibration
        self._down: dict[int, Touch] = {}
        capture.start()

    def places_mm(self) -> Places:
        """The place of every finger, from the field's centre; none where the source is gone."""
        try:
            touches = self._capture.drain()
        except OSError:
            return []
        for touch in touches:
            self._down.pop(touch.identity, None)
            if touch.contact and touch.tool == "finger":
                self._down[touch.identity] = touch
        return self._in_mm(list(self._down.values()))

    def stop(self) -> None:
        self._capture.stop()

    def _in_mm(self, touches: list[Touch]) -> Places:
        x_mm, y_mm = self._calibration.point_mm(
            [one.x_raw for one in touches], [one.y_raw for one in touches], self._capture.ranges,
            self._capture.window)
        return list(zip(x_mm.tolist(), y_mm.tolist(), strict=True))
