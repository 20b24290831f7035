"""Whose rows and orders a kiosk believes: signing keys, the site's list of them, and signed erasure orders.

Ed25519 (RFC 8032). A kiosk's signing key is derived from its data key, so it exists only while the encrypted
store is open. The site's key and an eraser's key are files under a passphrase (Argon2id, AES key wrap) that
no kiosk keeps. The site's key signs the trust list: kiosks with their public keys, erasers, and how many
persons may be erased at once without the site lead's word. A kiosk takes its first list only under a
fingerprint that was read out, and later ones only from the same site with a higher number. What is signed is
canonical JSON that begins with the kind of statement, so that none can be taken for another.

Decision security-10.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Final, Self
from uuid import UUID

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.base.errors import Refused
from kiosk.storage.column_types import utc_text
from kiosk.storage.key_file import write_private
from kiosk.storage.keys import (
    KEY_BYTES,
    PASSPHRASE_COST,
    SALT_BYTES,
    Cost,
    RandomBytes,
    StoreKeys,
    check_passphrase,
    derived,
    unwrapped,
    wrapped,
)

FORMAT: Final = 1
MOST_ERASED: Final = 5  # persons in a day, before a kiosk waits for its site lead
LARGEST_FILE: Final = 1_000_000  # bytes
KEY_KIND: Final = "pursuit-kiosk signing key"


def kiosk_key(audit_key: bytes, kiosk_id: str) -> Ed25519PrivateKey:
    """The key with which a kiosk signs its rows."""
    return Ed25519PrivateKey.from_private_bytes(derived(audit_key, f"sign {kiosk_id}", KEY_BYTES))


def public_key(key: Ed25519PrivateKey) -> str:
    """The public key as 64 hexadecimal digits."""
    return key.public_key().public_bytes_raw().hex()


def fingerprint(public: str) -> str:
    """Five groups of four of a public key's sha256, to be read out and compared.

    >>> fingerprint("00" * 32)
    '6668-7AAD-F862-BD77-6C8F'
    """
    digits = sha256(bytes.fromhex(public)).hexdigest()[:20].upper()
    return "-".join(digits[start:start + 4] for start in range(0, len(digits), 4))


def signature(key: Ed25519PrivateKey, statement: Iterable[object]) -> str:
    """The signature of a statement, 128 hexadecimal digits."""
    return key.sign(canonical_json(list(statement)).encode()).hex()


def holds(public: str, statement: Iterable[object], signed: str) -> bool:
    """Whether this key signed this statement."""
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(
            bytes.fromhex(signed), canonical_json(list(statement)).encode())
    except (InvalidSignature, ValueError):
        return False
    return True


def row_statement(table: str, key: str, kiosk_id: str, row_sha256: str) -> tuple[str, ...]:
    """What a kiosk signs of each of its rows."""
    return "row", table, key, kiosk_id, row_sha256


@dataclass(frozen=True)
class ErasureOrder:
    """The eraser's order to remove one person wherever their rows are."""

    person_id: UUID
    reason: str
    ordered_at: datetime
    eraser: str
    signature: str = ""

    @property
    def statement(self) -> tuple[str, ...]:
        """What the eraser signs."""
        return "erase", str(self.person_id), self.reason, utc_text(self.ordered_at), self.eraser


def signed_order(key: Ed25519PrivateKey, person_id: UUID, reason: str, at: datetime) -> ErasureOrder:
    """An order with its signature."""
    plain = ErasureOrder(person_id, reason, at, public_key(key))
    return replace(plain, signature=signature(key, plain.statement))


