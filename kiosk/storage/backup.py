"""Backups: a compact copy made by a process of its own, examined, sealed, and put in place in one step.

One backup is a folder named by its moment in UTC: the store, its key file and `manifest.json` with hash, row
counts and the head of the audit, sealed by a key of its own. The last of each of 7 days and of 4 weeks is
kept. A person erased from the store stays in older backups until these are rotated out.
"""

import hmac
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import file_digest, sha256
from pathlib import Path
from typing import Any, Final

from kiosk.base.errors import Refused
from kiosk.base.settings import PACKAGE
from kiosk.storage.audit_chain import Anchor
from kiosk.storage.column_types import utc_text
from kiosk.storage.integrity import Soundness, examine
from kiosk.storage.key_file import keys_beside
from kiosk.storage.keys import StoreKeys
from kiosk.storage.tables import SCHEMA_REVISION
from kiosk.visits.canonical import canonical_json

FORMAT: Final = 1
NAME: Final = "%Y-%m-%dT%H%M%SZ"
STORE, MANIFEST, MAKING = "kiosk.store", "manifest.json", ".making"
DAYS, WEEKS = 7, 4
LONGEST_S: Final = 3600.0


@dataclass(frozen=True)
class Backup:
    """One backup: where it lies, when it was made, and what its manifest says."""

    folder: Path
    made_at: datetime
    manifest: dict[str, Any]

    @property
    def store(self) -> Path:
        """Its store file."""
        return self.folder / STORE

    @property
    def anchor(self) -> Anchor:
        """The head of the audit it holds."""
        return Anchor(self.manifest["audit"]["seq"], self.manifest["audit"]["mac"])


def make_backup(store: Path, keys: StoreKeys, folder: Path, kiosk_id: str, now: datetime) -> Backup:
    """A new, examined backup in `folder`; older ones are rotated out.

    Refused: backup_stopped, backup_unsound, cannot_write.
    """
    made_at = now.astimezone(UTC).replace(microsecond=0)
    place, making = folder / made_at.strftime(NAME), folder / MAKING
    try:
        shutil.rmtree(making, ignore_errors=True)
        making.mkdir(parents=True)
        _copy_in_a_process(store, making / STORE, keys)
        manifest = _manifest(making / STORE, keys, kiosk_id, made_at)
        shutil.copy2(keys_beside(store), keys_beside(making / STORE))
        (making / MANIFEST).write_text(canonical_json(manifest), "utf-8")
        _flush(making)
        making.replace(place)
        _flush_folder(folder)
    except OSError as fault:
        raise Refused("cannot_write", {"file": folder.name, "why": fault.strerror or "no access"}) from fault
    finally:
        shutil.rmtree(making, ignore_errors=True)
    rotate(folder)
    return Backup(place, made_at, manifest)


def backups_in(folder: Path) -> tuple[Backup, ...]:
    """The backups in a folder, oldest first; what is none is left out."""
    found = []
    for place in _inside(folder):
        try:
            made_at = datetime.strptime(place.name, NAME).replace(tzinfo=UTC)
            found.append(Backup(place, made_at, json.loads((place / MANIFEST).read_text("utf-8"))))
        except (ValueError, OSError):
            continue
    return tuple(found)


