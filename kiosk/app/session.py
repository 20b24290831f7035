"""The store and who is at work in it, as the screens need them, without loading what the store is made of.

kiosk.app.store_access and kiosk.app.open_session are these for a store in a file. A kiosk without a session
(in memory, demo, training) keeps nothing from anybody.
"""

from collections.abc import Mapping, Sequence
from typing import Protocol
from uuid import UUID

from kiosk.touch.journal import Journal
from kiosk.visits.backups import Backups
from kiosk.visits.staff import AtWork, StaffRow
from kiosk.visits.staff_archive import StaffArchive


class Pins(Protocol):
    """Where the staff's PIN is kept."""

    def known(self) -> bool:
        """Whether a PIN has been chosen."""

    def keep(self, pin: str) -> None:
        """Keep this PIN in place of any earlier one."""

    def right(self, pin: str) -> bool:
        """Whether this is the PIN."""


class Session(Protocol):
    """An open store and who is at work. Once it was let go of everything is Refused `store_locked`."""

    @property
    def open(self) -> bool:
        """Whether it may still be used."""

    @property
    def archive(self) -> StaffArchive:
        """The store, writing in the name of the account at work."""

    @property
    def journal(self) -> Journal:
        """The running trial's journal."""

    @property
    def pins(self) -> Pins:
        """The PIN of the account at work."""

    @property
    def at_work(self) -> AtWork:
        """The account, with the roles it holds now."""

    @property
    def place(self) -> str:
        """The name given to the place at set-up; empty where none was."""

    def rights(self) -> Mapping[str, str]:
        """The leaflet's last sentence in the site's own words, by language; FaultyFile."""

    def touched(self) -> None:
        """Someone touched the screen."""

    def pass_time(self, *, in_trial: bool) -> bool:
        """Let go after 15 minutes untouched, never in a trial; whether it is still open."""

    def pin_tried(self, right: bool) -> bool:
        """Count wrong PINs in a row; the fifth lets go. Whether it is still open."""

    def let_go(self) -> None:
        """Close the store and drop its key."""

    def backups(self) -> Backups:
        """How the copies stand, local time."""

    def begin_backup(self) -> None:
        """Make a copy in a process of its own; Refused where one is being made."""

    def follow_backup(self) -> bool:
        """Whether the copy being made has just ended, well or not; never waits."""

    def staff(self) -> Sequence[StaffRow]:
        """Every account."""

    def set_roles(self, staff_id: UUID, roles: frozenset[str]) -> None:
        """Other roles for an account; Refused `role_not_held`, `last_site_lead`."""

    def close_account(self, staff_id: UUID) -> None:
        """An account may no longer do anything; Refused `role_not_held`, `last_site_lead`."""


class StoreAccess(Protocol):
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
