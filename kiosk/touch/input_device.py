"""Touch panels among the input devices of a Linux machine: found by what they report, opened for reading.

A panel has two position axes of at least 100 steps and moves no pointer; a barcode reader that reports touch
axes from 0 to 0 is none, nor is a touchpad or a stylus-only device. Ranges are device units; the kernel
counts y downwards, so the panel's top is the least y. Decision touch-5.

A named pipe may stand in for a panel: another process writes the kernel's event bytes into it, as a driver
in user space or a test does. A pipe answers no requests, so its ranges are given; the stamps are the
writer's, on the monotonic clock.
"""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISFIFO
from struct import Struct, pack, pack_into, unpack_from
from typing import Final, Protocol

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges
from kiosk.touch import kernel_events as kernel
from kiosk.touch.contact_reports import SlotNow, SlotsNow

FOLDER: Final = Path("/dev/input")
LEAST_STEPS: Final = 100  # between the edges of a panel; own choice (panels have thousands)
_NAME_BYTES: Final = 256
_BITS_BYTES: Final = 96   # all key codes, 0 to 0x2ff
_SLOT_CODES: Final = (kernel.ABS_MT_TRACKING_ID, kernel.ABS_MT_POSITION_X, kernel.ABS_MT_POSITION_Y)


class Ioctl(Protocol):
    """fcntl.ioctl with a buffer that it fills."""

    def __call__(self, fd: int, request: int, buffer: bytearray, /) -> int:
        """OSError where the device does not answer."""


@dataclass(frozen=True)
class TouchDevice:
    """A touch panel. fuzz: the kernel's filter, the larger of both axes; slots: contacts told apart."""

    name: str
    path: str
    ranges: AxisRanges
    fuzz: float | None
    multitouch: bool
    slots: int


def _nothing_known() -> SlotsNow | None:
    return None


@dataclass(frozen=True)
class OpenDevice:
    """A panel open for reading; slots_now asks it for its slots, None where it cannot say."""

    fd: int
    device: TouchDevice
    slots_now: Callable[[], SlotsNow | None] = _nothing_known


def system_ioctl(fd: int, request: int, buffer: bytearray, /) -> int:
    """fcntl.ioctl; only where there is Linux below."""
    from fcntl import ioctl

    return int(ioctl(fd, request, buffer))


def touch_devices(folder: Path = FOLDER, ioctl: Ioctl = system_ioctl) -> list[TouchDevice]:
    """All touch panels; Refused `touch_devices_closed` where there are devices and none may be read."""
    paths = sorted(folder.glob("event*"), key=lambda path: (len(path.name), path.name))
    found: list[TouchDevice] = []
    closed = 0
    for path in paths:
        try:
            device = _probed(path, ioctl)
        except PermissionError:
            closed += 1
        except OSError:
            continue  # gone meanwhile, or no input device
        else:
            found += [device] if device is not None else []
    if paths and closed == len(paths):
        raise Refused("touch_devices_closed", {"count": closed})
    return found


def find_touch_device(name: str | None = None, folder: Path = FOLDER,
                      ioctl: Ioctl = system_ioctl) -> TouchDevice:
    """The panel of this name, or the only one.

    Refused `no_touch_device`, `touch_device_missing` or `several_touch_devices`.
    """
    panels = touch_devices(folder, ioctl)
    if not panels:
        raise Refused("no_touch_device")
    named = [panel for panel in panels if name in (None, panel.name)]
    known = tuple(panel.name for panel in panels)
    if not named:
        raise Refused("touch_device_missing", {"name": name, "known": known})
    if len(named) > 1:
        raise Refused("several_touch_devices", {"known": known})
    return named[0]


