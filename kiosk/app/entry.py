"""What stands before the store: a door (see kiosk.app.store_door), and what its screens are made of."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from kiosk.app.dependencies import Kit, Stage
from kiosk.app.printing import Printer, PrintJob
from kiosk.app.session import Session
from kiosk.i18n.language import Language
from kiosk.touch.calibration import Calibration
from kiosk.visits.power import Power


class Door(Protocol):
    """Where a store is set up, opened and recovered."""

    @property
    def session(self) -> Session | None:
        """What was opened, None where nothing is."""

    def known(self) -> bool:
        """Whether there is a store."""

    def check_words(self, passphrase: str) -> None:
        """Refused where a new passphrase is too weak."""

    def set_up(self, place: str, name: str, passphrase: str, roles: frozenset[str]) -> str:
        """A new store and its first account, at work from now on; the recovery code."""

    def sign_in(self, name: str, passphrase: str) -> None:
        """The account is at work from now on, in a store opened for it or open already."""

    def recover(self, code: str, name: str, passphrase: str) -> str:
        """A new passphrase for an account that leads the site; a new recovery code."""

    def add_account(self, name: str, passphrase: str, roles: frozenset[str]) -> None:
        """A further account; Refused `role_not_held`, `name_taken`."""

    def new_passphrase(self, passphrase: str) -> None:
        """Another passphrase for the account at work."""


@dataclass(frozen=True)
class Outside:
    """What there is before the store is open. make_kit: what a clinic needs, for an open session."""

    door: Door
    make_kit: Callable[[Session], Kit]
    languages: Mapping[str, Language]
    language: str
    now_ns: Callable[[], int]
    now_local: Callable[[], datetime]
    power: Callable[[], Power]
    make_stage: Callable[[Calibration], Stage]
    window_px: tuple[int, int]
    find_printer: Callable[[], Printer]
    print_page: Callable[[bytes, str, Printer, float], PrintJob]
    paper: str = "A4"
