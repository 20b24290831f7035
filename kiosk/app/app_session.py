"""The kiosk from morning to night: before the door while the store is locked, at the desk while it is open.

When the key is dropped the clinic goes with everything it knew; a visit that was going on stays in the store
as far as it came and is offered again. Over an open clinic the door takes whoever takes over, is added, or
changes their passphrase. Decision security-1.
"""

from kiosk.app import presence
from kiosk.app.dependencies import Stage
from kiosk.app.driver import Clinic
from kiosk.app.effects import carry_out, follow
from kiosk.app.entry import Outside
from kiosk.app.gate import Gate
from kiosk.app.session import Session
from kiosk.app.tablet import as_calibration
from kiosk.staff import sign_in
from norms import Refusal


class Shift:
    """One window, and who has it now."""

    def __init__(self, outside: Outside) -> None:
        self.outside = outside
        self.clinic: Clinic | None = None
        self.gate: Gate | None = None
        self._porch: Stage | None = None  # the door's own stage, before the tablet's calibration is known
        session = outside.door.session
        self._was_open = session is not None
        if session is None:
            self._lock_up(None)
        else:  # opened by the command line: nobody has stood before the screen yet
            self.clinic = Clinic(outside.make_kit(session), carry_out, follow)

    def frame(self) -> None:
        """One picture; time is looked at first, so that a touch which wakes the tablet comes too late."""
        self._watch()
        if self.gate is not None:
            self.gate.frame()
        elif self.clinic is not None:
            self.clinic.frame()
        if self.gate is not None and self.gate.left:
            self._through(self.gate)
        elif self.clinic is not None and self.gate is None and self.clinic.at_door is not None:
            self._over(self.clinic)

    def interrupt(self, reason: str) -> None:
        """Something came between (focus_lost)."""
        if self.clinic is not None:
            self.clinic.interrupt(reason)

    def _watch(self) -> None:
        """Whether the key may still be held; when it is dropped, by whatever, the screen is locked."""
        session = self.outside.door.session
        if session is not None:
            in_trial = self.clinic is not None and presence.in_trial(self.clinic)
            session.pass_time(in_trial=in_trial)
        is_open = self.outside.door.session is not None
        if self._was_open and not is_open:
            self._lock_up(Refusal("store_locked"))
        self._was_open = is_open

    def _lock_up(self, reason: Refusal | None) -> None:
        """The neutral screen, or the set-up where there is no store; what the clinic knew is gone."""
        if self.clinic is not None:
            presence.put_down(self.clinic)
        if self._porch is None:
            self._porch = self.outside.make_stage(as_calibration(None, self.outside.window_px))
        self.clinic = None
        known = self.outside.door.known()
        self.gate = Gate(self.outside, self._porch, sign_in.closed(self.outside.now_local(), known=known,
                                                                note=reason))

    def _over(self, clinic: Clinic) -> None:
        """The door over the open desk."""
        purpose, clinic.at_door = clinic.at_door, None
        if purpose is not None:
            state = sign_in.over_open(self.outside.now_local(), purpose)
            self.gate = Gate(self.outside, clinic.stage, state)

    def _through(self, gate: Gate) -> None:
        """Whoever stood at the door is through, or has gone back."""
        session, self.gate = self.outside.door.session, None
        if session is None:
            self._lock_up(None)
        elif self.clinic is None:
            self.clinic = self._opened(session)
        else:
            presence.come_back(self.clinic, self.outside.make_kit(session), passed=gate.passed)

    def _opened(self, session: Session) -> Clinic:
        """The desk, for someone who has just given a passphrase."""
        if self._porch is not None:
            self._porch.close()
            self._porch = None
        clinic = Clinic(self.outside.make_kit(session), carry_out, follow)
        presence.unlocked(clinic)
        return clinic
