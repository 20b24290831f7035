"""The finest stream of touches the toolkit offers, as a Capture of the glass room.

Raw units are window pixels, origin at the bottom left. Every position the window reports counts: of touches
at most one move a frame, of a mouse every move. The toolkit keeps no sensor times, so a sample's time is the
monotonic clock at its arrival: the clock is named "frame_monotonic".
"""

from collections.abc import Callable
from typing import Any, Final

from kiosk.glass.capture import Spans, Touch
from kiosk.pursuit.samples import AxisRanges, WindowRect

MOUSE: Final = -1


class TouchStream:
    """Capture of what happens on one window; monotonic_ns is the one clock."""

    source = "toolkit"
    clock_name = "frame_monotonic"
    lost_events: int | None = None
    lost_spans_ns: Spans | None = None
    input_fuzz: float | None = None

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
        self._toolkit.bind(on_touch_down=self._down, on_touch_move=self._move, on_touch_up=self._up,
                           on_mouse_move=self._mouse)

    def drain(self) -> list[Touch]:
        """All touches since the last call, oldest first."""
        drained, self._touches = self._touches, []
        return drained

    def stop(self) -> None:
        """Listen no more."""
        self._toolkit.unbind(on_touch_down=self._down, on_touch_move=self._move, on_touch_up=self._up,
                             on_mouse_move=self._mouse)

    def _down(self, _window: Any, touch: Any) -> None:
        self._mouse_down |= touch.device == "mouse"
        self._keep(touch, True)

    def _move(self, _window: Any, touch: Any) -> None:
        if touch.device != "mouse":  # a mouse's moves have come already, every one of them
            self._keep(touch, True)

    def _up(self, _window: Any, touch: Any) -> None:
        self._mouse_down &= touch.device != "mouse"
        self._keep(touch, False)

    def _mouse(self, window: Any, x: float, y: float, _modifiers: Any) -> None:
        if self._mouse_down:
            height = window.size[1]
            self._touches.append(Touch(self._now_ns(), x + 0.5, height - y - 0.5, True, MOUSE))

    def _keep(self, touch: Any, contact: bool) -> None:
        if touch.device == "mouse":  # a mouse points at the middle of a pixel, a finger at a share of the panel
            x_px, y_px, identity = touch.x + 0.5, touch.y + 0.5, MOUSE
        else:
            x_px, y_px = touch.sx * self.ranges.right, touch.sy * self.ranges.top
            identity = int(touch.uid)
        self._touches.append(Touch(self._now_ns(), float(x_px), float(y_px), contact, identity))
