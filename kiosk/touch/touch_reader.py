"""The reader: touches from the kernel's input device, each with the kernel's own time stamp.

A thread reads from opening to closing, so that the kernel's small buffer does not fill up while the screen is
drawn. start, drain and stop say which touches are wanted. Nanoseconds of the monotonic clock, device units.

A device that is gone (unplugged, read error) makes drain raise OSError once its last touches are drained; the
next start tries to open it again. Decision touch-2.
"""

import os
import select
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from errno import EIO, ENODEV
from time import monotonic_ns
from types import TracebackType
from typing import Final

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import WindowRect
from kiosk.touch.capture import Spans, Touch
from kiosk.touch.contact_reports import ContactReports
from kiosk.touch.input_device import OpenDevice
from kiosk.touch.kernel_events import EVENT, EventBytes

CHUNK: Final = 256 * EVENT.size


class TouchReader:
    """A Capture on one input device; use it in a `with`, or close it."""

    source = "kernel"
    clock_name = "kernel_monotonic"
    _opened: OpenDevice
    _thread: threading.Thread
    _woken_fd: int
    _wake_fd: int

    def __init__(self, open_device: Callable[[], OpenDevice], window: WindowRect,
                 now_ns: Callable[[], int] = monotonic_ns) -> None:
        """Open and begin to read; OSError or Refused from open_device where there is no device."""
        self.window = window
        self.lost_events: int | None = 0
        self.lost_spans_ns: Spans | None = ()
        self.smoothing_ms: float | None = None
        self._open_device, self._now_ns = open_device, now_ns
        self._lock = threading.Lock()
        self._gone: OSError | None = None
        self._touches: list[Touch] = []
        self._wanted_from_ns: int | None = None  # None: touches are not wanted
        self._open()

    def __enter__(self) -> "TouchReader":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    @property
    def gone(self) -> bool:
        """Whether the device is known to be gone."""
        return self._gone is not None

    def start(self) -> None:
        """Begin to record: earlier touches are forgotten; contacts present now begin now."""
        if self.gone:
            self._open_again()
        with self._lock:
            self._wanted_from_ns = self._now_ns()
            self._contacts.forget_losses()
            self.lost_events, self.lost_spans_ns = 0, ()
            self._touches = self._contacts.present(self._wanted_from_ns)

    def drain(self) -> list[Touch]:
        """All touches since the last call, oldest first; OSError where the device is gone."""
        with self._lock:
            drained, self._touches = self._touches, []
        if self._gone is not None and not drained:
            raise self._gone
        return drained

    def stop(self) -> None:
        """End recording; touches are still read, but not kept."""
        with self._lock:
            self._wanted_from_ns = None
            self._touches = []

    def close(self) -> None:
        """End the thread and close the device."""
        with suppress(OSError):
            os.write(self._wake_fd, b"!")
        self._thread.join()
        for fd in (self._opened.fd, self._wake_fd, self._woken_fd):
            with suppress(OSError):
                os.close(fd)
        self._wake_fd = self._woken_fd = -1
        self._opened = replace(self._opened, fd=-1)

    def _open(self) -> None:
        self._opened = self._open_device()
        device = self._opened.device
        self.ranges, self.input_fuzz = device.ranges, device.fuzz
        self._contacts = ContactReports(device.multitouch, self._opened.slots_now)
        self._gone = None
        self._woken_fd, self._wake_fd = os.pipe()
        self._thread = threading.Thread(target=self._read_on, name="touch reader", daemon=True)
        self._thread.start()

    def _open_again(self) -> None:
        self.close()
        with suppress(OSError, Refused):
            self._open()

    def _read_on(self) -> None:
        """The thread: read until closed or gone; however it ends, drain then raises."""
        ended = OSError(EIO, "the reader ended")
        try:
            self._read_until_woken()
        except OSError as error:
            ended = error
        finally:
            self._gone = ended

    def _read_until_woken(self) -> None:
        fd, events, ready = self._opened.fd, EventBytes(), select.poll()
        ready.register(fd, select.POLLIN)
        ready.register(self._woken_fd, select.POLLIN)
        while self._woken_fd not in (at for at, _ in ready.poll()):
            with suppress(BlockingIOError):
                self._take(events, os.read(fd, CHUNK))

    def _take(self, events: EventBytes, data: bytes) -> None:
        if not data:
            raise OSError(ENODEV, os.strerror(ENODEV))
        with self._lock:
            touches = [touch for event in events.feed(data) for touch in self._contacts.feed(event)]
            if self._wanted_from_ns is not None:
                self._keep(touches, self._wanted_from_ns)

    def _keep(self, touches: list[Touch], first_ns: int) -> None:
        """Keep touches and losses; touches stamped before start are stamped as of start."""
        self._touches += [one if one.t_ns >= first_ns else replace(one, t_ns=first_ns) for one in touches]
        self.lost_events = self._contacts.drops
        self.lost_spans_ns = tuple(self._contacts.lost_spans_ns)
