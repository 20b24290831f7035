"""An update as one file: a version folder, its manifest, and the maker's signature of the manifest.

A zip with manifest.json, manifest.sig (64 bytes, Ed25519 over the manifest's bytes, RFC 8032) and the files
that the manifest lists with their sha256. The signature is checked before anything else is believed; every
file is checked while it is unpacked, into a folder that takes its name only when it is whole.
"""

import hashlib
import os
import shutil
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)

from kiosk.base.errors import Refused
from kiosk.deployment.installed_versions import numbers
from kiosk.deployment.version_folder import MANIFEST, Manifest, finish, python_minor, read_manifest

SIGNATURE: Final = "manifest.sig"
MOST_MANIFEST_BYTES: Final = 16 * 1024 * 1024
ZIP_DATE: Final = (2026, 1, 1, 0, 0, 0)
CHUNK: Final = 1024 * 1024
PUBLIC_ENDING: Final = ".pub"
UNREADABLE: Final = (OSError, BadZipFile, zlib.error, KeyError, ValueError, EOFError, NotImplementedError,
                     RuntimeError)
"""What reading a file raises that is no zip, not whole, or packed in a way that we never use."""


@dataclass(frozen=True)
class Target:
    """What a version must fit: the one that runs here, and the machine's architecture by its Debian name."""

    version: str
    architecture: str


@dataclass(frozen=True)
class Update:
    """An update whose signature holds; content: the manifest's bytes."""

    file: Path
    manifest: Manifest
    content: bytes
    signature: bytes


def new_key(file: Path) -> Path:
    """A new private key in a file of its own, and beside it the public one, whose path is returned.

    Refused cannot_write, also where one of the files is there already.
    """
    key = Ed25519PrivateKey.generate()
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    public = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    beside = file.with_name(file.name + PUBLIC_ENDING)
    try:
        for place, content, rights in ((file, private, 0o600), (beside, public, 0o644)):
            with open(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, rights), "wb") as made:
                made.write(content)
    except OSError as fault:
        raise Refused("cannot_write", {"file": str(file), "why": fault.strerror or "no access"}) from fault
    return beside


def public_of(private: Path) -> bytes:
    """The public key (PEM) of a private key's file; Refused key_unreadable."""
    return _private(private).public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def sign_update(version: Path, private: Path, file: Path) -> None:
    """Write a version folder as a signed update; the same folder and key give the same bytes."""
    key, manifest = _private(private), (version / MANIFEST).read_bytes()
    with ZipFile(file, "w") as archive:
        _add(archive, MANIFEST, manifest, ZIP_STORED)
        _add(archive, SIGNATURE, key.sign(manifest), ZIP_STORED)
        for name in read_manifest(manifest).files:
            _add(archive, name, (version / name).read_bytes(), ZIP_DEFLATED)


def read_update(file: Path, public: Path) -> Update:
    """An update whose manifest is the key's; Refused update_unreadable, update_not_signed, key_unreadable."""
    key = _public(public)
    try:
        with ZipFile(file) as archive:
            content, signature = _member(archive, MANIFEST), _member(archive, SIGNATURE)
        key.verify(signature, content)
        return Update(file, read_manifest(content), content, signature)
    except InvalidSignature as fault:
        raise Refused("update_not_signed", {"file": file.name}) from fault
    except UNREADABLE as fault:
        raise Refused("update_unreadable", {"file": file.name}) from fault


def check_fits(manifest: Manifest, here: Target) -> None:
    """Refused update_not_newer, update_for_other_machine."""
    try:
        newer = numbers(manifest.version) > numbers(here.version)
    except ValueError:
        newer = False
    if not newer:
        raise Refused("update_not_newer", {"found": manifest.version, "running": here.version})
    for found, wanted in ((manifest.architecture, here.architecture), (manifest.python, python_minor())):
        if found != wanted:
            raise Refused("update_for_other_machine", {"found": found, "wanted": wanted})


def unpack_update(update: Update, folder: Path) -> None:
    """Put a version in its place, whole or not at all; Refused update_changed, cannot_write."""
    beside = folder.with_name(f"{folder.name}.new")
    shutil.rmtree(beside, ignore_errors=True)
    try:
        with ZipFile(update.file) as archive:
            _check_members(archive, update)
            for name, digest in update.manifest.files.items():
                _unpack(archive, name, digest, beside / name)
        (beside / MANIFEST).write_bytes(update.content)
        (beside / SIGNATURE).write_bytes(update.signature)
        finish(beside)
        shutil.rmtree(folder, ignore_errors=True)
        beside.rename(folder)
    except OSError as fault:
        raise Refused("cannot_write", {"file": str(folder), "why": fault.strerror or "no access"}) from fault
    except UNREADABLE as fault:
        raise Refused("update_changed", {"file": update.file.name}) from fault
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def came_by_update(version: Path) -> bool:
    """Whether a version folder was put there by an update, not by the Debian package."""
    return (version / SIGNATURE).is_file()


def _check_members(archive: ZipFile, update: Update) -> None:
    names = archive.namelist()
    if sorted(names) != sorted((MANIFEST, SIGNATURE, *update.manifest.files)):
        raise BadZipFile("other members than the manifest lists")


def _unpack(archive: ZipFile, name: str, digest: str, place: Path) -> None:
    """One file, its hash checked; it is on the disk before the version takes its name."""
    place.parent.mkdir(parents=True, exist_ok=True)
    found = hashlib.sha256()
    with archive.open(name) as packed, place.open("xb") as made:
        while chunk := packed.read(CHUNK):
            found.update(chunk)
            made.write(chunk)
    if found.hexdigest() != digest:
        raise BadZipFile(f"{name} is not the file that was signed")


def _member(archive: ZipFile, name: str) -> bytes:
    if archive.getinfo(name).file_size > MOST_MANIFEST_BYTES:
        raise ValueError(f"{name}, must have at most {MOST_MANIFEST_BYTES} bytes")
    return archive.read(name)


def _add(archive: ZipFile, name: str, content: bytes, packing: int) -> None:
    member = ZipInfo(name, ZIP_DATE)
    member.external_attr = 0o644 << 16
    archive.writestr(member, content, packing)


def _private(file: Path) -> Ed25519PrivateKey:
    try:
        key = load_pem_private_key(file.read_bytes(), None)
    except (OSError, ValueError, TypeError, UnsupportedAlgorithm) as fault:
        raise Refused("key_unreadable", {"file": str(file)}) from fault
    if not isinstance(key, Ed25519PrivateKey):
        raise Refused("key_unreadable", {"file": str(file)})
    return key


def _public(file: Path) -> Ed25519PublicKey:
    try:
        key = load_pem_public_key(file.read_bytes())
    except (OSError, ValueError, UnsupportedAlgorithm) as fault:
        raise Refused("key_unreadable", {"file": str(file)}) from fault
    if not isinstance(key, Ed25519PublicKey):
        raise Refused("key_unreadable", {"file": str(file)})
    return key
