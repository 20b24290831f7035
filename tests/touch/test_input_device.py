"""Which input devices are touch panels. No real device was at hand: the kernel's answers are played here.

The answers have the layouts of linux/input.h: bit fields, struct input_absinfo (value, minimum, maximum,
fuzz, flat, resolution), a code word and one value for each slot.
"""

import os
import struct

import pytest

from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges
from kiosk.touch.contact_reports import SlotNow
from kiosk.touch.input_device import find_touch_device, open_device, touch_devices

MT_AXES = {0x00, 0x01, 0x2F, 0x35, 0x36, 0x37, 0x39}
TOUCH_KEY, PEN_KEY = 0x14A, 0x140
POINTER, DIRECT = 0, 1


class Machine:
    """A folder of devices that answer as the kernel does."""

    def __init__(self, folder):
        self.folder, self.clocks, self._devices = folder, [], {}

    def add(self, number, name, axes=MT_AXES, keys=(TOUCH_KEY,), properties=(DIRECT,), x=(0, 16383, 2),
            y=(0, 10239, 3), slots=None, clock=True):
        path = self.folder / f"event{number}"
        path.write_bytes(b"")
        self._devices[path.stat().st_ino] = {
            "name": name, "axes": axes, "keys": keys, "properties": properties, "clock": clock,
            "ranges": {0x00: x, 0x35: x, 0x01: y, 0x36: y, 0x2F: (0, 9, 0)}, "slots": slots or {}}
        return path

    def ioctl(self, fd, request, buffer):
        device = self._devices.get(os.fstat(fd).st_ino)
        if device is None:
            raise OSError(25, "not a typewriter")
        number, size = request & 0xFF, request >> 16 & 0x3FFF
        assert request >> 8 & 0xFF == ord("E") and size <= len(buffer)
        if number == 0xA0:
            self.clocks.append(struct.unpack("i", buffer)[0])
            if not device["clock"]:
                raise OSError(22, "invalid")
        elif number == 0x0A:
            [code] = struct.unpack_from("I", buffer)
            if code not in device["slots"]:
                raise OSError(22, "invalid")
            struct.pack_into(f"{size // 4 - 1}i", buffer, 4, *device["slots"][code])
        elif number >= 0x40:
            least, most, fuzz = device["ranges"][number - 0x40]
            buffer[:24] = struct.pack("6i", 3 if number == 0x6F else 0, least, most, fuzz, 0, 0)
        elif number == 0x06:
            buffer[:len(device["name"]) + 1] = device["name"].encode() + b"\0"
        else:
            for bit in {0x09: device["properties"], 0x21: device["keys"], 0x23: device["axes"]}[number]:
                buffer[bit // 8] |= 1 << bit % 8
        return 0


@pytest.fixture
def machine(tmp_path):
    return Machine(tmp_path)


def names(machine):
    return [device.name for device in touch_devices(machine.folder, machine.ioctl)]


def test_a_panel_is_found_with_its_ranges_its_filter_and_its_slots(machine):
    machine.add(0, "Invented keyboard", axes=(), keys=(30, 31), properties=())
    path = machine.add(3, "Invented panel")
    device = find_touch_device(None, machine.folder, machine.ioctl)
    assert device.ranges == AxisRanges(left=0, right=16383, bottom=10239, top=0)
    assert (device.name, device.path, device.multitouch) == ("Invented panel", str(path), True)
    assert (device.fuzz, device.slots) == (3.0, 10)


@pytest.mark.parametrize("odd", [
    {"x": (0, 0, 0), "y": (0, 0, 0)}, {"y": (0, 0, 0)}, {"x": (0, 99, 0)}, {"properties": (POINTER,)},
    {"axes": {0x00, 0x01}, "keys": (TOUCH_KEY, PEN_KEY)}, {"axes": {0x00, 0x01}, "keys": (0x110,)},
    {"axes": MT_AXES - {0x36}, "keys": ()}])
def test_what_only_looks_like_a_panel_is_not_taken(machine, odd):
    """A barcode reader of range 0 to 0, a touchpad, a stylus-only device, a joystick."""
    machine.add(0, "Odd", **odd)
    machine.add(1, "Invented panel")
    assert names(machine) == ["Invented panel"]


def test_a_panel_of_one_contact_is_found_too(machine):
    machine.add(0, "Plain panel", axes={0x00, 0x01})
    [device] = touch_devices(machine.folder, machine.ioctl)
    assert (device.multitouch, device.slots, device.ranges.bottom) == (False, 1, 10239)


def test_devices_come_in_the_order_of_their_numbers(machine):
    for number in (10, 9, 1):
        machine.add(number, f"Panel {number}")
    assert names(machine) == ["Panel 1", "Panel 9", "Panel 10"]


def test_a_file_that_is_no_input_device_is_passed_over(machine):
    (machine.folder / "event5").write_bytes(b"")
    machine.add(6, "Invented panel")
    assert names(machine) == ["Invented panel"]


def test_of_several_panels_the_named_one_is_taken(machine):
    machine.add(0, "Left")
    machine.add(1, "Right")
    assert find_touch_device("Right", machine.folder, machine.ioctl).path.endswith("event1")


@pytest.mark.parametrize(("panels", "name", "code", "values"), [
    ([], None, "no_touch_device", {}),
    (["Left"], "Right", "touch_device_missing", {"name": "Right", "known": ("Left",)}),
    (["Left", "Right"], None, "several_touch_devices", {"known": ("Left", "Right")}),
    (["Twin", "Twin"], "Twin", "several_touch_devices", {"known": ("Twin", "Twin")})])
def test_no_panel_is_guessed(machine, panels, name, code, values):
    for number, panel in enumerate(panels):
        machine.add(number, panel)
    with pytest.raises(Refused) as refused:
        find_touch_device(name, machine.folder, machine.ioctl)
    assert (refused.value.code, dict(refused.value.values)) == (code, values)


def test_devices_that_may_not_be_read_are_told_from_none(machine):
    machine.add(0, "Invented panel")

    def closed(fd, request, buffer):
        raise PermissionError(13, "permission denied")

    with pytest.raises(Refused) as refused:
        find_touch_device(None, machine.folder, closed)
    assert (refused.value.code, refused.value.values["count"]) == ("touch_devices_closed", 1)


def test_opening_puts_the_stamps_on_the_monotonic_clock(machine):
    machine.add(0, "Invented panel")
    opened = open_device(find_touch_device(None, machine.folder, machine.ioctl), machine.ioctl)
    os.close(opened.fd)
    assert machine.clocks == [1]  # CLOCK_MONOTONIC, time.h


def test_a_device_that_keeps_another_clock_is_not_opened(machine):
    machine.add(0, "Invented panel", clock=False)
    device = find_touch_device(None, machine.folder, machine.ioctl)
    before = len(os.listdir("/proc/self/fd"))
    with pytest.raises(OSError, match="invalid"):
        open_device(device, machine.ioctl)
    assert len(os.listdir("/proc/self/fd")) == before


@pytest.mark.parametrize("tools", [None, [0, 1, 0, 0, 0, 0, 0, 0, 0, 0]])
def test_the_slots_are_read_from_the_device(machine, tools):
    slots = {0x39: [5, 8] + [-1] * 8, 0x35: [100, 200] + [0] * 8, 0x36: [300, 400] + [0] * 8}
    machine.add(0, "Invented panel", slots=slots | ({} if tools is None else {0x37: tools}))
    opened = open_device(find_touch_device(None, machine.folder, machine.ioctl), machine.ioctl)
    now = opened.slots_now()
    os.close(opened.fd)
    assert now.slots[:3] == (SlotNow(5, 100, 300), SlotNow(8, 200, 400, 0 if tools is None else 1),
                             SlotNow(-1, 0, 0))
    assert (len(now.slots), now.current) == (10, 3)


def test_a_device_that_cannot_say_its_slots_says_nothing(machine):
    machine.add(0, "Invented panel")
    opened = open_device(find_touch_device(None, machine.folder, machine.ioctl), machine.ioctl)
    assert opened.slots_now() is None
    os.close(opened.fd)
