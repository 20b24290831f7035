"""The keys of a store: one random data key, and a key derived from it for each use.

    passphrase --Argon2id--> slot key --AES key wrap--> data key --HKDF--> database, salt, audit, backup

The data key is made once and never written in clear. Each member of staff has a slot in the key file with the
data key wrapped under their passphrase; the printed recovery code has another. Argon2id (RFC 9106) with its
second recommended setting (t 3, 64 MiB) and one lane, AES-256 key wrap (RFC 3394), HKDF-SHA256 (RFC 5869). A
PIN unwraps no key. Python cannot wipe memory for certain: a dropped key may stay in memory until overwritten.

Decision storage-1.
"""

import base64
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.keywrap import InvalidUnwrap, aes_key_unwrap, aes_key_wrap

from kiosk.base.errors import Refused

RandomBytes = Callable[[int], bytes]
KEY_BYTES: Final = 32
SALT_BYTES: Final = 16
KIOSK_BYTES: Final = 5  # 8 characters of base32
RECOVERY_BYTES: Final = 20  # 160 bits: 32 characters of base32
GROUP: Final = 4
LEAST_LETTERS: Final = 15  # NIST SP 800-63B revision 4: a password that stands alone (2025, from memory)
MOST_LETTERS: Final = 256
LEAST_DIFFERENT: Final = 6


@dataclass(frozen=True)
class Cost:
    """What one guess costs with Argon2id: passes over memory, KiB of memory, lanes."""

    passes: int
    memory_kib: int
    lanes: int = 1


PASSPHRASE_COST: Final = Cost(3, 64 * 1024)
RECOVERY_COST: Final = Cost(1, 8 * 1024)  # 160 random bits need no stretching


@dataclass(frozen=True)
class StoreKeys:
    """The data key of one store; never shown."""

    data: bytes = field(repr=False)

    @property
    def database(self) -> bytes:
        """The raw key of the encrypted file."""
        return derived(self.data, "db", KEY_BYTES)

    @property
    def salt(self) -> bytes:
        """The first 16 bytes of the file: they identify the store without giving away the key."""
        return derived(self.data, "salt", SALT_BYTES)

    @property
    def audit(self) -> bytes:
        """The key of the audit's chain."""
        return derived(self.data, "audit", KEY_BYTES)

    @property
    def kiosk_id(self) -> str:
        """The kiosk's name in every row that it makes; derived, so that no two stores share one.

        >>> StoreKeys(bytes(32)).kiosk_id
        'kiosk SHFAJTKG'
        """
        return f"kiosk {base64.b32encode(derived(self.data, 'kiosk', KIOSK_BYTES)).decode()}"

    @property
    def backup(self) -> bytes:
        """The key that seals a backup's manifest."""
        return derived(self.data, "backup", KEY_BYTES)


def new_keys(random_bytes: RandomBytes) -> StoreKeys:
    """The keys of a new store."""
    return StoreKeys(random_bytes(KEY_BYTES))


def derived(data: bytes, use: str, length: int) -> bytes:
    """A key for one use."""
    expand = HKDF(algorithm=SHA256(), length=length, salt=None, info=f"pursuit-kiosk {use}".encode())
    return expand.derive(data)


def wrapped(keys: StoreKeys, secret: str, salt: bytes, cost: Cost) -> bytes:
    """The data key wrapped under a secret."""
    return aes_key_wrap(_slot_key(secret, salt, cost), keys.data)


def unwrapped(blob: bytes, secret: str, salt: bytes, cost: Cost) -> StoreKeys | None:
    """The keys; None where the secret is another."""
    try:
        return StoreKeys(aes_key_unwrap(_slot_key(secret, salt, cost), blob))
    except InvalidUnwrap:
        return None


def recovery_code(random_bytes: RandomBytes) -> str:
    """A new code to be printed and locked away: eight groups of four letters and digits.

    >>> recovery_code(bytes)
    'AAAA-AAAA-AAAA-AAAA-AAAA-AAAA-AAAA-AAAA'
    """
    letters = base64.b32encode(random_bytes(RECOVERY_BYTES)).decode()
    return "-".join(letters[i:i + GROUP] for i in range(0, len(letters), GROUP))


def plain_code(code: str) -> str:
    """A typed recovery code without case, spaces and hyphens; 0, 1 and 8 are read as O, I and B.

    >>> plain_code(" aaaa-0018 ")
    'AAAAOOIB'
    """
    return code.upper().translate(str.maketrans("018", "OIB", " -\t\n"))


def check_passphrase(passphrase: str) -> None:
    """Refused `passphrase_short`, `passphrase_long` or `passphrase_easily_guessed`; no other rules."""
    letters = _normal(passphrase)
    if len(letters) < LEAST_LETTERS:
        raise Refused("passphrase_short", {"least": LEAST_LETTERS})
    if len(letters) > MOST_LETTERS:
        raise Refused("passphrase_long", {"most": MOST_LETTERS})
    if len(set(letters)) < LEAST_DIFFERENT:
        raise Refused("passphrase_easily_guessed", {"least": LEAST_DIFFERENT})


def _slot_key(secret: str, salt: bytes, cost: Cost) -> bytes:
    stretched = Argon2id(salt=salt, length=KEY_BYTES, iterations=cost.passes, lanes=cost.lanes,
                         memory_cost=cost.memory_kib)
    return stretched.derive(_normal(secret).encode())


def _normal(secret: str) -> str:
    return unicodedata.normalize("NFKC", secret)
