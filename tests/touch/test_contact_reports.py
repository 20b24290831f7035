"""From events to touches by the rules of the kernel's multi-touch protocol (type B, with slots).

Source: Linux kernel documentation, Multi-touch (MT) Protocol, and Input event codes (SYN_DROPPED), from
memory; the codes stand in linux/input-event-codes.h.
"""

import pytest

from kiosk.touch.capture import Touch
from kiosk.touch.contact_reports import ContactReports, SlotNow, SlotsNow
from kiosk.touch.kernel_events import EventBytes
from tests.touch.panel import (
    ABS,
    DROPPED,
    KEY,
    MT_X,
    MT_Y,
    PALM,
    PEN_KEY,
    REPORT,
    SLOT,
    STYLUS,
    SYN,
    TOOL,
    TOUCH_KEY,
    TRACKING,
    X,
    Y,
    event,
    report,
)

MS = 1_000_000


class Panel:
    def __init__(self, multitouch=True, now=None):
        self.now = now
        self.contacts = ContactReports(multitouch, lambda: self.now)

    def __call__(self, *chunks):
        return [touch for one in EventBytes().feed(b"".join(chunks)) for touch in self.contacts.feed(one)]


def down(t_ns, identity, x, y, slot=0, *more):
    return report(t_ns, (SLOT, slot), (TRACKING, identity), *more, (MT_X, x), (MT_Y, y))


def test_a_contact_comes_moves_and_lifts_each_at_its_report_s_stamp():
    found = Panel()(down(MS, 7, 100, 200), report(5 * MS, (MT_X, 101)), report(9 * MS, (MT_Y, 198)),
                    report(12 * MS, (TRACKING, -1)))
    assert found == [Touch(MS, 100, 200, True, 7), Touch(5 * MS, 101, 200, True, 7),
                     Touch(9 * MS, 101, 198, True, 7), Touch(12 * MS, 101, 198, False, 7)]


def test_nothing_is_told_before_the_report_is_whole():
    assert Panel()(down(MS, 7, 100, 200)[:-24]) == []


