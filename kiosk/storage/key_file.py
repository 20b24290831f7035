"""The key file beside a store: slots, each with the data key wrapped under one secret.

JSON, readable by its owner only, written to a new file that is renamed into place. A slot is found by the
name to sign in with, kept as a salted hash. Wrong tries are counted in a file beside it and delay the next
(1, 2, 4 ... 60 s); someone with the disk can reset the count, but still pays the cost of Argon2id.
"""

import json
import os
from collections.abc import Callable
from dataclasses import asdict
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Final
from uuid import UUID

from kiosk.base.canonical_json import JsonObject
from kiosk.base.errors import Refused
from kiosk.storage.column_types import utc_text
from kiosk.storage.keys import (
    PASSPHRASE_COST,
    RECOVERY_COST,
    SALT_BYTES,
    Cost,
    RandomBytes,
    StoreKeys,
    check_passphrase,
    new_keys,
    plain_code,
    recovery_code,
    unwrapped,
    wrapped,
)

FORMAT: Final = 1
LONGEST_WAIT_S: Final = 60
Slot = JsonObject


def keys_beside(store: Path) -> Path:
    """The path of a store's key file."""
    return store.with_name(store.name + ".keys")


def wait_s(tries: int) -> int:
    """Seconds before the next try, after this many wrong ones in a row.

    >>> [wait_s(tries) for tries in (0, 1, 2, 3, 6, 7, 400)]
    [0, 1, 2, 4, 32, 60, 60]
    """
    return min(2 ** (min(tries, 10) - 1), LONGEST_WAIT_S) if tries else 0


