"""The finest stream of touches the toolkit offers, as a Capture of the glass room.

Raw units are window pixels, origin at the bottom left. Every position the window reports counts: of touches
at most one move a frame, of a mouse every move. The toolkit keeps no sensor times, so a sample's time is the
monotonic clock at its arrival: the clock is named "frame_monotonic".
"""

from collections.abc import Callable
from typing import Any, Final

from kiosk.pursuit.samples import AxisRanges, WindowRect
from kiosk.touch.capture import Spans, Touch

MOUSE: Final = -1          # identity of a mouse's contact
MOUSE_DEVICE: Final = "mouse"


class TouchStream:
    """Capture of what happens on one window; monotonic_ns is the one clock."""

    source = "toolkit"
    clock_name = "frame_monotonic"
    lost_events: int | None = None
    lost_spans_ns: Spans | None = None
    input_fuzz: float | None = None
    gone = False

    def __init__(self, window: Any, monotonic_ns: Callable[[], int]) -> None:
        width, height = (int(length) for length in window.size)
        self.ranges = AxisRanges(0.0, float(width), 0.0, float(height))
        self.window = WindowRect(0, 0, width, height, width, height)
        self._toolkit, self._now_ns = window, monotonic_ns
        self._touches: list[Touch] = []
        self._mouse_down = False

    def start(self) -> None:
        """Listen; earlier touches are forgotten."""
        self._touches.clear()
        self._toolkit.bind(**self._listeners())

    def drain(self) -> list[Touch]:
        """All touches since the last call, oldest first."""
        drained, self._touches = self._touches, []
        return drained

    def stop(self) -> None:
        """Listen no more."""
        self._toolkit.unbind(**self._listeners())

    def _listeners(self) -> dict[str, Callable[..., None]]:
        return {
            "on_touch_down": self._touched, "on_touch_move": self._touched, "on_touch_up": self._lifted,
            "on_mouse_down": self._mouse_pressed, "on_mouse_move": self._mouse_moved,
            "on_mouse_up": self._mouse_released,
        }

    def _touched(self, _window: Any, touch: Any) -> None:
        self._keep(touch, True)

    def _lifted(self, _window: Any, touch: Any) -> None:
        self._keep(touch, False)

    def _keep(self, touch: Any, contact: bool) -> None:
        """A finger's place is a share of the panel. A mouse's touches have come already, as mouse events."""
        if touch.device != MOUSE_DEVICE:
            x_px, y_px = touch.sx * self.ranges.right, touch.sy * self.ranges.top
            self._touches.append(Touch(self._now_ns(), float(x_px), float(y_px), contact, int(touch.uid)))

    def _mouse_pressed(self, _window: Any, x: float, y: float, button: str, _modifiers: Any) -> None:
        if button == "left":
            self._mouse_down = True
            self._keep_mouse(x, y, True)

    def _mouse_moved(self, _window: Any, x: float, y: float, _modifiers: Any) -> None:
        if self._mouse_down:
            self._keep_mouse(x, y, True)

    def _mouse_released(self, _window: Any, x: float, y: float, button: str, _modifiers: Any) -> None:
        if button == "left" and self._mouse_down:
            self._mouse_down = False
            self._keep_mouse(x, y, False)

    def _keep_mouse(self, x: float, y: float, contact: bool) -> None:
        """A mouse points at the middle of a pixel, counted from the top."""
        y_px = self.ranges.top - y - 0.5
        self._touches.append(Touch(self._now_ns(), x + 0.5, y_px, contact, MOUSE))