def test_two_contacts_keep_their_slots_and_only_the_one_that_moved_is_told():
    found = Panel()(down(MS, 7, 100, 200), down(2 * MS, 8, 900, 50, 1),
                    report(3 * MS, (SLOT, 0), (MT_X, 110)),
                    report(4 * MS, (MT_X, 111)), report(5 * MS, (SLOT, 1), (TRACKING, -1)))
    assert [(touch.t_ns // MS, touch.identity, touch.x_raw, touch.contact) for touch in found] == [
        (1, 7, 100, True), (2, 8, 900, True), (3, 7, 110, True), (4, 7, 111, True), (5, 8, 900, False)]


def test_a_contact_that_lands_where_the_last_one_left_needs_no_position():
    """The kernel does not repeat a value that a slot has already."""
    found = Panel()(down(MS, 7, 100, 200), report(2 * MS, (TRACKING, -1)), report(3 * MS, (TRACKING, 8)))
    assert found[-1] == Touch(3 * MS, 100, 200, True, 8)


def test_a_new_identity_in_one_report_lifts_the_old_contact_where_it_was():
    found = Panel()(down(MS, 7, 100, 200), report(2 * MS, (TRACKING, 8), (MT_X, 500)))
    assert found[1:] == [Touch(2 * MS, 100, 200, False, 7), Touch(2 * MS, 500, 200, True, 8)]


def test_a_report_without_a_change_tells_nothing():
    assert len(Panel()(down(MS, 7, 100, 200), report(2 * MS), report(3 * MS, (0x3A, 40)))) == 1


@pytest.mark.parametrize(("tool_type", "tool"), [(0, "finger"), (STYLUS, "stylus"), (PALM, "palm")])
def test_what_touches_is_told_by_its_tool(tool_type, tool):
    found = Panel()(down(MS, 7, 100, 200, 0, (TOOL, tool_type)), report(2 * MS, (TRACKING, -1)))
    assert [touch.tool for touch in found] == [tool, tool]


def test_what_touches_stays_what_it_was_at_the_begin_of_the_contact():
    found = Panel()(down(MS, 7, 100, 200), report(2 * MS, (TOOL, PALM), (MT_X, 105)),
                    report(3 * MS, (TRACKING, -1)), report(4 * MS, (TRACKING, 8), (MT_X, 9)))
    assert [touch.tool for touch in found] == ["finger", "finger", "finger", "palm"]


def test_a_panel_without_slots_numbers_its_contacts():
    found = Panel(multitouch=False)(
        event(MS, KEY, TOUCH_KEY, 1), report(MS, (X, 10), (Y, 20)), report(2 * MS, (X, 11)),
        event(3 * MS, KEY, TOUCH_KEY, 0), report(3 * MS), report(4 * MS, (X, 50)),
        event(5 * MS, KEY, TOUCH_KEY, 1), report(5 * MS))
    assert found == [Touch(MS, 10, 20, True, 1), Touch(2 * MS, 11, 20, True, 1),
                     Touch(3 * MS, 11, 20, False, 1), Touch(5 * MS, 50, 20, True, 2)]


def test_a_stylus_on_a_panel_without_slots_is_told_by_its_key():
    found = Panel(multitouch=False)(
        event(MS, KEY, PEN_KEY, 1), event(MS, KEY, TOUCH_KEY, 1), report(MS, (X, 10), (Y, 20)),
        event(2 * MS, KEY, TOUCH_KEY, 0), event(2 * MS, KEY, PEN_KEY, 0), report(2 * MS),
        event(3 * MS, KEY, TOUCH_KEY, 1), report(3 * MS))
    assert [touch.tool for touch in found] == ["stylus", "stylus", "finger"]


def test_the_pointer_that_a_panel_with_slots_also_plays_is_not_a_second_contact():
    found = Panel()(event(MS, ABS, X, 100), event(MS, ABS, Y, 200), event(MS, KEY, TOUCH_KEY, 1),
                    down(MS, 7, 100, 200))
    assert len(found) == 1


def test_after_dropped_events_all_is_discarded_to_the_report_s_end_and_the_span_is_kept():
    panel = Panel()
    found = panel(down(MS, 7, 100, 200), event(30 * MS, SYN, DROPPED, 0), report(31 * MS, (MT_X, 555)),
                  report(35 * MS, (MT_X, 120)))
    assert [(touch.t_ns // MS, touch.x_raw) for touch in found] == [(1, 100), (35, 120)]
    assert (panel.contacts.drops, panel.contacts.lost_spans_ns) == (1, [(MS, 31 * MS)])


def test_after_dropped_events_the_slots_are_asked_for_anew():
    panel = Panel()
    panel(down(MS, 7, 100, 200), down(2 * MS, 8, 900, 50, 1))
    panel.now = SlotsNow((SlotNow(-1, 130, 210), SlotNow(8, 905, 50), SlotNow(9, 4, 5, PALM)), current=1)
    found = panel(event(30 * MS, SYN, DROPPED, 0), report(31 * MS, (SLOT, 5), (MT_X, 555)),
                  report(35 * MS, (MT_X, 906)))
    assert found == [
        Touch(31 * MS, 100, 200, False, 7), Touch(31 * MS, 905, 50, True, 8),
        Touch(31 * MS, 4, 5, True, 9, "palm"), Touch(35 * MS, 906, 50, True, 8)]


def test_a_second_drop_before_the_report_s_end_makes_one_span_of_both():
    panel = Panel()
    panel(down(MS, 7, 100, 200), event(30 * MS, SYN, DROPPED, 0), event(40 * MS, SYN, DROPPED, 0),
          event(41 * MS, SYN, REPORT, 0))
    assert (panel.contacts.drops, panel.contacts.lost_spans_ns) == (2, [(MS, 41 * MS)])


def test_what_is_on_the_glass_at_opening_is_there():
    panel = Panel(now=SlotsNow((SlotNow(3, 40, 50), SlotNow(-1, 0, 0)), current=0))
    assert panel.contacts.present(MS) == [Touch(MS, 40, 50, True, 3)]
    assert panel(report(2 * MS, (MT_X, 41))) == [Touch(2 * MS, 41, 50, True, 3)]
