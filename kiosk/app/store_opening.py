"""A store on this machine: opened with a passphrase, set up where there is none, beside it its key file.

Clock, ids and chance are arguments. The recovery code of a new store is told once, through `tell`.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import datetime
from getpass import getpass
from pathlib import Path
from typing import Final
from uuid import UUID

from kiosk.app.context import KIOSK_NAME
from kiosk.base.errors import Refused
from kiosk.storage.accounts import Account, account, add_account, require, require_open, staff_named
from kiosk.storage.engine import open_file, open_memory
from kiosk.storage.journal import StoreJournal, rebuild_unfinished
from kiosk.storage.key_file import KeyFile, keys_beside
from kiosk.storage.keys import PASSPHRASE_COST, Cost, RandomBytes, StoreKeys
from kiosk.storage.store import Store
from kiosk.visits.staff import ROLES

FIRST_NAME: Final = "site"


@dataclass(frozen=True)
class Machine:
    """Where time, ids and chance come from, and what one guess of a passphrase costs."""

    now: Callable[[], datetime]
    new_id: Callable[[], UUID]
    random_bytes: RandomBytes
    cost: Cost = PASSPHRASE_COST


@dataclass(frozen=True)
class SignIn:
    """Who opens a store: a name and a passphrase."""

    passphrase: str
    name: str = FIRST_NAME


@dataclass(frozen=True)
class Opened:
    """An open store, its keys, and who opened it."""

    store: Store
    keys: StoreKeys
    path: Path
    account: Account


def memory_store(machine: Machine) -> Store:
    """A store gone with the program: demo and training."""
    return Store(open_memory(), now=machine.now, new_id=machine.new_id, kiosk_id=KIOSK_NAME)


def journal_for(store: Store) -> StoreJournal:
    """Keep what a power cut left of a running trial, then the journal of the trials to come."""
    rebuild_unfinished(store)
    return StoreJournal(store.ledger)


def key_file(path: Path, machine: Machine) -> KeyFile:
    """The key file of the store at a path."""
    return KeyFile(keys_beside(path), machine.random_bytes, machine.now, machine.cost)


def set_up(path: Path, sign_in: SignIn, machine: Machine, *,
           roles: Collection[str] = ROLES) -> tuple[Opened, str]:
    """A new store with its first account, and the recovery code. The first account leads the site.

    Refused: keys_exist, store_without_keys, and what a passphrase is refused for.
    """
    slots = key_file(path, machine)
    if path.exists() and path.stat().st_size and not slots.exists():
        raise Refused("store_without_keys", {"file": path.name})
    staff_id = machine.new_id()
    keys, code = slots.create(staff_id, sign_in.name, sign_in.passphrase)
    store = _store(path, keys, machine, staff_id, read_only=False)
    made = add_account(store.ledger, staff_id, sign_in.name, tuple({*roles, "site_lead"}))
    return Opened(store.by(staff_id, frozenset(made.roles)), keys, path, made), code


def open_store(path: Path, sign_in: SignIn, machine: Machine, *, read_only: bool = False) -> Opened:
    """The store at a path; Refused as by the key file and the engine, or `account_closed`."""
    if not path.is_file():
        raise Refused("no_such_store", {"file": path.name})
    keys, staff_id = key_file(path, machine).unlock(sign_in.name, sign_in.passphrase)
    return opened_with(path, keys, staff_id, machine, read_only=read_only)


def opened_with(path: Path, keys: StoreKeys, staff_id: UUID, machine: Machine, *,
                read_only: bool = False) -> Opened:
    """The store by keys that are known already, in the name of an account; Refused `account_closed`."""
    store = _store(path, keys, machine, staff_id, read_only=read_only)
    try:
        known = require_open(account(store.ledger, staff_id))
    except Refused:
        store.close()
        raise
    return Opened(store.by(staff_id, frozenset(known.roles)), keys, path, known)


def lead_named(path: Path, keys: StoreKeys, name: str, machine: Machine) -> Account:
    """The account of this name, which leads the site; Refused `unknown_account` or `role_not_held`."""
    store = _store(path, keys, machine, None, read_only=True)
    try:
        known = staff_named(store.ledger, name)
    finally:
        store.close()
    require(known, "site_lead")
    return known


def open_or_set_up(path: Path, sign_in: SignIn, machine: Machine, tell: Callable[[str], None]) -> Opened:
    """The store at a path, made where there is none; then `tell` gets the recovery code."""
    if path.exists() or key_file(path, machine).exists():
        return open_store(path, sign_in, machine)
    opened, code = set_up(path, sign_in, machine)
    tell(code)
    return opened


def asked_passphrase(file: Path | None, prompt: str) -> str:
    """The passphrase: the first line of a file, else asked on the terminal; never an option's value."""
    if file is None:
        return getpass(prompt)
    try:
        return file.read_text("utf-8").partition("\n")[0].rstrip("\r")
    except (OSError, ValueError) as fault:
        raise Refused("passphrase_file_unreadable", {"file": file.name}) from fault


def _store(path: Path, keys: StoreKeys, machine: Machine, staff_id: UUID | None, *, read_only: bool) -> Store:
    engine = open_file(path, keys, read_only=read_only)
    return Store(engine, now=machine.now, new_id=machine.new_id, kiosk_id=keys.kiosk_id, made_by=staff_id,
                 audit_key=keys.audit)
