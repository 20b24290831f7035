"""The kiosk from its start on: sign-in while the store is locked, staff's screens while it is open.

When the key is dropped everything the screens knew goes with it; a visit that was going on stays in the store
as far as it came and is offered again. Over an open kiosk sign-in takes whoever takes over, is added, or
changes their passphrase. Decision security-1.
"""

from dataclasses import replace

from kiosk.app.dependencies import Dependencies, Stage, StartDependencies
from kiosk.app.driver import KioskDriver
from kiosk.app.effects import carry_out, follow
from kiosk.app.session import Session
from kiosk.app.sign_in_screens import SignInScreens
from kiosk.app.tablet import as_calibration
from kiosk.staff import sign_in
from kiosk.staff.accounts import Accounts, ListAccounts
from kiosk.staff.lock import Locked, PassphraseGiven
from kiosk.staff.screen import ShowToday
from norms import Refusal


class AppSession:
    """One window, and what it shows now. driver: None while the store is locked."""

    def __init__(self, start: StartDependencies) -> None:
        self.start = start
        self.driver: KioskDriver | None = None
        self.sign_in_screens: SignInScreens | None = None
        self._stage: Stage | None = None  # of sign-in, before the tablet's calibration is known
        session = start.store_access.session
        self._was_open = session is not None
        if session is None:
            self._lock_up(None)
        else:  # opened by the command line: nobody has stood before the screen yet
            self.driver = KioskDriver(start.make_dependencies(session), carry_out, follow)

    def frame(self) -> None:
        """One picture; time is looked at first, so that a touch which wakes the tablet comes too late."""
        self._watch()
        if self.sign_in_screens is not None:
            self.sign_in_screens.frame()
            if self.sign_in_screens.left:
                self._signed_in(self.sign_in_screens)
        elif self.driver is not None:
            self.driver.frame()
            if self.driver.sign_in_for is not None:
                self._sign_in_over(self.driver, self.driver.sign_in_for)

    def interrupt(self, reason: str) -> None:
        """Something came between (focus_lost)."""
        if self.driver is not None:
            self.driver.interrupt(reason)

    def _watch(self) -> None:
        """Whether the key may still be held; when it is dropped, by whatever, the screen is locked.

        Never while a trial runs, or one that has just ended is not kept yet.
        """
        session = self.start.store_access.session
        if session is not None:
            runner = None if self.driver is None else self.driver.runner
            session.pass_time(in_trial=runner is not None and runner.in_trial)
        is_open = self.start.store_access.session is not None
        if self._was_open and not is_open:
            self._lock_up(Refusal("store_locked"))
        self._was_open = is_open

    def _lock_up(self, reason: Refusal | None) -> None:
        """The neutral screen, or the set-up where there is no store; what the screens knew is gone.

        A running trial stays in the journal as far as it came.
        """
        if self.driver is not None:
            self.driver.close()
        if self._stage is None:
            self._stage = self.start.make_stage(as_calibration(None, self.start.window_px))
        self.driver = None
        known = self.start.store_access.known()
        closed = sign_in.closed(self.start.now_local(), known=known, note=reason)
        self.sign_in_screens = SignInScreens(self.start, self._stage, closed)

    def _sign_in_over(self, driver: KioskDriver, purpose: sign_in.Purpose) -> None:
        driver.sign_in_for = None
        state = sign_in.over_open(self.start.now_local(), purpose)
        self.sign_in_screens = SignInScreens(self.start, driver.stage, state)

    def _signed_in(self, over: SignInScreens) -> None:
        """Whoever signed in is through, or has gone back."""
        session, self.sign_in_screens = self.start.store_access.session, None
        if session is None:
            self._lock_up(None)
        elif self.driver is None:
            self.driver = self._opened(session)
        else:
            come_back(self.driver, self.start.make_dependencies(session), passed=over.passed)

    def _opened(self, session: Session) -> KioskDriver:
        """For someone who has just given a passphrase: no PIN is asked; one is chosen where there is none."""
        if self._stage is not None:
            self._stage.close()
            self._stage = None
        driver = KioskDriver(self.start.make_dependencies(session), carry_out, follow)
        if isinstance(driver.state.screen, Locked):
            driver.carry_out(ShowToday())
        return driver


def come_back(driver: KioskDriver, deps: Dependencies, *, passed: bool) -> None:
    """Back from sign-in over the open kiosk. passed: a passphrase was given there, perhaps another's."""
    other = deps.at_work.id != driver.deps.at_work.id
    driver.deps = deps
    driver.know(replace(driver.context, at_work=deps.at_work))
    if driver.runner is not None:
        driver.runner.archive = deps.archive
        driver.runner.show_again()
    driver.stage.on_action = driver.act
    driver.draw_anew()
    if passed:
        driver.on_result(PassphraseGiven(other, deps.pins.known()))
    elif isinstance(driver.state.screen, Accounts):
        driver.carry_out(ListAccounts())
