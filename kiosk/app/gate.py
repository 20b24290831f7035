"""The door's screens, driven frame by frame: nothing of a person tested is known here.

`left` says that there is no more to do here; `passed` whether a passphrase opened the store meanwhile.
"""

from collections.abc import Callable
from typing import Final

from kiosk.app.dependencies import Stage
from kiosk.app.entry import Outside
from kiosk.app.last_drawn import LastDrawn
from kiosk.app.printing import PrintJob
from kiosk.base.errors import KioskError, Refused
from kiosk.report.recovery_sheet import recovery_sheet
from kiosk.visits import door
from kiosk.visits.door_state import DoorState, Moved
from kiosk.wording.staff_words_door import door_view, recovery_words
from norms import Refusal

WAIT_IS_SHOWN: Final = ("set_up", "sign_in", "recover", "add_account", "new_passphrase")
SHEET_TAG: Final = "recovery"


class Gate:
    """One way through the door."""

    def __init__(self, outside: Outside, stage: Stage, state: DoorState) -> None:
        self.outside, self.stage, self.state = outside, stage, state
        self.left = self.passed = False
        self._drawn = LastDrawn()
        self._waiting: tuple[str, ...] = ()
        self._printing: PrintJob | None = None
        stage.on_action = self.act

    def act(self, action: str) -> None:
        """What was chosen or typed."""
        if self.outside.door.session is not None:
            self.outside.door.session.touched()
        self._told(door.act(self.state, action, self.outside.now_local()))

    def frame(self) -> None:
        """One picture; what takes time is done after the screen that says so was drawn."""
        due, self._waiting = self._waiting, ()
        self._told(door.tick(self.state, self.outside.now_local(), self.outside.power()))
        self._follow_print()
        self._show()
        self.stage.draw()
        for wish in due:
            self._fulfil(wish)

    def _told(self, moved: Moved) -> None:
        self.state = moved[0]
        self._waiting += tuple(wish for wish in moved[1] if wish in WAIT_IS_SHOWN)
        for wish in moved[1]:
            if wish not in WAIT_IS_SHOWN:
                self._fulfil(wish)

    def _fulfil(self, wish: str) -> None:
        try:
            _WISHES[wish](self)
        except KioskError as refusal:
            self.state = door.refused(self.state, Refusal(refusal.code, dict(refusal.values)))

    def _show(self) -> None:
        """Draw anew where anything but the seconds has changed."""
        shown = door.at_minute(self.state)
        if self._drawn.takes(shown.screen, shown, pressed=self.stage.pressed):
            language = self.outside.languages[self.outside.language]
            self.stage.show_staff(door_view(self.state, language), language)

    def leave(self) -> None:
        """Done here; what was typed is forgotten."""
        self.left = True
        self.state = door.closed(self.state.at, known=True)

    def check_words(self) -> None:
        """Is the new passphrase strong enough?"""
        self.outside.door.check_words(self.state.written.text)
        self.state = door.words_taken(self.state)

    def set_up(self) -> None:
        """A new store; its recovery code is shown."""
        state = self.state
        code = self.outside.door.set_up(state.place, state.name, state.passphrase, state.roles)
        self.state = door.code_told(state, code)

    def sign_in(self) -> None:
        """Open the store, or take over the open one."""
        self.outside.door.sign_in(self.state.name, self.state.passphrase)
        self.passed = True
        self.leave()

    def add_account(self) -> None:
        """A further account."""
        self.outside.door.add_account(self.state.name, self.state.passphrase, self.state.roles)
        self.leave()

    def new_passphrase(self) -> None:
        """Another passphrase for the account at work."""
        self.outside.door.new_passphrase(self.state.passphrase)
        self.leave()

    def recover(self) -> None:
        """A new passphrase by the recovery code; the new code is shown."""
        state = self.state
        self.state = door.code_told(state, self.outside.door.recover(
            state.recovery, state.name, state.passphrase))

    def print_code(self) -> None:
        """The code on paper; what does not go is said on the screen."""
        language = self.outside.languages[self.outside.language]
        try:
            printer = self.outside.find_printer()
        except Refused as refusal:
            self.state = door.not_printed(self.state, Refusal(refusal.code, dict(refusal.values)))
            return
        title, said = recovery_words(self.state, language)
        sheet = recovery_sheet(title, self.state.code, said, language, self.outside.paper)
        self._printing = self.outside.print_page(sheet, SHEET_TAG, printer, self.outside.now_ns() / 1e9)

    def _follow_print(self) -> None:
        job = self._printing
        if job is None:
            return
        job.tick(self.outside.now_ns() / 1e9)
        if job.outcome is None:
            return
        self._printing = None
        if isinstance(job.outcome, Refusal):
            self.state = door.not_printed(self.state, job.outcome)
        else:
            self.state = door.printed(self.state, job.printer.words)


_WISHES: Final[dict[str, Callable[[Gate], None]]] = {
    "leave": Gate.leave, "check_words": Gate.check_words, "set_up": Gate.set_up, "sign_in": Gate.sign_in,
    "add_account": Gate.add_account, "new_passphrase": Gate.new_passphrase, "recover": Gate.recover,
    "print_code": Gate.print_code,
}

