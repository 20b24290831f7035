"""The reader on a pipe: every touch once, none from before, and a device that goes and comes again."""

import os
import threading
import time

import pytest

from kiosk.touch.capture import Capture, Touch
from kiosk.touch.contact_reports import SlotNow, SlotsNow
from tests.touch.panel import (
    ABS,
    DROPPED,
    KEY,
    MT_X,
    MT_Y,
    PLAIN,
    RANGES,
    SLOT,
    STYLUS,
    SYN,
    TOOL,
    TOUCH_KEY,
    TRACKING,
    Pipe,
    X,
    Y,
    drain_until,
    event,
    report,
    wait_until,
)


def now():
    return time.monotonic_ns() // 1000 * 1000


def down(t_ns, identity=7, x=100, y=200, slot=0):
    return report(t_ns, (SLOT, slot), (TRACKING, identity), (MT_X, x), (MT_Y, y))


@pytest.fixture
def pipe():
    made = Pipe()
    yield made
    made.unplug()


@pytest.fixture
def reader(pipe):
    with pipe.reader() as made:
        yield made


def test_the_reader_is_a_capture_with_the_device_s_ranges_and_filter(reader):
    capture: Capture = reader
    assert (capture.source, capture.clock_name) == ("kernel", "kernel_monotonic")
    assert (capture.ranges, capture.input_fuzz, capture.lost_events) == (RANGES, 2.0, 0)
    assert capture.lost_spans_ns == ()


def test_touches_come_with_the_kernel_s_stamp_and_only_once(pipe, reader):
    reader.start()
    stamps = [now() + at for at in (0, 1000, 2000)]
    pipe.write(down(stamps[0]), report(stamps[1], (MT_X, 101)), report(stamps[2], (TRACKING, -1)))
    assert drain_until(reader, 3) == [
        Touch(stamps[0], 100, 200, True, 7), Touch(stamps[1], 101, 200, True, 7),
        Touch(stamps[2], 101, 200, False, 7)]
    assert reader.drain() == []


def test_what_came_before_starting_and_after_stopping_is_forgotten(pipe, reader):
    pipe.write(down(now()), report(now(), (TRACKING, -1)))
    pipe.settle(reader)
    reader.start()
    pipe.write(down(now(), identity=8))
    assert [touch.identity for touch in drain_until(reader, 1)] == [8]
    pipe.write(report(now(), (MT_X, 300)))
    pipe.settle(reader)
    reader.stop()
    pipe.write(report(now(), (MT_X, 301)))
    pipe.settle(reader)
    assert reader.drain() == []


def test_a_finger_that_rests_on_the_glass_at_the_start_is_there_from_the_start(pipe, reader):
    """The kernel tells nothing of a finger that does not move."""
    pipe.write(down(now()))
    pipe.settle(reader)
    before_ns = time.monotonic_ns()
    reader.start()
    [touch] = reader.drain()
    assert before_ns <= touch.t_ns <= time.monotonic_ns()
    assert (touch.x_raw, touch.y_raw, touch.contact, touch.identity) == (100, 200, True, 7)


def test_a_report_under_way_at_the_start_keeps_the_order_of_time(pipe, reader):
    earlier_ns = now()
    reader.start()
    pipe.write(down(earlier_ns), report(now(), (MT_X, 101)))
    first, second = drain_until(reader, 2)
    assert earlier_ns < first.t_ns <= second.t_ns


def test_dropped_events_are_counted_and_their_span_is_kept_until_the_next_start(pipe, reader):
    reader.start()
    stamps = [now() + 1000 * at for at in range(4)]
    pipe.write(down(stamps[0]), event(stamps[1], SYN, DROPPED, 0), report(stamps[2], (MT_X, 555)),
               report(stamps[3], (MT_X, 120)))
    assert [touch.x_raw for touch in drain_until(reader, 2)] == [100, 120]
    reader.stop()
    assert (reader.lost_events, reader.lost_spans_ns) == (1, ((stamps[0], stamps[2]),))
    reader.start()
    pipe.write(report(now(), (MT_X, 130)))
    assert [touch.x_raw for touch in drain_until(reader, 2)] == [120, 130]
    assert (reader.lost_events, reader.lost_spans_ns) == (0, ())


