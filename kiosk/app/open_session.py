"""A store in a file while somebody is at work: kiosk.app.session.Session for a path.

Beside the store lie its key file, the words that the site chose, and a PIN file for each account. Seconds of
the clock given, which should run on while the machine sleeps.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from uuid import UUID

from kiosk.app.site_texts import own_sentences, place_beside, place_named, sentences_beside
from kiosk.app.store_opening import Machine, Opened, journal_for, key_file
from kiosk.base.errors import Refused
from kiosk.storage.accounts import (
    account,
    accounts,
    add_account,
    change_roles,
    close_account,
    require,
    require_open,
)
from kiosk.storage.backup_run import BackupMade, BackupRunner
from kiosk.storage.journal import StoreJournal
from kiosk.storage.pin_file import PinFile
from kiosk.storage.store import Store
from kiosk.storage.unlocked_store import UnlockedStore
from kiosk.visits.backups import Backups
from kiosk.visits.staff import AtWork, StaffRow


class OpenSession:
    """The open store of one kiosk while somebody is at work."""

    def __init__(self, opened: Opened, machine: Machine, now_s: Callable[[], float], copies: Path) -> None:
        self.path, self._machine, self._now_s = opened.path, machine, now_s
        self._backups = BackupRunner(opened.path, opened.keys, copies, machine.now)
        self._journal = journal_for(opened.store)
        self._unlocked = UnlockedStore(opened.store, opened.keys, now_s(), self._end_all)
        self._account = opened.account

    @property
    def open(self) -> bool:
        """Whether it may still be used."""
        return self._unlocked.open

    @property
    def archive(self) -> Store:
        """The store, in the name of the account at work."""
        return self._unlocked.store

    @property
    def journal(self) -> StoreJournal:
        """The running trial's journal."""
        return self._journal

    @property
    def pins(self) -> PinFile:
        """The PIN of the account at work."""
        beside = self.path.with_name(f"{self.path.stem}.{self._account.id}.pin")
        return PinFile(beside, self._machine.random_bytes)

    @property
    def at_work(self) -> AtWork:
        """The account, with the roles it held when it was last looked at."""
        return AtWork(self._account.id, self._account.display_name, frozenset(self._account.roles))

    @property
    def place(self) -> str:
        """The name given to the place at set-up."""
        return place_named(place_beside(self.path))

    def touched(self) -> None:
        """Someone touched the screen."""
        self._unlocked.touched(self._now_s())

    def pass_time(self, *, in_trial: bool) -> bool:
        """Let go after 15 minutes untouched, never in a trial."""
        return self._unlocked.pass_time(self._now_s(), in_visit=in_trial)

    def pin_tried(self, right: bool) -> bool:
        """Count wrong PINs in a row; the fifth lets go. With the right one the account is looked at anew."""
        if not right:
            self.note("wrong_pin")
        is_open = self._unlocked.pin_tried(right)
        if is_open and right:
            self._known_anew()
        return is_open

    def let_go(self) -> None:
        """Close the store and drop its key."""
        self._unlocked.lock()

    def backups(self) -> Backups:
        """How the copies stand."""
        return self._backups.status()

    def begin_backup(self) -> None:
        """Make a copy in a process of its own."""
        self._backups.begin()

    def follow_backup(self) -> bool:
        """Whether the copy being made has just ended; a good one leaves a line in the audit."""
        ended = self._backups.ended()
        if isinstance(ended, BackupMade):
            with self.archive.ledger.writing() as writing:
                writing.note_of("backup", "backup", ended.folder, ended.sha256)
        return ended is not None

    def note(self, action: str) -> None:
        """A line in the audit about the account at work; a disk that is full keeps nobody out."""
        with suppress(Refused), self.archive.ledger.writing() as writing:
            writing.note_of(action, "staff", str(self._account.id))

    def take_over(self, staff_id: UUID) -> None:
        """Another account is at work; Refused `account_closed`."""
        known = require_open(account(self.archive.ledger, staff_id))
        self._account = known
        self._unlocked.take_over(self.archive.by(known.id, frozenset(known.roles)))

    def staff(self) -> tuple[StaffRow, ...]:
        """Every account that signs in on this kiosk."""
        here = set(key_file(self.path, self._machine).staff_ids())
        return tuple(StaffRow(one.id, one.display_name, frozenset(one.roles), one.active)
                     for one in accounts(self.archive.ledger) if one.id in here)

    def set_roles(self, staff_id: UUID, roles: frozenset[str]) -> None:
        """Other roles for an account."""
        change_roles(self.archive.ledger, staff_id, sorted(roles))
        if staff_id == self._account.id:
            self._known_anew()

    def close_account(self, staff_id: UUID) -> None:
        """An account may no longer do anything, and its passphrase opens nothing."""
        close_account(self.archive.ledger, staff_id)
        key_file(self.path, self._machine).remove(staff_id)

    def add_account(self, name: str, passphrase: str, roles: frozenset[str]) -> None:
        """A further account; Refused `role_not_held`, `name_taken`."""
        require(self._account, "site_lead")
        staff_id, slots = self._machine.new_id(), key_file(self.path, self._machine)
        slots.put(self._unlocked.keys, staff_id, name, passphrase)
        try:
            add_account(self.archive.ledger, staff_id, name, sorted(roles))
        except Refused:
            slots.remove(staff_id)
            raise

    def new_passphrase(self, passphrase: str) -> None:
        """Another passphrase for the account at work."""
        known = self._account
        key_file(self.path, self._machine).put(self._unlocked.keys, known.id, known.display_name, passphrase)
        self.note("new_passphrase")

    def rights(self) -> Mapping[str, str]:
        """The leaflet's last sentence in the site's own words, from the file beside the store."""
        return own_sentences(sentences_beside(self.path))

    def _end_all(self) -> None:
        """Before the key is dropped: nothing writes any more, and no other process holds it."""
        self._journal.end()
        self._backups.stop()

    def _known_anew(self) -> None:
        self.take_over(self._account.id)