@dataclass(frozen=True)
class TrustList:
    """The kiosks (name, public key) and erasers (public key) of a site, signed with the site's key."""

    number: int
    site: str
    kiosks: tuple[tuple[str, str], ...]
    erasers: tuple[str, ...]
    most_erased: int = MOST_ERASED
    signature: str = ""

    @property
    def statement(self) -> tuple[object, ...]:
        """What the site signs."""
        kiosks = [list(one) for one in sorted(self.kiosks)]
        return "trust list", FORMAT, self.number, self.site, kiosks, sorted(self.erasers), self.most_erased

    def knows(self, kiosk_id: str, statement: Iterable[object], signed: str) -> bool:
        """Whether a key of this kiosk signed this statement."""
        known = tuple(statement)
        return any(name == kiosk_id and holds(public, known, signed) for name, public in self.kiosks)

    def orders(self, order: ErasureOrder) -> bool:
        """Whether an eraser of this site gave this order."""
        return order.eraser in self.erasers and holds(order.eraser, order.statement, order.signature)

    def as_text(self) -> str:
        """As written to a file and to the server."""
        fields = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return canonical_json({"format": FORMAT, **fields, "kiosks": [list(one) for one in self.kiosks],
                               "erasers": list(self.erasers)})

    @classmethod
    def from_text(cls, text: str, name: str = "trust list") -> Self:
        """The list; Refused `trust_list_unreadable`, `trust_list_not_signed`."""
        try:
            read = json.loads(text)
            if read.pop("format") != FORMAT:
                raise ValueError(text)
            kiosks = tuple((str(kiosk), _key_digits(key)) for kiosk, key in read.pop("kiosks"))
            erasers = tuple(_key_digits(key) for key in read.pop("erasers"))
            found = cls(kiosks=kiosks, erasers=erasers, **read)
            whole = type(found.number) is int and type(found.most_erased) is int
            if not whole or not 0 < found.number < 2**31 or not 0 <= found.most_erased < 2**31:
                raise ValueError(text)
            signed = holds(_key_digits(found.site), found.statement, found.signature)
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as fault:
            raise Refused("trust_list_unreadable", {"file": name}) from fault
        if not signed:
            raise Refused("trust_list_not_signed", {"file": name})
        return found


def signed_list(key: Ed25519PrivateKey, before: TrustList | None, kiosks: Iterable[tuple[str, str]] = (),
                erasers: Iterable[str] = (), without: Iterable[str] = (),
                most_erased: int | None = None) -> TrustList:
    """The next list of a site: that before with these added, and without these names or keys."""
    site, gone = public_key(key), set(without)
    if before is not None and before.site != site:
        raise Refused("trust_list_of_other_site", {"found": fingerprint(site)})
    old = before or TrustList(0, site, (), ())
    together = sorted({*old.kiosks, *kiosks})
    plain = TrustList(old.number + 1, site, tuple(one for one in together if not {*one} & gone),
                      tuple(sorted({*old.erasers, *erasers} - gone)),
                      old.most_erased if most_erased is None else most_erased)
    return replace(plain, signature=signature(key, plain.statement))


def read_list(file: Path) -> TrustList:
    """The list in a file; Refused as from_text."""
    return TrustList.from_text(_text_of(file, "trust_list_unreadable"), file.name)


def new_key_file(file: Path, passphrase: str, random_bytes: RandomBytes,
                 cost: Cost = PASSPHRASE_COST) -> Ed25519PrivateKey:
    """A new key of the site or of an eraser, in a file under a passphrase; Refused `store_in_the_way`."""
    check_passphrase(passphrase)
    if file.exists():
        raise Refused("store_in_the_way", {"file": file.name})
    seed, salt = random_bytes(KEY_BYTES), random_bytes(SALT_BYTES)
    key = Ed25519PrivateKey.from_private_bytes(seed)
    content: JsonObject = {
        "kind": KEY_KIND, "format": FORMAT, "public": public_key(key), "salt": salt.hex(),
        "passes": cost.passes, "memory_kib": cost.memory_kib,
        "blob": wrapped(StoreKeys(seed), passphrase, salt, cost).hex()}
    write_private(file, canonical_json(content))
    return key


def open_key_file(file: Path, passphrase: str) -> Ed25519PrivateKey:
    """The key in a file; Refused `signing_key_unreadable`, `wrong_passphrase`."""
    try:
        read = json.loads(_text_of(file, "signing_key_unreadable"))
        if read["kind"] != KEY_KIND or not (0 < read["passes"] <= 10 and 8 <= read["memory_kib"] <= 2**20):
            raise ValueError(file.name)
        cost = Cost(read["passes"], read["memory_kib"])
        seed = unwrapped(bytes.fromhex(read["blob"]), passphrase, bytes.fromhex(read["salt"]), cost)
    except (ValueError, TypeError, KeyError, RecursionError) as fault:
        raise Refused("signing_key_unreadable", {"file": file.name}) from fault
    if seed is None:
        raise Refused("wrong_passphrase", {"file": file.name})
    return Ed25519PrivateKey.from_private_bytes(seed.data)


def _text_of(file: Path, code: str) -> str:
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise ValueError(file.name)
        return file.read_text("utf-8")
    except (OSError, ValueError) as fault:
        raise Refused(code, {"file": file.name}) from fault


def _key_digits(text: object) -> str:
    if not isinstance(text, str) or len(bytes.fromhex(text)) != KEY_BYTES:
        raise ValueError(text)
    return text.lower()
