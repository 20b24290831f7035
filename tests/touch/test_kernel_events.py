"""The kernel's bytes and requests against the numbers of linux/input.h.

The requests were printed by a C program compiled against that header (Linux 6.1, x86-64).
"""

import struct

import pytest

from kiosk.touch import kernel_events as kernel
from tests.touch import panel


@pytest.mark.parametrize(("asked", "printed"), [
    (kernel.clock_request(), 0x400445A0), (kernel.name_request(256), 0x81004506),
    (kernel.properties_request(4), 0x80044509), (kernel.axis_request(0x35), 0x80184575),
    (kernel.bits_request(kernel.EV_ABS, 8), 0x80084523), (kernel.slots_request(10), 0x802C450A),
    (kernel.bits_request(kernel.EV_KEY, 96), 0x80604521)])
def test_a_request_is_the_number_the_header_makes_of_it(asked, printed):
    assert asked == printed


def test_an_event_is_as_long_as_the_header_s_structure():
    assert kernel.EVENT.size == struct.calcsize("l") * 2 + 8


@pytest.mark.parametrize("cut", [1, 7, 23, 24, 25, 48, 1000])
def test_bytes_may_be_cut_anywhere(cut):
    data = b"".join(panel.event(10**12 + 1000 * at, 3, 0x35, at - 5) for at in range(20))
    events = kernel.EventBytes()
    found = [one for at in range(0, len(data), cut) for one in events.feed(data[at:at + cut])]
    assert found == [(10**12 + 1000 * at, 3, 0x35, at - 5) for at in range(20)]
