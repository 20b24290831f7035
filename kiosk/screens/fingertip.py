"""A finger from outside: an input provider whose touches reach the screens the way any other touch does.

Positions are window pixels, origin at the bottom left; the toolkit wants fractions of the window.
"""

from collections import deque
from collections.abc import Callable
from typing import Any

from kivy.input.motionevent import MotionEvent
from kivy.input.provider import MotionEventProvider


class FingertipTouch(MotionEvent):
    """One contact of the fingertip."""

    def __init__(self, device: str, identity: int, args: tuple[float, float]) -> None:
        super().__init__(device, identity, args, is_touch=True, type_id="touch")

    def depack(self, args: tuple[float, float]) -> None:
        """Position as fractions of the window."""
        self.sx, self.sy = args
        self.profile = ["pos"]
        super().depack(args)


class Fingertip(MotionEventProvider):
    """Queues what a finger does; the event loop takes one step of it a frame."""

    def __init__(self, window: Any) -> None:
        super().__init__("fingertip", "")
        self._window = window
        self._queue: deque[tuple[str, tuple[float, float]]] = deque()
        self._touch: FingertipTouch | None = None
        self._count = 0

    def start(self) -> None:
        """Nothing to open."""

    def stop(self) -> None:
        """Nothing to close."""
        self._queue.clear()

    def down(self, x_px: float, y_px: float) -> None:
        """The finger comes down."""
        self._queue.append(("begin", self._fraction(x_px, y_px)))

    def move(self, x_px: float, y_px: float) -> None:
        """It moves while down."""
        self._queue.append(("update", self._fraction(x_px, y_px)))

    def up(self, x_px: float, y_px: float) -> None:
        """It lifts."""
        self._queue.append(("end", self._fraction(x_px, y_px)))

    def update(self, dispatch_fn: Callable[[str, MotionEvent], None]) -> None:
        """Called by the event loop once a frame."""
        if not self._queue:
            return
        kind, place = self._queue.popleft()
        if kind == "begin":
            self._count += 1
            self._touch = FingertipTouch(self.device, self._count, place)
        elif self._touch is not None:
            self._touch.move(place)
        if self._touch is not None:
            dispatch_fn(kind, self._touch)
        if kind == "end" and self._touch is not None:
            self._touch.update_time_end()
            self._touch = None

    def _fraction(self, x_px: float, y_px: float) -> tuple[float, float]:
        width, height = self._window.size
        return x_px / width, y_px / height
