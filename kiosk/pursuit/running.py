"""The running trial: a state machine fed with touches and time, without a clock of its own.

Seconds of the one clock (t_s, now_s), millimetres on the glass. Feed touches oldest first, then advance to
now. waiting -> resting (a finger on the disc) -> run_in -> window -> run_on -> over. The disc sets off
exactly rest_on_disc_s after the finger came to rest, on the clock of the samples, whatever the frame rate.

Whose touch it is: the first contact on the disc owns the trial by its identity. After a lift the same finger
comes back with a new identity; it is taken for the same when no other contact is down and it lands within
SAME_FINGER_MM of the disc or of where it lifted. Any other contact that takes over the disc while the owner
is away goes on with the trial, so that the picture answers the person, but identity_lost is recorded.

Decisions trials-1, trials-2, trials-3.
"""

from dataclasses import dataclass
from math import hypot, inf
from typing import Final, Literal

from kiosk.pursuit.trial import Outcome, TrialPlan


class OtherContacts:
    """Counts the contacts that are not the owner's and keeps when at least one of them was down."""

    def __init__(self) -> None:
        self.down: set[int] = set()
        self.touches = 0
        self._spells_s: list[tuple[float, float]] = []
        self._since_s = 0.0

    def begin(self, t_s: float) -> None:
        """Count from here: only contacts that are still down remain."""
        self._spells_s, self._since_s, self.touches = [], t_s, len(self.down)

    def feed(self, t_s: float, contact: bool, identity: int) -> None:
        """Take one sample of a contact that is not the owner's."""
        if not contact:
            self.forget(t_s, identity)
        elif identity not in self.down:
            self._since_s = self._since_s if self.down else t_s
            self.down.add(identity)
            self.touches += 1

    def forget(self, t_s: float, identity: int) -> None:
        """This contact has lifted, or has become the owner's."""
        if identity in self.down:
            self.down.discard(identity)
            if not self.down:
                self._spells_s.append((self._since_s, t_s))

    def seconds_down(self, start_s: float, end_s: float, now_s: float) -> float:
        """Seconds between start_s and end_s with at least one other contact down, as known at now_s."""
        spells_s = [*self._spells_s, *([(self._since_s, now_s)] if self.down else [])]
        return sum((max(min(to_s, end_s) - max(from_s, start_s), 0.0) for from_s, to_s in spells_s), 0.0)


Phase = Literal["waiting", "resting", "run_in", "window", "run_on", "over"]

SAME_FINGER_MM: Final = 30.0
HOLD_MM: Final = 1.0  # on within the disc's radius, off beyond it by more than this: for the picture only


@dataclass(frozen=True)
class Picture:
    """What the field shows now: the disc's centre, whether the ring is closed, how far its arcs have grown.

    on: touching and within the disc's radius (held until 1 mm beyond it). closing: 0 while waiting, growing
    to 1 in resting, 1 afterwards.
    """

    phase: Phase
    x_mm: float
    y_mm: float
    on: bool
    closing: float


