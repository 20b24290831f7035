"""The staff's PIN, kept in a file beside the store as a salted, stretched key.

scrypt (RFC 7914) of the standard library, 32 MiB and about a tenth of a second a guess. The PIN re-opens the
screen; it protects no data. Decision security-2.
"""

import hashlib
import hmac
import json
from collections.abc import Callable
from pathlib import Path
from typing import Final

from kiosk.base.errors import Refused
from kiosk.storage.key_file import write_private

COST: Final = 2**15
BLOCK: Final = 8
PARALLEL: Final = 1
MEMORY_BYTES: Final = 64 * 1024 * 1024
SALT_BYTES: Final = 16
KEY_BYTES: Final = 32


class PinFile:
    """One PIN in a file; `random_bytes` gives the salt."""

    def __init__(self, path: Path, random_bytes: Callable[[int], bytes]) -> None:
        self._path, self._random_bytes = path, random_bytes

    def known(self) -> bool:
        """Whether a PIN has been chosen."""
        return self._path.is_file()

    def keep(self, pin: str) -> None:
        """Take this PIN from now on; Refused `cannot_write`."""
        salt = self._random_bytes(SALT_BYTES)
        slot = {"format": 1, "salt": salt.hex(), "key": stretched(pin, salt).hex(), "n": COST, "r": BLOCK,
                "p": PARALLEL}
        write_private(self._path, json.dumps(slot, sort_keys=True))

    def right(self, pin: str) -> bool:
        """Whether this is the PIN; Refused `no_pin_yet` or `pin_file_unreadable`."""
        if not self.known():
            raise Refused("no_pin_yet")
        try:
            slot = json.loads(self._path.read_text("utf-8"))
            found = stretched(pin, bytes.fromhex(slot["salt"]), slot["n"], slot["r"], slot["p"])
            return hmac.compare_digest(found, bytes.fromhex(slot["key"]))
        except (OSError, ValueError, KeyError, TypeError) as fault:
            raise Refused("pin_file_unreadable", {"file": self._path.name}) from fault


class PinInMemory:
    """A PIN kept only while the program runs, for training and tests."""

    def __init__(self, pin: str = "") -> None:
        self._pin = pin

    def known(self) -> bool:
        """Whether a PIN has been chosen."""
        return bool(self._pin)

    def keep(self, pin: str) -> None:
        """Take this PIN from now on."""
        self._pin = pin

    def right(self, pin: str) -> bool:
        """Whether this is the PIN."""
        return hmac.compare_digest(pin.encode(), self._pin.encode())


def stretched(pin: str, salt: bytes, n: int = COST, r: int = BLOCK, p: int = PARALLEL) -> bytes:
    """The key of a PIN.

    >>> stretched("", b"", 16, 1, 1)[:8].hex()  # RFC 7914, section 12, first vector
    '77d6576238657b20'
    """
    return hashlib.scrypt(pin.encode(), salt=salt, n=n, r=r, p=p, maxmem=MEMORY_BYTES, dklen=KEY_BYTES)