class KeyFile:
    """The slots in one file."""

    def __init__(self, path: Path, random_bytes: RandomBytes, now: Callable[[], datetime],
                 cost: Cost = PASSPHRASE_COST) -> None:
        self.path, self._random_bytes, self._now, self._cost = path, random_bytes, now, cost

    def exists(self) -> bool:
        """Whether the first set-up has been made."""
        return self.path.is_file()

    def create(self, staff_id: UUID, name: str, passphrase: str) -> tuple[StoreKeys, str]:
        """First set-up: new keys, a first slot, and the recovery code, which is shown only this once.

        Refused: keys_exist, and what check_passphrase refuses.
        """
        check_passphrase(passphrase)
        if self.exists():
            raise Refused("keys_exist", {"file": self.path.name})
        keys, code = new_keys(self._random_bytes), recovery_code(self._random_bytes)
        self._write([self._slot(keys, name, passphrase, staff_id), self._recovery_slot(keys, code)])
        return keys, code

    def unlock(self, name: str, passphrase: str) -> tuple[StoreKeys, UUID]:
        """The keys and the slot's staff id; Refused `wrong_passphrase` (unknown names too), `wait_to_try`."""
        self._check_wait()
        slots = [slot for slot in self._slots() if slot["kind"] == "passphrase"]
        named = [slot for slot in slots if slot["name"] == _hidden(name, slot["salt"])]
        slot = (named or slots)[0]
        keys = _open(slot, passphrase)  # tried for unknown names too, so that they take as long
        if not named or keys is None:
            self._count_wrong()
            raise Refused("wrong_passphrase", {"file": self.path.name})
        self._tries().unlink(missing_ok=True)
        return keys, UUID(slot["staff_id"])

    def recover(self, code: str) -> StoreKeys:
        """The keys by the printed code; Refused `wrong_recovery_code` or `wait_to_try`."""
        self._check_wait()
        for slot in self._slots():
            keys = _open(slot, plain_code(code)) if slot["kind"] == "recovery" else None
            if keys is not None:
                self._tries().unlink(missing_ok=True)
                return keys
        self._count_wrong()
        raise Refused("wrong_recovery_code", {"file": self.path.name})

    def put(self, keys: StoreKeys, staff_id: UUID, name: str, passphrase: str) -> None:
        """Add a slot for a member of staff, or replace theirs; Refused `name_taken`."""
        check_passphrase(passphrase)
        others = [slot for slot in self._slots() if slot.get("staff_id") != str(staff_id)]
        if any(slot.get("name") == _hidden(name, slot["salt"]) for slot in others):
            raise Refused("name_taken", {"name": name})
        self._write([*others, self._slot(keys, name, passphrase, staff_id)])

    def remove(self, staff_id: UUID) -> None:
        """Remove a slot; Refused `last_slot` where no passphrase would be left."""
        left = [slot for slot in self._slots() if slot.get("staff_id") != str(staff_id)]
        if not any(slot["kind"] == "passphrase" for slot in left):
            raise Refused("last_slot", {"file": self.path.name})
        self._write(left)

    def new_recovery(self, keys: StoreKeys) -> str:
        """A new recovery code in place of the old one, which opens nothing any more."""
        code = recovery_code(self._random_bytes)
        others = [slot for slot in self._slots() if slot["kind"] != "recovery"]
        self._write([*others, self._recovery_slot(keys, code)])
        return code

    def staff_ids(self) -> tuple[UUID, ...]:
        """The staff ids of all passphrase slots."""
        return tuple(UUID(slot["staff_id"]) for slot in self._slots() if slot["kind"] == "passphrase")

    def _slot(self, keys: StoreKeys, name: str, passphrase: str, staff_id: UUID) -> Slot:
        slot = self._wrapped("passphrase", keys, passphrase, self._cost)
        return slot | {"staff_id": str(staff_id), "name": _hidden(name, slot["salt"])}

    def _recovery_slot(self, keys: StoreKeys, code: str) -> Slot:
        return self._wrapped("recovery", keys, plain_code(code), RECOVERY_COST)

    def _wrapped(self, kind: str, keys: StoreKeys, secret: str, cost: Cost) -> Slot:
        salt = self._random_bytes(SALT_BYTES)
        return {"kind": kind, "kdf": "argon2id", **asdict(cost), "salt": salt.hex(), "wrap": "aes256-kw",
                "blob": wrapped(keys, secret, salt, cost).hex()}

    def _slots(self) -> list[Slot]:
        if not self.exists():
            raise Refused("no_keys", {"file": self.path.name})
        try:
            content = json.loads(self.path.read_text("utf-8"))
            slots: list[Slot] = content["slots"] if content["format"] == FORMAT else []
        except (OSError, ValueError, KeyError, TypeError) as fault:
            raise Refused("keys_unreadable", {"file": self.path.name}) from fault
        if not slots:
            raise Refused("keys_unreadable", {"file": self.path.name})
        return slots

    def _write(self, slots: list[Slot]) -> None:
        write_private(self.path, json.dumps({"format": FORMAT, "slots": slots}, indent=1, sort_keys=True))

    def _tries(self) -> Path:
        return self.path.with_name(self.path.name + ".tries")

    def _wrong(self) -> tuple[int, datetime]:
        try:
            kept = json.loads(self._tries().read_text("utf-8"))
            return int(kept["wrong"]), datetime.fromisoformat(kept["at"])
        except (OSError, ValueError, KeyError, TypeError):
            return 0, self._now()

    def _check_wait(self) -> None:
        wrong, at = self._wrong()
        left_s = (at + timedelta(seconds=wait_s(wrong)) - self._now()).total_seconds()
        if wrong and 0 < left_s <= LONGEST_WAIT_S:
            raise Refused("wait_to_try", {"wait_s": left_s})

    def _count_wrong(self) -> None:
        wrong, _ = self._wrong()
        write_private(self._tries(), json.dumps({"wrong": wrong + 1, "at": utc_text(self._now())}))


def write_private(path: Path, content: str | bytes) -> None:
    """Write a file readable by its owner only: to a new file, flushed to disk, then renamed into place."""
    new = path.with_name(path.name + ".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        opened = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(opened, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    except OSError as fault:
        raise Refused("cannot_write", {"file": path.name, "why": fault.strerror or "no access"}) from fault


def _open(slot: Slot, secret: str) -> StoreKeys | None:
    cost = Cost(slot["passes"], slot["memory_kib"], slot["lanes"])
    return unwrapped(bytes.fromhex(slot["blob"]), secret, bytes.fromhex(slot["salt"]), cost)


def _hidden(name: str, salt: str) -> str:
    return sha256(bytes.fromhex(salt) + name.strip().casefold().encode()).hexdigest()
