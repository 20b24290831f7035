"""What comes in: the touches of a trial, a simulated finger, and a keyboard or scanner.

TouchStream is the finest stream of touches that Kivy offers, as a Capture of kiosk.touch: every position the
window reports counts, of touches at most one move a frame, of a mouse every move. Kivy keeps no sensor times,
so a sample's time is the monotonic clock at its arrival: the clock is named "frame_monotonic".

Fingertip is an input provider whose touches reach the screens the way any other touch does; Kivy wants them
in fractions of the window. Keyboard listens at all times; the stage says whether the screen shown wants the
text. Escape and function keys are swallowed, so that no key leads out of the kiosk.

Places are window pixels, origin at the bottom left.
"""

from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from kivy.input.motionevent import MotionEvent
from kivy.input.provider import MotionEventProvider

from kiosk.pursuit.samples import AxisRanges, WindowRect
from kiosk.touch.capture import Spans, Touch

if TYPE_CHECKING:  # importing it opens a window
    from kivy.core.window import WindowBase

MOUSE: Final = -1          # identity of a mouse's contact
MOUSE_DEVICE: Final = "mouse"
ENTER: Final = (13, 271)
BACKSPACE: Final = 8
MOST_CHARACTERS: Final = 64


class TouchStream:
    """Capture of what happens on one window; monotonic_ns is the one clock."""

    source = "toolkit"
    clock_name = "frame_monotonic"
    lost_events: int | None = None
    lost_spans_ns: Spans | None = None
    input_fuzz: float | None = None
    smoothing_ms: float | None = None
    gone = False

    def __init__(self, window: "WindowBase", monotonic_ns: Callable[[], int]) -> None:
        width, height = (int(length) for length in window.size)
        self.ranges = AxisRanges(0.0, float(width), 0.0, float(height))
        self.window = WindowRect(0, 0, width, height, width, height)
        self._toolkit, self._now_ns = window, monotonic_ns
        self._touches: list[Touch] = []
        self._mouse_down = False

    def start(self) -> None:
        """Listen for touches; earlier ones are forgotten."""
        self._touches.clear()
        self._toolkit.bind(**self._listeners())

    def drain(self) -> list[Touch]:
        """All touches since the last call, oldest first."""
        drained, self._touches = self._touches, []
        return drained

    def stop(self) -> None:
        """Stop listening."""
        self._toolkit.unbind(**self._listeners())

    def _listeners(self) -> dict[str, Callable[..., None]]:
        return {
            "on_touch_down": self._touched, "on_touch_move": self._touched, "on_touch_up": self._lifted,
            "on_mouse_down": self._mouse_pressed, "on_mouse_move": self._mouse_moved,
            "on_mouse_up": self._mouse_released,
        }

    def _touched(self, _window: "WindowBase", touch: MotionEvent) -> None:
        self._keep(touch, True)

    def _lifted(self, _window: "WindowBase", touch: MotionEvent) -> None:
        self._keep(touch, False)

    def _keep(self, touch: MotionEvent, contact: bool) -> None:
        """A finger's place is a share of the panel. A mouse's touches have come already, as mouse events."""
        if touch.device != MOUSE_DEVICE:
            x_px, y_px = touch.sx * self.ranges.right, touch.sy * self.ranges.top
            self._touches.append(Touch(self._now_ns(), float(x_px), float(y_px), contact, int(touch.uid)))

    def _mouse_pressed(self, _window: "WindowBase", x: float, y: float, button: str,
                       _modifiers: object) -> None:
        if button == "left":
            self._mouse_down = True
            self._keep_mouse(x, y, True)

    def _mouse_moved(self, _window: "WindowBase", x: float, y: float, _modifiers: object) -> None:
        if self._mouse_down:
            self._keep_mouse(x, y, True)

    def _mouse_released(self, _window: "WindowBase", x: float, y: float, button: str,
                        _modifiers: object) -> None:
        if button == "left" and self._mouse_down:
            self._mouse_down = False
            self._keep_mouse(x, y, False)

    def _keep_mouse(self, x: float, y: float, contact: bool) -> None:
        """A mouse points at the middle of a pixel, counted from the top."""
        y_px = self.ranges.top - y - 0.5
        self._touches.append(Touch(self._now_ns(), x + 0.5, y_px, contact, MOUSE))


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

    def __init__(self, window: "WindowBase") -> None:
        super().__init__("fingertip", "")
        self._window = window
        self._queue: deque[tuple[str, tuple[float, float]]] = deque()
        self._touch: FingertipTouch | None = None
        self._count = 0

    def start(self) -> None:
        """Listen for touches; earlier ones are forgotten."""

    def stop(self) -> None:
        """Stop listening."""
        self._queue.clear()

    def down(self, x_px: float, y_px: float) -> None:
        """The finger comes down."""
        self._queue.append(("begin", self._fraction(x_px, y_px)))

    def move(self, x_px: float, y_px: float) -> None:
        """It moves while down."""
        self._queue.append(("update", self._fraction(x_px, y_px)))

    def up(self, x_px: float, y_px: float) -> None:
        """The finger is lifted."""
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


class Keyboard:
    """What is typed on one window."""

    def __init__(self, window: "WindowBase", typing: Callable[[str], None],
                 entered: Callable[[str], None]) -> None:
        self._window, self._typing, self._entered = window, typing, entered
        self.text = ""
        self._listeners = {"on_key_down": self._key, "on_textinput": self._input}
        window.bind(**self._listeners)

    def clear(self) -> None:
        """Forget what was typed."""
        self.text = ""

    def close(self) -> None:
        """Stop listening."""
        self._window.unbind(**self._listeners)

    def _input(self, _window: "WindowBase", text: str) -> None:
        typed = "".join(letter for letter in text if letter.isprintable())
        self._set((self.text + typed)[:MOST_CHARACTERS])

    def _key(self, _window: "WindowBase", key: int, *_rest: object) -> bool:
        """Enter tells the text, backspace takes one back; True = nobody else hears of the key."""
        if key in ENTER and self.text:
            text, self.text = self.text, ""
            self._entered(text)
        elif key == BACKSPACE and self.text:
            self._set(self.text[:-1])
        return True

    def _set(self, text: str) -> None:
        self.text = text
        self._typing(text)
