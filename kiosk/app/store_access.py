"""A store in a file set up, opened and recovered: kiosk.app.session.StoreAccess for a path."""

from collections.abc import Callable
from pathlib import Path

from kiosk.app.open_session import OpenSession
from kiosk.app.site_texts import place_beside
from kiosk.app.store_opening import (
    Machine,
    Opened,
    SignIn,
    key_file,
    lead_named,
    open_store,
    opened_with,
    set_up,
)
from kiosk.base.errors import Refused
from kiosk.storage.key_file import write_private
from kiosk.storage.keys import check_passphrase


class FileStoreAccess:
    """Where the store at a path is set up, opened and recovered."""

    def __init__(self, path: Path, machine: Machine, now_s: Callable[[], float],
                 copies: Path | None = None) -> None:
        self._path, self._machine, self._now_s = path, machine, now_s
        self._copies = copies or path.with_name("backups")
        self._session: OpenSession | None = None

    @property
    def session(self) -> OpenSession | None:
        """What was opened, None where nothing is."""
        return self._session if self._session is not None and self._session.open else None

    def known(self) -> bool:
        """Whether there is a store, or at least its key file."""
        return self._path.exists() or key_file(self._path, self._machine).exists()

    def check_words(self, passphrase: str) -> None:
        """Refused where a new passphrase is too weak."""
        check_passphrase(passphrase)

    def enter(self, opened: Opened) -> None:
        """Somebody is at work in a store that is open."""
        self._session = OpenSession(opened, self._machine, self._now_s, self._copies)
        self._session.note("sign_in")

    def set_up(self, place: str, name: str, passphrase: str, roles: frozenset[str]) -> str:
        """A new store and its first account, at work from now on; the recovery code."""
        opened, code = set_up(self._path, SignIn(passphrase, name), self._machine, roles=roles)
        write_private(place_beside(self._path), f"{place}\n")
        self.enter(opened)
        return code

    def sign_in(self, name: str, passphrase: str) -> None:
        """The account is at work from now on, in a store opened for it or open already."""
        session = self.session
        if session is None:
            self.enter(open_store(self._path, SignIn(passphrase, name), self._machine))
            return
        _, staff_id = key_file(self._path, self._machine).unlock(name, passphrase)
        session.take_over(staff_id)
        session.note("sign_in")

    def recover(self, code: str, name: str, passphrase: str) -> str:
        """A new passphrase for an account that leads the site; a new recovery code."""
        check_passphrase(passphrase)
        slots = key_file(self._path, self._machine)
        keys = slots.recover(code)
        known = lead_named(self._path, keys, name, self._machine)
        slots.put(keys, known.id, known.display_name, passphrase)
        new_code = slots.new_recovery(keys)
        self.enter(opened_with(self._path, keys, known.id, self._machine))
        self._entered().note("recover")
        return new_code

    def add_account(self, name: str, passphrase: str, roles: frozenset[str]) -> None:
        """A further account."""
        self._entered().add_account(name, passphrase, roles)

    def new_passphrase(self, passphrase: str) -> None:
        """Another passphrase for the account at work."""
        self._entered().new_passphrase(passphrase)

    def _entered(self) -> OpenSession:
        session = self.session
        if session is None:
            raise Refused("store_locked")
        return session
