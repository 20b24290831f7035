"""The screens of sign-in, driven frame by frame: nothing of a person tested is known here.

`left` says that there is no more to do here; `passed` whether a passphrase opened the store meanwhile.
"""

from dataclasses import replace
from typing import Final

from kiosk.app.dependencies import Stage, StartDependencies
from kiosk.app.last_drawn import LastDrawn
from kiosk.app.printing import PrintJob
from kiosk.base.errors import KioskError, Refused
from kiosk.report.plain_sheet import plain_sheet
from kiosk.staff import sign_in
from kiosk.staff.screen import Effect
from kiosk.staff.sign_in import Purpose, SignInState, Stepped, recovery_words, sign_in_view
from kiosk.visits.actions import Action
from norms import Refusal

SHEET_TAG: Final = "recovery"


class SignInScreens:
    """Sign-in from its first screen until it was left."""

    def __init__(self, start: StartDependencies, stage: Stage, state: SignInState) -> None:
        self.start, self.stage, self.state = start, stage, state
        self.left = self.passed = False
        self._drawn = LastDrawn()
        self._waiting: tuple[Effect, ...] = ()
        self._printing: PrintJob | None = None
        stage.on_action = self.act

    def act(self, action: Action) -> None:
        """What was chosen or typed."""
        if self.start.store_access.session is not None:
            self.start.store_access.session.touched()
        self._take(sign_in.act(self.state, action, self.start.now_local()))

    def frame(self) -> None:
        """One picture; what takes time is done after the screen that says so was drawn."""
        due, self._waiting = self._waiting, ()
        self._take(sign_in.tick(self.state, self.start.now_local(), self.start.power()))
        self._follow_print()
        self._show()
        self.stage.draw()
        for effect in due:
            self._carry_out(effect)

    def _take(self, stepped: Stepped) -> None:
        self.state, effects = stepped
        self._waiting += tuple(effect for effect in effects if effect.slow)
        for effect in effects:
            if not effect.slow:
                self._carry_out(effect)

    def _carry_out(self, effect: Effect) -> None:
        """One effect; what is refused is told on the screen."""
        try:
            match effect:
                case sign_in.Leave():
                    self._leave()
                case sign_in.CheckStrength():
                    self.start.store_access.check_words(self.state.written.text)
                    self.state = sign_in.strong_enough(self.state)
                case sign_in.PrintCode():
                    self._print_code()
                case sign_in.Fulfil(purpose):
                    self._fulfil(purpose)
        except KioskError as refusal:
            self.state = sign_in.refused(self.state, Refusal(refusal.code, dict(refusal.values)))

    def _fulfil(self, purpose: Purpose) -> None:
        """What was typed, done; a new recovery code is shown."""
        state, store_access = self.state, self.start.store_access
        match purpose:
            case Purpose.SET_UP:
                code = store_access.set_up(state.place, state.name, state.passphrase, state.roles)
                self.state = sign_in.code_told(state, code)
            case Purpose.RECOVER:
                code = store_access.recover(state.recovery, state.name, state.passphrase)
                self.state = sign_in.code_told(state, code)
            case Purpose.SIGN_IN:
                store_access.sign_in(state.name, state.passphrase)
                self.passed = True
                self._leave()
            case Purpose.ADD_ACCOUNT:
                store_access.add_account(state.name, state.passphrase, state.roles)
                self._leave()
            case Purpose.NEW_PASSPHRASE:
                store_access.new_passphrase(state.passphrase)
                self._leave()

    def _show(self) -> None:
        """Draw anew where anything but the seconds has changed."""
        shown = sign_in.at_minute(self.state)
        if self._drawn.takes(shown.step.value, shown, pressed=self.stage.pressed):
            language = self.start.languages[self.start.language]
            self.stage.show_staff(sign_in_view(self.state, language), language)

    def _leave(self) -> None:
        """Done here; what was typed is forgotten."""
        self.left = True
        self.state = sign_in.closed(self.state.at, known=True)

    def _print_code(self) -> None:
        """The code on paper; what does not go is said on the screen."""
        language = self.start.languages[self.start.language]
        try:
            printer = self.start.find_printer()
        except Refused as refusal:
            self.state = replace(self.state, note=Refusal(refusal.code, dict(refusal.values)))
            return
        title, said = recovery_words(self.state, language)
        sheet = plain_sheet(title, self.state.code, said, language, self.start.paper)
        self._printing = self.start.print_page(sheet, SHEET_TAG, printer, self.start.now_ns() / 1e9)

    def _follow_print(self) -> None:
        job = self._printing
        if job is None:
            return
        job.tick(self.start.now_ns() / 1e9)
        if job.outcome is None:
            return
        self._printing = None
        if isinstance(job.outcome, Refusal):
            self.state = replace(self.state, note=job.outcome)
        else:
            self.state = replace(self.state, printed=job.printer.words, note=None)
