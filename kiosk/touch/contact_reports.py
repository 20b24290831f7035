"""From input events to touches: the slots of a touch panel, and what each report changes in them.

A report is the events up to a SYN_REPORT; its touches have that event's stamp. A slot keeps its values until
an event changes them, also from one contact to the next: the kernel never repeats a value. Panels without
slots (BTN_TOUCH, ABS_X, ABS_Y) have one slot, and their contacts are numbered here.

SYN_DROPPED: the kernel's buffer was full and events were lost. Everything up to the next SYN_REPORT is
discarded, the slots are read again where the device answers, and the time in between is kept as a lost span.

The tool ("finger", "stylus", or "palm" where the panel says so) is that of the begin of a contact. Units:
device units, nanoseconds. Decisions touch-3, touch-4.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from kiosk.touch import kernel_events as kernel
from kiosk.touch.capture import Tool, Touch
from kiosk.touch.kernel_events import Event

AWAY: Final = -1
TOOLS: Final[dict[int, Tool]] = {kernel.MT_TOOL_PEN: "stylus", kernel.MT_TOOL_PALM: "palm"}


@dataclass(frozen=True)
class SlotNow:
    """One slot as the device has it now; identity -1: no contact."""

    identity: int
    x_raw: int
    y_raw: int
    tool_type: int = kernel.MT_TOOL_FINGER


@dataclass(frozen=True)
class SlotsNow:
    """All slots as the device has them now; current: the slot that the next events change."""

    slots: tuple[SlotNow, ...]
    current: int


@dataclass
class _Slot:
    """A slot by its events so far; told: the last touch given of it, None without contact."""

    identity: int = AWAY
    x_raw: int = 0
    y_raw: int = 0
    tool_type: int = kernel.MT_TOOL_FINGER
    told: Touch | None = None

    def report(self, t_ns: int) -> Iterator[Touch]:
        """The lift of a contact that has ended, and the contact that began or moved; nothing twice."""
        told = self.told
        if told is not None and told.identity != self.identity:
            yield Touch(t_ns, told.x_raw, told.y_raw, False, told.identity, told.tool)
            self.told = told = None
        moved = told is None or (told.x_raw, told.y_raw) != (self.x_raw, self.y_raw)
        if self.identity != AWAY and moved:
            tool = TOOLS.get(self.tool_type, "finger") if told is None else told.tool
            self.told = Touch(t_ns, float(self.x_raw), float(self.y_raw), True, self.identity, tool)
            yield self.told


class ContactReports:
    """Feed events in their order; each SYN_REPORT gives its touches."""

    def __init__(self, multitouch: bool, slots_now: Callable[[], SlotsNow | None]) -> None:
        """slots_now reads the device's slots; None where it cannot."""
        self.drops = 0
        self.lost_spans_ns: list[tuple[int, int]] = []
        self._multitouch, self._slots_now = multitouch, slots_now
        self._slots: dict[int, _Slot] = {}
        self._current = 0
        self._contacts = 0
        self._known_to_ns: int | None = None   # stamp of the last event that was not lost
        self._lost_from_ns: int | None = None  # None: nothing is being lost
        self._resync()
        self._touches(0)

    def feed(self, event: Event) -> list[Touch]:
        """The touches of the report that this event ends; none for any other event."""
        if event.kind == kernel.EV_SYN and event.code == kernel.SYN_DROPPED:
            self._drop(event.t_ns)
        elif event.kind == kernel.EV_SYN and event.code == kernel.SYN_REPORT:
            return self._report(event.t_ns)
        elif self._lost_from_ns is None:
            self._known_to_ns = event.t_ns
            self._change(event)
        return []

    def present(self, t_ns: int) -> list[Touch]:
        """The present contacts, as touches with this stamp."""
        told = (slot.told for slot in self._slots.values() if slot.told is not None)
        return [Touch(t_ns, one.x_raw, one.y_raw, True, one.identity, one.tool) for one in told]

    def forget_losses(self) -> None:
        """Count drops and lost spans from now on."""
        self.drops, self.lost_spans_ns = 0, []

    def _drop(self, t_ns: int) -> None:
        self.drops += 1
        if self._lost_from_ns is None:
            self._lost_from_ns = t_ns if self._known_to_ns is None else self._known_to_ns

    def _report(self, t_ns: int) -> list[Touch]:
        if self._lost_from_ns is not None:
            self.lost_spans_ns.append((self._lost_from_ns, t_ns))
            self._lost_from_ns = None
            self._resync()
        self._known_to_ns = t_ns
        return self._touches(t_ns)

    def _touches(self, t_ns: int) -> list[Touch]:
        return [touch for slot in self._slots.values() for touch in slot.report(t_ns)]

    def _resync(self) -> None:
        """Take over the slots as the device has them now; where it cannot say, they stay as they are."""
        now = self._slots_now()
        if now is None:
            return
        self._current = now.current
        for number, known in enumerate(now.slots):
            slot = self._slot(number)
            slot.identity, slot.tool_type = known.identity, known.tool_type
            slot.x_raw, slot.y_raw = known.x_raw, known.y_raw

    def _slot(self, number: int) -> _Slot:
        return self._slots.setdefault(number, _Slot())

    def _change(self, event: Event) -> None:
        if self._multitouch:
            self._change_slot(event)
        else:
            self._change_single(event)

    def _change_slot(self, event: Event) -> None:
        if event.kind != kernel.EV_ABS:
            return
        if event.code == kernel.ABS_MT_SLOT:
            self._current = event.value
            return
        slot = self._slot(self._current)
        if event.code == kernel.ABS_MT_TRACKING_ID:
            slot.identity = event.value
        elif event.code == kernel.ABS_MT_POSITION_X:
            slot.x_raw = event.value
        elif event.code == kernel.ABS_MT_POSITION_Y:
            slot.y_raw = event.value
        elif event.code == kernel.ABS_MT_TOOL_TYPE:
            slot.tool_type = event.value

    def _change_single(self, event: Event) -> None:
        slot = self._slot(0)
        if (event.kind, event.code) == (kernel.EV_ABS, kernel.ABS_X):
            slot.x_raw = event.value
        elif (event.kind, event.code) == (kernel.EV_ABS, kernel.ABS_Y):
            slot.y_raw = event.value
        elif (event.kind, event.code) == (kernel.EV_KEY, kernel.BTN_TOUCH):
            self._contacts += event.value == 1
            slot.identity = self._contacts if event.value else AWAY
        elif event.kind == kernel.EV_KEY and event.code in (kernel.BTN_TOOL_PEN, kernel.BTN_TOOL_RUBBER):
            slot.tool_type = kernel.MT_TOOL_PEN if event.value else kernel.MT_TOOL_FINGER
