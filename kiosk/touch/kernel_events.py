"""The input events of the Linux kernel: their bytes, their codes, and the requests a device answers.

One event is struct input_event: the two longs of its time stamp (seconds, microseconds), type, code, value.
All numbers are those of linux/input.h and linux/input-event-codes.h. Decision architecture-7.
"""

from collections.abc import Iterator
from struct import Struct, calcsize
from typing import Final, NamedTuple

EVENT: Final = Struct("llHHi")

EV_SYN, EV_KEY, EV_ABS = 0x00, 0x01, 0x03
SYN_REPORT, SYN_DROPPED = 0, 3
ABS_X, ABS_Y = 0x00, 0x01
ABS_MT_SLOT, ABS_MT_POSITION_X, ABS_MT_POSITION_Y = 0x2F, 0x35, 0x36
ABS_MT_TOOL_TYPE, ABS_MT_TRACKING_ID = 0x37, 0x39
BTN_TOOL_PEN, BTN_TOOL_RUBBER, BTN_TOUCH = 0x140, 0x141, 0x14A
MT_TOOL_FINGER, MT_TOOL_PEN, MT_TOOL_PALM = 0x00, 0x01, 0x02
INPUT_PROP_POINTER: Final = 0x00  # a touchpad: it moves a pointer and is not looked through
CLOCK_MONOTONIC: Final = 1

_READ: Final = 2
_WRITE: Final = 1
ABSINFO: Final = Struct("6i")  # value, minimum, maximum, fuzz, flat, resolution


class Event(NamedTuple):
    """One event; t_ns on the clock the device was set to, whole microseconds."""

    t_ns: int
    kind: int
    code: int
    value: int


class EventBytes:
    """Events out of bytes that may be cut anywhere."""

    def __init__(self) -> None:
        self._rest = b""

    def feed(self, data: bytes) -> Iterator[Event]:
        """The events completed by these bytes; what is left over waits for the next."""
        data = self._rest + data
        whole = len(data) - len(data) % EVENT.size
        self._rest = data[whole:]
        for seconds, microseconds, kind, code, value in EVENT.iter_unpack(data[:whole]):
            yield Event(seconds * 1_000_000_000 + microseconds * 1000, kind, code, value)


def packed(t_ns: int, kind: int, code: int, value: int) -> bytes:
    """The bytes of one event, its stamp cut to whole microseconds.

    >>> [event] = EventBytes().feed(packed(1_234_567_891_234, EV_ABS, ABS_X, -7))
    >>> event == (1_234_567_891_000, 3, 0, -7)
    True
    """
    return EVENT.pack(t_ns // 1_000_000_000, t_ns % 1_000_000_000 // 1000, kind, code, value)


def request(number: int, size: int, direction: int = _READ) -> int:
    """An ioctl request of the input layer: direction, size of the answer, the letter E, number.

    >>> hex(request(0x06, 256)), hex(request(0xA0, 4, 1))  # EVIOCGNAME(256), EVIOCSCLOCKID
    ('0x81004506', '0x400445a0')
    """
    return direction << 30 | size << 16 | ord("E") << 8 | number


def name_request(size: int) -> int:
    """EVIOCGNAME: the device's name, ended by a zero byte."""
    return request(0x06, size)


def properties_request(size: int) -> int:
    """EVIOCGPROP: its properties, one bit each."""
    return request(0x09, size)


def slots_request(slots: int) -> int:
    """EVIOCGMTSLOTS: one value of every slot; asked with the code in the first word."""
    return request(0x0A, calcsize("I") + slots * calcsize("i"))


def bits_request(kind: int, size: int) -> int:
    """EVIOCGBIT: which codes of this type it can send, one bit each."""
    return request(0x20 + kind, size)


def axis_request(code: int) -> int:
    """EVIOCGABS: present value and range of one axis."""
    return request(0x40 + code, ABSINFO.size)


def clock_request() -> int:
    """EVIOCSCLOCKID: the clock of its stamps."""
    return request(0xA0, calcsize("i"), _WRITE)