def open_device(device: TouchDevice, ioctl: Ioctl = system_ioctl) -> OpenDevice:
    """Open for reading, stamps on the monotonic clock; OSError where the device is gone or refuses that."""
    fd = os.open(device.path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        ioctl(fd, kernel.clock_request(), bytearray(pack("i", kernel.CLOCK_MONOTONIC)))
    except OSError:
        os.close(fd)
        raise
    return OpenDevice(fd, device, lambda: _slots_now(fd, device, ioctl))


def _probed(path: Path, ioctl: Ioctl) -> TouchDevice | None:
    """The panel at this path; None for any other input device."""
    fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        return _panel(fd, path, ioctl)
    finally:
        os.close(fd)


def _panel(fd: int, path: Path, ioctl: Ioctl) -> TouchDevice | None:
    axes = _bits(fd, kernel.bits_request(kernel.EV_ABS, _BITS_BYTES), ioctl)
    keys = _bits(fd, kernel.bits_request(kernel.EV_KEY, _BITS_BYTES), ioctl)
    pointer = kernel.INPUT_PROP_POINTER in _bits(fd, kernel.properties_request(_BITS_BYTES), ioctl)
    multitouch = {kernel.ABS_MT_SLOT, *_SLOT_CODES} <= axes
    single = {kernel.ABS_X, kernel.ABS_Y} <= axes and kernel.BTN_TOUCH in keys
    if pointer or not (multitouch or (single and kernel.BTN_TOOL_PEN not in keys)):
        return None
    codes = _SLOT_CODES[1:] if multitouch else (kernel.ABS_X, kernel.ABS_Y)
    (_, left, right, fuzz_x), (_, top, bottom, fuzz_y) = (_axis(fd, code, ioctl) for code in codes)
    if min(right - left, bottom - top) < LEAST_STEPS:
        return None
    slots = 1 + _axis(fd, kernel.ABS_MT_SLOT, ioctl)[2] if multitouch else 1
    return TouchDevice(_name(fd, ioctl), str(path), AxisRanges(left, right, bottom, top),
                       float(max(fuzz_x, fuzz_y)), multitouch, slots)


def _name(fd: int, ioctl: Ioctl) -> str:
    buffer = bytearray(_NAME_BYTES)
    ioctl(fd, kernel.name_request(_NAME_BYTES), buffer)
    return buffer.partition(b"\0")[0].decode("utf-8", "replace")


def _bits(fd: int, request: int, ioctl: Ioctl) -> set[int]:
    """The numbers of the bits set in an answer."""
    buffer = bytearray(_BITS_BYTES)
    ioctl(fd, request, buffer)
    return {8 * byte + bit for byte, bits in enumerate(buffer) for bit in range(8) if bits >> bit & 1}


def _axis(fd: int, code: int, ioctl: Ioctl) -> tuple[int, int, int, int]:
    """Present value, least, most, fuzz."""
    buffer = bytearray(kernel.ABSINFO.size)
    ioctl(fd, kernel.axis_request(code), buffer)
    value, least, most, fuzz, _flat, _resolution = kernel.ABSINFO.unpack(buffer)
    return value, least, most, fuzz


def _slots_now(fd: int, device: TouchDevice, ioctl: Ioctl) -> SlotsNow | None:
    if not device.multitouch:
        return None
    try:
        columns = [_of_slots(fd, code, device.slots, ioctl) for code in _SLOT_CODES]
        current = _axis(fd, kernel.ABS_MT_SLOT, ioctl)[0]
    except OSError:
        return None
    tools = _tools(fd, device.slots, ioctl)
    return SlotsNow(tuple(SlotNow(*one) for one in zip(*columns, tools, strict=True)), current)


def _tools(fd: int, slots: int, ioctl: Ioctl) -> tuple[int, ...]:
    """What touches in each slot; fingers where the device tells no tools apart."""
    try:
        return _of_slots(fd, kernel.ABS_MT_TOOL_TYPE, slots, ioctl)
    except OSError:
        return (kernel.MT_TOOL_FINGER,) * slots


def _of_slots(fd: int, code: int, slots: int, ioctl: Ioctl) -> tuple[int, ...]:
    """One value of every slot."""
    buffer = bytearray(Struct("I").size + slots * Struct("i").size)
    pack_into("I", buffer, 0, code)
    ioctl(fd, kernel.slots_request(slots), buffer)
    return unpack_from(f"{slots}i", buffer, 4)


PIPE_SLOTS: Final = 10  # contacts told apart; higher slot numbers are read too


def pipe_device(path: Path, ranges: Sequence[float]) -> TouchDevice:
    """The panel behind a named pipe; ranges: its values at the left, right, bottom and top edge.

    Refused `no_touch_pipe` where the path is no named pipe.
    """
    try:
        is_pipe = S_ISFIFO(path.stat().st_mode)
    except OSError:
        is_pipe = False
    if not is_pipe:
        raise Refused("no_touch_pipe", {"file": path.name})
    left, right, bottom, top = ranges
    return TouchDevice(path.name, str(path), AxisRanges(left, right, bottom, top), None, True, PIPE_SLOTS)


def open_pipe(device: TouchDevice) -> OpenDevice:
    """Open for reading, whether or not a writer is there yet; OSError where the pipe is gone."""
    return OpenDevice(os.open(device.path, os.O_RDONLY | os.O_NONBLOCK), device)