class RunningTrial:
    """One attempt at one trial, from waiting for the finger to the disc's stop."""

    def __init__(self, plan: TrialPlan, rest_on_disc_s: float, return_after_lift_s: float) -> None:
        self.plan = plan
        self.outcome: Outcome = "complete"
        self.outcome_reason: str | None = None
        self.set_off_s: float | None = None      # when the disc set off; None before
        self.rest_from_s: float | None = None    # start of the owner's rest; earlier touches do not count
        self.over_s: float | None = None         # when the trial ended, however it did; None before
        self.identity_lost = False
        self.owners: list[int] = []              # identities of the owner, one more after each lift
        self.others = OtherContacts()
        self._rest_s, self._return_s = rest_on_disc_s, return_after_lift_s
        self._now_s = -inf
        self._x_mm, self._y_mm = 0.0, 0.0
        self._touching = self._on = False
        self._lifted_s: float | None = None

    @property
    def phase(self) -> Phase:
        """The phase at the latest time fed or advanced to."""
        return self._phase(self._now_s)

    def feed(self, t_s: float, x_mm: float, y_mm: float, contact: bool, identity: int = 0) -> None:
        """One sample of one contact; contact False is its lift. Samples after the end are ignored."""
        self._pass(t_s)
        if self.over_s is not None:
            return
        if self._is_owner(x_mm, y_mm, contact, identity):
            self._feed_owner(t_s, x_mm, y_mm, contact)
        else:
            self.others.feed(t_s, contact, identity)

    def feed_other(self, t_s: float, contact: bool, identity: int) -> None:
        """One sample of something that is no finger: never the owner's, counted with the other contacts."""
        self._pass(t_s)
        if self.over_s is None:
            self.others.feed(t_s, contact, identity)

    def advance(self, now_s: float) -> None:
        """Let time pass to now_s: set off, return to waiting, or end, each at its own exact time."""
        self._pass(now_s)
        self._on = self._is_on(self._now_s)

    def picture(self, now_s: float) -> Picture:
        """The picture at now_s; changes nothing."""
        x_mm, y_mm = self._disc(now_s)
        return Picture(self._phase(now_s), x_mm, y_mm, self._is_on(now_s), self._closing(now_s))

    def interrupt(self, reason: str) -> None:
        """End now because something came between: focus_lost, device_gone. Nothing once over."""
        self._break_off("interrupted", reason)

    def stop(self) -> None:
        """End now because someone pressed stop. Nothing once over."""
        self._break_off("stopped", None)

    def other_contact_s(self) -> float:
        """Seconds of the window in which at least one contact besides the owner was down."""
        if self.set_off_s is None:
            return 0.0
        start_s = self.set_off_s + self.plan.run_in_s
        return self.others.seconds_down(start_s, start_s + self.plan.window_s, self._now_s)

    def _pass(self, now_s: float) -> None:
        self._now_s = max(self._now_s, now_s)
        if self.over_s is not None:
            return
        if self.rest_from_s is not None and self.set_off_s is None \
                and self._now_s >= self.rest_from_s + self._rest_s:
            self.set_off_s = self.rest_from_s + self._rest_s
        if self._away_too_long():
            self._wait()
        if self.set_off_s is not None and self._now_s >= self.set_off_s + self.plan.end_s:
            self.over_s = self.set_off_s + self.plan.end_s

    def _is_owner(self, x_mm: float, y_mm: float, contact: bool, identity: int) -> bool:
        """Whether this sample belongs to the owner; a contact may become the owner here."""
        if self.owners and identity == self.owners[-1]:
            return True
        if not contact or self._touching:
            return False
        from_disc_mm = self._from_disc(x_mm, y_mm, self._now_s)
        on_disc = from_disc_mm <= self.plan.disc_radius_mm
        if self.owners:
            near = min(from_disc_mm, hypot(x_mm - self._x_mm, y_mm - self._y_mm)) <= SAME_FINGER_MM
            same = near and not self.others.down
            self.identity_lost |= on_disc and not same
            on_disc |= same
        if on_disc:
            self.owners.append(identity)
            self.others.forget(self._now_s, identity)
        return on_disc

    def _feed_owner(self, t_s: float, x_mm: float, y_mm: float, contact: bool) -> None:
        if contact:
            self._x_mm, self._y_mm, self._lifted_s = x_mm, y_mm, None
        elif self._touching:
            self._lifted_s = t_s
        self._touching = contact
        if self.set_off_s is None:
            self._rest(t_s)

    def _rest(self, t_s: float) -> None:
        self._on = self._is_on(t_s)
        if not self._on:
            self._wait()
        elif self.rest_from_s is None:
            self.rest_from_s = t_s
            self.others.begin(t_s)

    def _wait(self) -> None:
        """Back to waiting for a finger on the disc: whatever was recorded so far does not count."""
        if self._touching and self.owners:
            self.others.feed(self._now_s, True, self.owners[-1])
        self.rest_from_s = self.set_off_s = self._lifted_s = None
        self.owners, self.identity_lost = [], False
        self._touching = self._on = False

    def _away_too_long(self) -> bool:
        """A lift that lasted return_after_lift_s before the run-in was over."""
        if self._lifted_s is None or self.set_off_s is None:
            return False
        back_by_s = self._lifted_s + self._return_s
        return back_by_s <= self.set_off_s + self.plan.run_in_s and self._now_s > back_by_s

    def _break_off(self, outcome: Outcome, reason: str | None) -> None:
        if self.over_s is None:
            self.outcome, self.outcome_reason = outcome, reason
            self.over_s = self._now_s

    def _phase(self, now_s: float) -> Phase:
        if self.over_s is not None:
            return "over"
        if self.set_off_s is None:
            return "waiting" if self.rest_from_s is None else "resting"
        t_s, plan = now_s - self.set_off_s, self.plan
        if t_s < plan.run_in_s:
            return "run_in"
        return "window" if t_s < plan.run_in_s + plan.window_s else "run_on"

    def _closing(self, now_s: float) -> float:
        if self.set_off_s is not None:
            return 1.0
        if self.rest_from_s is None:
            return 0.0
        return min(max((now_s - self.rest_from_s) / self._rest_s, 0.0), 1.0)

    def _disc(self, now_s: float) -> tuple[float, float]:
        shown_s = now_s if self.over_s is None else min(now_s, self.over_s)
        x_mm, y_mm = self.plan.position(0.0 if self.set_off_s is None else shown_s - self.set_off_s)
        return float(x_mm), float(y_mm)

    def _from_disc(self, x_mm: float, y_mm: float, now_s: float) -> float:
        disc_x_mm, disc_y_mm = self._disc(now_s)
        return hypot(x_mm - disc_x_mm, y_mm - disc_y_mm)

    def _is_on(self, now_s: float) -> bool:
        if not self._touching:
            return False
        reach_mm = self.plan.disc_radius_mm + (HOLD_MM if self._on else 0.0)
        return self._from_disc(self._x_mm, self._y_mm, now_s) <= reach_mm