def _inside(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError:  # not there yet, or a disk that is not plugged in
        return []


def kept(moments: Iterable[datetime]) -> set[datetime]:
    """Of these moments the last of each of the 7 newest days and of the 4 newest weeks."""
    by_day: dict[Any, datetime] = {}
    by_week: dict[Any, datetime] = {}
    for moment in sorted(moments):
        by_day[moment.date()] = moment
        by_week[moment.isocalendar()[:2]] = moment
    return {*list(by_day.values())[-DAYS:], *list(by_week.values())[-WEEKS:]}


def rotate(folder: Path) -> None:
    """Remove the backups that need not be kept."""
    known = backups_in(folder)
    keep = kept(one.made_at for one in known)
    for one in known:
        if one.made_at not in keep:
            shutil.rmtree(one.folder)


def examine_backup(folder: Path, keys: StoreKeys, kiosk_id: str) -> Soundness:
    """Whether a backup is what it was when it was made.

    Refused: backup_incomplete, backup_unsound (seal, hash, rows, pages, structure, links, audit).
    """
    for name in (STORE, keys_beside(Path(STORE)).name, MANIFEST):
        if not (folder / name).is_file():
            raise Refused("backup_incomplete", {"file": folder.name, "missing": name})
    try:
        manifest = json.loads((folder / MANIFEST).read_text("utf-8"))
    except ValueError as fault:
        raise Refused("backup_unsound", {"file": folder.name, "found": "manifest"}) from fault
    if not hmac.compare_digest(_seal(manifest, keys), str(manifest.get("seal", ""))):
        raise Refused("backup_unsound", {"file": folder.name, "found": "seal"})
    if _sha256(folder / STORE) != manifest["sha256"]:
        raise Refused("backup_unsound", {"file": folder.name, "found": "hash"})
    return _examined(folder / STORE, keys, kiosk_id, folder.name, manifest)


def restore(folder: Path, target: Path, keys: StoreKeys, kiosk_id: str, *,
            only_prove: bool = False) -> Soundness:
    """Put a backup in place of a store that is gone: proved on a copy, then put in place with its key file.

    only_prove: the copy is examined and removed. Refused: store_in_the_way and as examine_backup.
    """
    if not only_prove and target.exists():
        raise Refused("store_in_the_way", {"file": target.name})
    examine_backup(folder, keys, kiosk_id)
    copy = target.with_name(target.name + ".proving")
    try:
        shutil.copy2(folder / STORE, copy)
        sound = _examined(copy, keys, kiosk_id, folder.name, None)
        if not only_prove:
            if not keys_beside(target).exists():
                shutil.copy2(keys_beside(folder / STORE), keys_beside(target))
            copy.replace(target)
    except OSError as fault:
        raise Refused("cannot_write", {"file": target.name, "why": fault.strerror or "no access"}) from fault
    finally:
        for left in (copy, copy.with_name(copy.name + "-wal"), copy.with_name(copy.name + "-shm")):
            left.unlink(missing_ok=True)
    return sound


def _copy_in_a_process(store: Path, copy: Path, keys: StoreKeys) -> None:
    told = json.dumps({"from": str(store.resolve()), "to": str(copy.resolve()), "key": keys.data.hex()})
    ran = subprocess.run(
        [sys.executable, "-m", "kiosk.storage.vacuum_process"], input=told + "\n", text=True,
        capture_output=True, timeout=LONGEST_S, check=False, cwd=PACKAGE.parent)
    if ran.returncode:
        raise Refused("backup_stopped", {"found": (ran.stderr.strip().splitlines() or ["no reason"])[-1]})


def _manifest(copy: Path, keys: StoreKeys, kiosk_id: str, made_at: datetime) -> dict[str, Any]:
    sound = _examined(copy, keys, kiosk_id, copy.name, None)
    head = sound.audit.head
    manifest = {"format": FORMAT, "made_at": utc_text(made_at), "kiosk_id": kiosk_id,
                "schema": SCHEMA_REVISION, "sha256": _sha256(copy), "rows": sound.counts,
                "audit": {"seq": head.seq, "mac": head.mac}}
    return manifest | {"seal": _seal(manifest, keys)}


def _examined(store: Path, keys: StoreKeys, kiosk_id: str, name: str,
              manifest: dict[str, Any] | None) -> Soundness:
    anchors = [] if manifest is None else [Anchor(manifest["audit"]["seq"], manifest["audit"]["mac"])]
    sound = examine(store, keys, kiosk_id, anchors)
    fault = sound.fault
    if fault is None and manifest is not None and sound.counts != manifest["rows"]:
        fault = "rows"
    if fault is not None:
        raise Refused("backup_unsound", {"file": name, "found": fault})
    return sound


def _seal(manifest: dict[str, Any], keys: StoreKeys) -> str:
    plain = {name: value for name, value in manifest.items() if name != "seal"}
    return hmac.new(keys.backup, canonical_json(plain).encode(), sha256).hexdigest()


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def _flush(folder: Path) -> None:
    for path in folder.iterdir():
        with path.open("rb+") as file:
            os.fsync(file.fileno())
    _flush_folder(folder)


def _flush_folder(folder: Path) -> None:
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