def test_a_stylus_is_told_from_a_finger(pipe, reader):
    reader.start()
    pipe.write(report(now(), (TRACKING, 4), (TOOL, STYLUS), (MT_X, 5), (MT_Y, 6)))
    assert [touch.tool for touch in drain_until(reader, 1)] == ["stylus"]


def test_a_panel_of_one_contact_is_read_too():
    pipe = Pipe(PLAIN)
    with pipe.reader() as reader:
        reader.start()
        pipe.write(event(now(), KEY, TOUCH_KEY, 1), report(now(), (X, 10), (Y, 20)))
        [touch] = drain_until(reader, 1)
    assert (touch.x_raw, touch.y_raw, touch.contact) == (10, 20, True)


def test_what_the_device_has_on_the_glass_at_opening_is_known():
    pipe = Pipe(slots_now=lambda: SlotsNow((SlotNow(3, 40, 50),), 0))
    with pipe.reader() as reader:
        reader.start()
        assert [(touch.x_raw, touch.identity) for touch in reader.drain()] == [(40, 3)]


def test_a_device_that_is_gone_gives_its_last_touches_and_then_an_error(pipe, reader):
    reader.start()
    pipe.write(down(now()))
    pipe.unplug()
    wait_until(lambda: reader.gone)
    assert reader.gone
    assert [touch.identity for touch in reader.drain()] == [7]
    with pytest.raises(OSError, match="No such device"):
        reader.drain()


def test_a_device_that_came_back_is_opened_at_the_next_start(pipe, reader):
    reader.start()
    pipe.unplug()
    wait_until(lambda: reader.gone)
    reader.start()
    assert pipe.opened == 2 and not reader.gone
    pipe.write(down(now(), identity=9))
    assert [touch.identity for touch in drain_until(reader, 1)] == [9]


def test_while_the_device_stays_away_every_start_ends_in_the_same_error(pipe, reader):
    pipe.unplug()
    wait_until(lambda: reader.gone)
    reader._open_device, opens = _absent, reader._open_device
    for _ in range(3):
        reader.start()
        with pytest.raises(OSError, match="No such device"):
            reader.drain()
    reader._open_device = opens
    reader.start()
    assert reader.drain() == [] and not reader.gone


def _absent():
    raise OSError(2, "No such file")


def test_a_device_that_was_never_there_is_an_error_at_once(pipe):
    pipe.open = _absent
    with pytest.raises(OSError, match="No such file"):
        pipe.reader()


def test_closing_ends_the_thread_and_gives_every_descriptor_back():
    threads, before = threading.active_count(), len(os.listdir("/proc/self/fd"))
    pipe = Pipe()
    for _ in range(5):
        with pipe.reader() as reader:
            reader.start()
            pipe.write(down(now()))
            drain_until(reader, 1)
            assert threading.active_count() == threads + 1
    pipe.unplug()
    assert (threading.active_count(), len(os.listdir("/proc/self/fd"))) == (threads, before)


def test_closing_twice_is_closing_once(reader):
    reader.close()
    reader.close()


def test_a_fault_in_the_thread_does_not_pass_for_a_hand_at_rest(pipe, reader, monkeypatch):
    monkeypatch.setattr(threading, "excepthook", lambda arguments: None)
    reader._contacts.feed = None
    reader.start()
    pipe.write(down(now()))
    wait_until(lambda: reader.gone)
    with pytest.raises(OSError, match="the reader ended"):
        reader.drain()


def test_events_cut_in_the_middle_are_put_together(pipe, reader):
    reader.start()
    data = down(now()) + event(now(), ABS, MT_X, 150) + event(now(), SYN, 0, 0)
    for at in range(0, len(data), 7):
        pipe.write(data[at:at + 7])
        time.sleep(0.002)
    assert [touch.x_raw for touch in drain_until(reader, 2)] == [100, 150]
